"""Serves one of the screens to a browser: each visit is a program of its own, and only the printed link lets in.

Whoever reaches the screen can change the record, so that a token is asked for even on this machine: pages of strangers
that a browser has open beside it reach local ports too. The page names no other host, and fetches nothing from outside.
"""

from __future__ import annotations

import hmac
import secrets
import socket
from collections.abc import Awaitable, Callable
from html import escape
from urllib.parse import urlsplit

from aiohttp import web
from textual_serve.server import Server

COOKIE = "pen"
LOCAL = "localhost"
EVERYWHERE = "0.0.0.0"

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<link rel="stylesheet" href="/static/css/xterm.css">
<script src="/static/js/textual.js"></script>
<style>
@font-face {{ font-family: "Roboto Mono"; src: url("/static/fonts/RobotoMono-VariableFont_wght.ttf"); }}
html, body {{ margin: 0; height: 100%; overflow: hidden; background: #101418; }}
.textual-terminal {{ height: 100%; }}
.over {{ display: none; position: absolute; inset: 0; align-items: center; justify-content: center; z-index: 9;
  font: 1.5rem sans-serif; color: #f2f2ee; background: #101418; }}
body.-closed .over {{ display: flex; }}
.over a {{ color: #56b4e9; margin-left: 1rem; }}
</style>
</head>
<body>
<div class="over">This screen was left. What was said is kept. <a href="/">Open it again</a></div>
<script>
addEventListener("load", () => setInterval(() => {{
  const keyboard = document.querySelector(".xterm-helper-textarea");
  if (keyboard && document.activeElement === document.body) keyboard.focus();
}}, 300));
</script>
<div id="terminal" class="textual-terminal" data-session-websocket-url="{socket}" data-font-size="{size}"></div>
</body>
</html>
"""

_NO_ENTRY = "This link lets nobody in. Open the one that the program printed when it was started."


class ScreenServer(Server):
    """Serves one screen.

    Args:
        command: what shows the screen, as for a shell.
        title: of the page.
        host: `LOCAL`, or `EVERYWHERE` for the local network.
        port: on which it is served.
        told: takes the link that lets in, once it is served.
        token: what the link holds; a new one if left out.
    """

    def __init__(
        self, command: str, title: str, host: str, port: int, told: Callable[[str], None], token: str = ""
    ) -> None:
        super().__init__(command, host, port, title)
        self._told = told
        self.token = token or secrets.token_urlsafe(16)

    @property
    def link(self) -> str:
        """The link that lets in."""
        host = LOCAL if self.host == LOCAL else own_address()
        return f"http://{host}:{self.port}/?token={self.token}"

    def initialize_logging(self) -> None:
        """No log of its own: the program's is set up already."""

    async def on_startup(self, app: web.Application) -> None:
        """Tells the link."""
        self._told(self.link)

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(self._gate)
        return app

    @web.middleware
    async def _gate(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        """Lets in who has the token, and no page of another host on behalf of who has it."""
        given = request.query.get("token", "")
        if given and self._is_token(given):
            answer = web.HTTPSeeOther("/")
            answer.set_cookie(COOKIE, self.token, httponly=True, samesite="Strict")
            raise answer
        origin = request.headers.get("Origin", "")
        is_stranger = bool(origin) and urlsplit(origin).netloc != request.host
        if is_stranger or not self._is_token(request.cookies.get(COOKIE, "")):
            return web.Response(status=403, text=_NO_ENTRY)
        return await handler(request)

    def _is_token(self, given: str) -> bool:
        return hmac.compare_digest(given.encode(errors="surrogatepass"), self.token.encode())

    async def handle_index(self, request: web.Request) -> web.StreamResponse:
        """The page: the screen and nothing else."""
        size = request.query.get("fontsize", "16")
        page = _PAGE.format(
            title=escape(self.title),
            socket=escape(f"ws://{request.host}/ws"),
            size=size if size.isdecimal() and len(size) < 3 else "16",
        )
        return web.Response(text=page, content_type="text/html")


def own_address() -> str:
    """The address of this machine in the local network; no packet is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()
