"""Fetches a model over the network, when the keeper asks for it and never otherwise.

What has come stays when the connection breaks, and the next attempt goes on from there (HTTP ranges, RFC 9110).
"""

from __future__ import annotations

import hashlib
import http.client
import json
import os
import re
import ssl
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.errors import BadModel
from assistant.models.shelf import checked_name

SITE = "https://alphacephei.com/vosk/models"
"""Where the makers of Vosk publish their models: the only address that the program knows."""
SITE_VARIABLE = "ASSISTANT_MODEL_SITE"
"""Environment variable that names another site with the same layout."""
INDEX = "model-list.json"
TIMEOUT_S = 30.0
BLOCK = 1 << 16
MOST_BYTES = 4 << 30
BROKEN = (urllib.error.URLError, ConnectionError, TimeoutError, ssl.SSLError, http.client.HTTPException)
"""What a network does; other errors of the system are of the disk."""
CHECKSUM = re.compile(r"[0-9a-f]{64}")

Progress = Callable[[int, int | None], None]
"""Is told how many bytes have come, and how many there are if that is known."""


@dataclass(frozen=True)
class Patience:
    """How often a broken connection is tried again, and how long before each try, in seconds."""

    waits_s: tuple[float, ...] = (1.0, 3.0, 10.0)


def site(named: str | None = None, environ: Mapping[str, str] | None = None) -> str:
    """The address to fetch from: the one named, else that of ASSISTANT_MODEL_SITE, else the makers' own.

    Raises:
        BadModel: it is no web address.
    """
    address = named or (os.environ if environ is None else environ).get(SITE_VARIABLE, "") or SITE
    if not address.startswith(("https://", "http://")):
        raise BadModel(f"{address!r} is no web address. It has to begin with https://")
    return address.rstrip("/")


def fetch(
    name: str,
    folder: Path,
    address: str = SITE,
    sha256: str = "",
    progress: Progress = lambda done, total: None,
    patience: Patience | None = None,
) -> Path:
    """Fetches the archive of a model.

    Args:
        name: of the model, as the site has it.
        folder: where the archive goes; what has come of it stays there if the connection breaks.
        address: of the site.
        sha256: what the archive's SHA-256 has to be, in hexadecimal; not compared if empty.
        progress: is told how far it is.
        patience: with a connection that breaks.

    Returns:
        The archive, whole: its size, and its checksums where the site publishes them or one is given, are right.

    Raises:
        BadModel: there is no such model, the site cannot be reached or the connection keeps breaking, or what came is
            not what was published.
    """
    if sha256 and not CHECKSUM.fullmatch(sha256.lower()):
        raise BadModel(f"{sha256!r} is no SHA-256: 64 digits 0-9 and a-f.")
    published = _published(checked_name(name), address)
    part = folder / f"{name}.zip.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _download(f"{address}/{name}.zip", part, progress, patience or Patience())
    except OSError as error:
        raise BadModel(f"{part} cannot be written: {error.strerror or error}.") from error
    expected = {"sha256": sha256.lower() or published.get("sha256", ""), "md5": published.get("md5", "")}
    for kind, digest in expected.items():
        if digest and (found := _digest(part, kind)) != digest:
            part.unlink()
            raise BadModel(
                f"{name} came with {kind} {found}, and {digest} was expected. It was thrown away: try again."
            )
    archive = part.with_suffix("")
    part.replace(archive)
    _mark(part).unlink(missing_ok=True)
    return archive


def _published(name: str, address: str) -> dict[str, str]:
    """The checksums in the site's list; none if it has no list or none for this model.

    Raises:
        BadModel: the list does not have the model, or the site cannot be reached.
    """
    try:
        with _opened(f"{address}/{INDEX}", {}) as answer:
            entries = json.loads(answer.read(1 << 24))
        known = {str(entry["name"]): entry for entry in entries}
    except urllib.error.HTTPError:
        return {}
    except (ValueError, LookupError, TypeError, RecursionError):
        return {}
    except BROKEN as error:
        raise _unreachable(address, error) from error
    if name not in known:
        small = [one for one in sorted(known) if one.startswith("vosk-model-small-en")]
        hint = f" Small English ones there: {', '.join(small)}." if small else " Check the name."
        raise BadModel(f"There is no model {name} at {address}.{hint}")
    return {kind: str(known[name].get(kind) or "").lower() for kind in ("sha256", "md5")}


