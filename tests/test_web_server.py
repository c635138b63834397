"""The screens in a browser: who gets in, and a real Chromium without a window that keeps an animal in the register."""

from __future__ import annotations

import asyncio
import json
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

aiohttp = pytest.importorskip("aiohttp")
pytest.importorskip("textual_serve")

from assistant.store.store import Store  # noqa: E402
from assistant.web.server import EVERYWHERE, LOCAL, ScreenServer, own_address  # noqa: E402
from tests.live_stage import ANIMALS, START  # noqa: E402

ROOT = Path(__file__).parent.parent
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
TOKEN = "a-token-for-tests"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.mark.asyncio
async def test_only_the_link_lets_in_and_the_page_names_nobody_else() -> None:
    server = ScreenServer("true", "Screens", LOCAL, free_port(), lambda _: None, TOKEN)
    runner = aiohttp.web.AppRunner(await server._make_app())
    await runner.setup()
    await aiohttp.web.TCPSite(runner, "127.0.0.1", server.port).start()
    root = f"http://localhost:{server.port}"
    async with aiohttp.ClientSession() as stranger:
        for path in ("/", "/ws", "/static/js/textual.js", "/?token=wrong"):
            async with stranger.get(root + path) as answer:
                assert answer.status == 403, path
    reader, writer = await asyncio.open_connection("127.0.0.1", server.port)
    writer.write(b"GET / HTTP/1.1\r\nHost: localhost\r\nCookie: pen=\xff\xfe\r\nConnection: close\r\n\r\n")
    assert b" 403 " in await reader.readline(), "a cookie that is no text is refused like any other"
    writer.close()
    async with aiohttp.ClientSession() as keeper:
        async with keeper.get(f"{root}/?token={TOKEN}") as answer:
            page = await answer.text()
            assert answer.status == 200
            assert str(answer.url) == f"{root}/", "the token does not stay in the address"
        assert re.findall(r"(?:https?|ws)://([^/\"]+)", page) == [f"localhost:{server.port}"]
        async with keeper.get(f"{root}/static/js/textual.js") as answer:
            assert answer.status == 200
        async with keeper.get(f"{root}/ws", headers={"Origin": "http://elsewhere.example"}) as answer:
            assert answer.status == 403, "a page of another host gets nothing, whoever has it open"
    await runner.cleanup()


def test_it_is_local_unless_it_is_opened() -> None:
    local = ScreenServer("true", "Screens", LOCAL, 8417, lambda _: None)
    opened = ScreenServer("true", "Screens", EVERYWHERE, 8417, lambda _: None)
    assert local.link.startswith("http://localhost:8417/?token=")
    assert opened.link.startswith(f"http://{own_address()}:8417/?token=")
    assert local.token != opened.token
    assert len(local.token) >= 20


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """The link of a register that is served, and its store."""
    store = tmp_path / "herd.db"
    with Store.open(store) as held:
        held.save_animals(ANIMALS, START)
    words = [sys.executable, "-m", "assistant", "--store", str(store), "serve", "register", "--port", str(free_port())]
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdout is not None
        yield program.stdout.readline().removeprefix("Open ").strip(), store
        program.terminate()
        program.wait(20)


QUIET = (
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
"""A browser under test asks nobody for anything of its own accord."""


class Browser:
    """A Chromium without a window, driven by its own protocol."""

    def __init__(self, folder: Path) -> None:
        words = ["--headless=new", "--no-sandbox", "--disable-gpu", "--remote-debugging-port=0", *QUIET]
        self._program = subprocess.Popen(
            [str(CHROMIUM), *words, f"--user-data-dir={folder}"], stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL
        )
        self._folder = folder
        self._n = 0

    async def __aenter__(self) -> Browser:
        port_file = self._folder / "DevToolsActivePort"
        for _ in range(300):
            if port_file.exists() and port_file.read_text().count("\n"):
                break
            await asyncio.sleep(0.1)
        port = port_file.read_text().split("\n")[0]
        self._http = aiohttp.ClientSession()
        async with self._http.get(f"http://127.0.0.1:{port}/json/list") as answer:
            page = next(one for one in await answer.json() if one["type"] == "page")
        self._ws = await self._http.ws_connect(page["webSocketDebuggerUrl"], max_msg_size=0)
        return self

    async def __aexit__(self, *_: object) -> None:
        await self._http.close()
        self._program.terminate()
        self._program.wait(20)

    async def ask(self, method: str, **params: Any) -> dict[str, Any]:
        self._n += 1
        await self._ws.send_json({"id": self._n, "method": method, "params": params})
        while True:
            answer = json.loads((await self._ws.receive()).data)
            if answer.get("id") == self._n:
                return dict(answer.get("result", {}))

    async def value(self, script: str) -> Any:
        return (await self.ask("Runtime.evaluate", expression=script))["result"].get("value")

    async def write(self, text: str) -> None:
        for letter in text:
            await self.ask("Input.dispatchKeyEvent", type="char", text=letter)

    async def enter(self) -> None:
        key = {"key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13, "text": "\r"}
        await self.ask("Input.dispatchKeyEvent", type="keyDown", **key)
        await self.ask("Input.dispatchKeyEvent", type="keyUp", **key)


@pytest.mark.asyncio
@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed")
async def test_an_animal_is_added_in_a_browser(served: tuple[str, Path], tmp_path: Path) -> None:
    link, store = served
    async with Browser(tmp_path / "browser") as browser:
        await browser.ask("Page.navigate", url=link)
        ends = time.monotonic() + 120
        while not await browser.value("document.body && document.body.classList.contains('-first-byte')"):
            assert time.monotonic() < ends, "nothing was drawn"
            await asyncio.sleep(0.2)
        assert await browser.value("location.search") == ""
        while not any(animal.name == "Campion" for animal in _animals(store)):
            assert time.monotonic() < ends, "what was typed in the browser did not reach the store"
            await browser.ask("Input.dispatchKeyEvent", type="keyDown", key="Escape", windowsVirtualKeyCode=27)
            await asyncio.sleep(1)
            await browser.write("n")
            await asyncio.sleep(2)
            await browser.write("Campion")
            await browser.enter()
            await asyncio.sleep(1)


def _animals(path: Path) -> tuple[Any, ...]:
    with Store.open(path, read_only=True) as store:
        return store.animals()
