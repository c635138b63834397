"""Files of the report: whole or not at all, and a sentence where the disk refuses."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant.errors import BadOutput


@contextmanager
def whole(path: Path) -> Iterator[Path]:
    """A file to be written in place of `path`, which takes its name only when all of it is on the disk.

    Raises:
        BadOutput: the folder or file cannot be written.
    """
    part: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_dir():
            raise BadOutput(f"{path} is a folder. Name a file in it.")
        descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        os.close(descriptor)
        part = Path(name)
        yield part
        with part.open("rb+") as written:
            os.fsync(written.fileno())
        part.replace(path)
        part = None
    except OSError as error:
        why = error.strerror or error
        raise BadOutput(f"{path} cannot be written: {why}. Check the disk and who may write to the folder.") from error
    finally:
        if part is not None:
            part.unlink(missing_ok=True)


def write_bytes(path: Path, content: bytes) -> Path:
    """Writes a file; gives its path.

    Raises:
        BadOutput: the file cannot be written.
    """
    with whole(path) as part:
        part.write_bytes(content)
    return path


def write_text(path: Path, text: str) -> Path:
    """Writes a text as UTF-8 with its own line ends; gives the path.

    Raises:
        BadOutput: the file cannot be written.
    """
    return write_bytes(path, text.encode("utf-8", "replace"))


def write_pdf(path: Path, html: str, paper: str) -> Path:
    """Lays a page out for paper and writes it as PDF; gives the path.

    Args:
        path: the file.
        html: the page.
        paper: "A4" or "Letter".

    Raises:
        BadOutput: the library for it is not installed, or the file cannot be written.
    """
    try:
        from weasyprint import CSS, HTML
    except (ImportError, OSError) as error:
        raise BadOutput(
            f"A PDF needs the library WeasyPrint ({error}). Install it with: pip install 'handling-assistant[pdf]', or "
            "print the HTML page from a browser."
        ) from error
    with whole(path) as part:
        HTML(string=html).write_pdf(part, stylesheets=[CSS(string=f"@page {{ size: {paper} }}")])
    return path