def _download(url: str, part: Path, progress: Progress, patience: Patience) -> None:
    waits = iter(patience.waits_s)
    while True:
        before = _length(part)
        try:
            if _go_on(url, part, progress):
                return
            error: Exception = EOFError("the connection broke")
        except urllib.error.HTTPError as fault:
            if fault.code != http.HTTPStatus.REQUESTED_RANGE_NOT_SATISFIABLE:
                raise _refused(url, fault) from fault
            if before and fault.headers.get("Content-Range") == f"bytes */{before}":
                return  # all of it had come before
            part.unlink(missing_ok=True)
            error = fault
        except BROKEN as fault:
            error = fault
        if _length(part) > before:
            waits = iter(patience.waits_s)  # something came, so it is worth as many tries again
        wait_s = next(waits, None)
        if wait_s is None:
            raise _unreachable(url, error) from error
        time.sleep(wait_s)


def _go_on(url: str, part: Path, progress: Progress) -> bool:
    """Fetches what is missing; False if the connection broke before the end."""
    done = _length(part)
    mark = _mark(part).read_text(encoding="utf-8") if done and _mark(part).is_file() else ""
    headers = {"Range": f"bytes={done}-", "If-Range": mark} if mark else {}
    with _opened(url, headers) as answer:
        is_rest = answer.status == http.HTTPStatus.PARTIAL_CONTENT
        if not is_rest:
            done = 0  # another version, or a site that cannot go on
        length = answer.headers.get("Content-Length", "")
        total = done + int(length) if length.isdecimal() else None
        if (total or 0) > MOST_BYTES:
            raise BadModel(f"{url} has {(total or 0) >> 20} MB, more than any model that can be used.")
        version = answer.headers.get("ETag") or answer.headers.get("Last-Modified") or ""
        _mark(part).write_text("" if version.startswith("W/") else version, encoding="utf-8")
        with part.open("ab" if is_rest else "wb") as file:
            progress(done, total)
            while block := answer.read(BLOCK):
                file.write(block)
                done += len(block)
                progress(done, total)
                if done > MOST_BYTES:
                    raise BadModel(f"{url} sends more than any model that can be used.")
    return total is None or done == total


def _opened(url: str, headers: Mapping[str, str]) -> Any:
    try:
        request = urllib.request.Request(url, headers={"User-Agent": "handling-assistant", **headers})
        return urllib.request.urlopen(request, timeout=TIMEOUT_S)
    except ValueError as error:  # of the one that was named, or of one that a site sends on to
        raise urllib.error.URLError(f"the address cannot be read ({error})") from error


def _mark(part: Path) -> Path:
    """The file that says which version of the archive has begun to come."""
    return part.with_suffix(".version")


def _length(part: Path) -> int:
    return part.stat().st_size if part.is_file() else 0


def _digest(file: Path, kind: str) -> str:
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, kind).hexdigest()


def _refused(url: str, error: urllib.error.HTTPError) -> BadModel:
    if error.code == http.HTTPStatus.NOT_FOUND:
        return BadModel(f"There is no {url}. Check the name of the model.")
    return BadModel(f"{url} was refused: {error.code} {error.reason}. Try again later.")


def _unreachable(url: str, error: Exception) -> BadModel:
    reason = getattr(error, "reason", None) or error
    return BadModel(
        f"{url} cannot be reached: {reason}. What has come is kept: run the command again to go on. "
        "Or fetch the archive on another machine, and: assistant models add FILE"
    )
