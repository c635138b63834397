"""The grammar of a holding, put together once and then read from a file of the data folder.

Putting it together is half of what a session needs to start. The file may be deleted at any time. It is plain data
(JSON), never code; one that is damaged, or that others may have written, is not read.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
import stat
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.grammar import Fill, Grammar
from assistant.grammar.packing import MADE_BY

_log = logging.getLogger(__name__)

MOST_KEPT = 4
"""Files that are kept: one for each register and plan in use; older ones are deleted."""

OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH


@dataclass(frozen=True)
class KeptGrammar:
    """The place of one grammar.

    Args:
        folder: where such files are.
        sources: as `Grammar.load` takes them.
        fills: the same.
    """

    folder: Path
    sources: Sequence[tuple[str, str]]
    fills: Mapping[str, Sequence[Fill]]

    @property
    def file(self) -> Path:
        """The file; its name changes with anything that the grammar is made from, the program included."""
        made_from = hashlib.sha256()
        program = [Path(__file__), *sorted((Path(__file__).parent.parent / "grammar").glob("*.py"))]
        for data in (MADE_BY.encode(), *(one.read_bytes() for one in program)):
            made_from.update(hashlib.sha256(data).digest())
        texts = [text for _, text in self.sources]
        fills = {rule: [(one.words, one.tags, one.weight) for one in given] for rule, given in self.fills.items()}
        made_from.update(json.dumps([texts, fills]).encode())
        return self.folder / f"grammar-{made_from.hexdigest()[:32]}.json"

    def read(self) -> Grammar | None:
        """The grammar with its graphs; None if it is not kept, or not as it was written."""
        try:
            with self.file.open("rb") as file:
                if not _is_own(file.fileno()):
                    return None
                digest, _, data = file.read().partition(b"\n")
            if digest.decode() != hashlib.sha256(data).hexdigest():
                return None
            return Grammar.unpacked(json.loads(data), self.fills)
        except (OSError, KeyError, TypeError, ValueError, IndexError) as error:
            _log.debug("no kept grammar: %s", error)
            return None

    def write(self, grammar: Grammar) -> None:
        """Keeps a grammar whose graphs are made. Where nothing can be written, it is made anew each time."""
        data = json.dumps(grammar.packed(), separators=(",", ":")).encode()
        written = b"\n".join([hashlib.sha256(data).hexdigest().encode(), data])
        try:
            self.folder.mkdir(mode=0o700, exist_ok=True)
            descriptor, name = tempfile.mkstemp(dir=self.folder, prefix="new-")  # for the owner alone
            try:
                with os.fdopen(descriptor, "wb") as file:
                    file.write(written)
                Path(name).replace(self.file)
            except OSError:
                Path(name).unlink(missing_ok=True)
                raise
            kept = sorted(self.folder.glob("grammar-*.json"), key=lambda file: file.stat().st_mtime, reverse=True)
            for old in (*kept[MOST_KEPT:], *self.folder.glob("new-*")):  # the latter a killed program left
                old.unlink(missing_ok=True)
        except OSError as error:
            _log.debug("the grammar is not kept: %s", error)


def _is_own(descriptor: int) -> bool:
    """Whether nobody but the user can have written an open file; systems without such rights keep folders apart."""
    if os.name != "posix":
        return True
    about = os.fstat(descriptor)
    return about.st_uid == os.geteuid() and not about.st_mode & OTHERS_WRITE
