"""The folder in which speech models are kept, each in a folder of its name with a record of its files.

A model is tried before it is taken, and takes its place in one step: what is on the shelf has been whole. A folder that
the keeper put there by hand is tried when it is first asked for.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from assistant.errors import BadModel, ListenerMissing
from assistant.models.archive import sha256_of, unpack

RECORD = "assistant-model.json"
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}")


@dataclass(frozen=True)
class Checks:
    """What looks into a model; given from outside, since each recogniser has its own kind.

    Attributes:
        layout: raises BadModel if the folder does not look like a whole model; quick.
        is_english: loads the model, raises BadModel if it does not work, and says whether it knows English.
    """

    layout: Callable[[Path], None]
    is_english: Callable[[Path], bool]


@dataclass(frozen=True)
class Model:
    """A model on the shelf.

    Attributes:
        name: of its folder.
        folder: where it is.
        size: of its files together, in bytes.
        is_english: whether it knows English words; False while there is a fault.
        sha256: of the archive that it came in, empty if it came as a folder.
        source: where it came from, empty if it was put there by hand.
        fault: why it cannot be used, empty if it can.
    """

    name: str
    folder: Path
    size: int = 0
    is_english: bool = False
    sha256: str = ""
    source: str = ""
    fault: str = ""


class Shelf:
    """The models of one data folder.

    Args:
        folder: where they are kept; need not exist.
        checks: what looks into a model.
    """

    def __init__(self, folder: Path, checks: Checks) -> None:
        self.folder = folder
        self._checks = checks

    def models(self) -> tuple[Model, ...]:
        """Every model by name, those with a fault too. One that is new here is tried, which takes seconds."""
        return tuple(self._looked_at(one) for one in self._folders())

    def english(self) -> Model | None:
        """The first model that works and knows English, by name; None if there is none."""
        return next((model for model in self.models() if model.is_english), None)

    def add(self, source: Path, name: str = "", origin: str = "") -> Model:
        """Takes a model in from a folder or a ZIP archive; the source stays as it is.

        Args:
            source: the folder that holds `am`, `conf`, `graph`, or one with that folder alone, or an archive of either.
            name: to keep it under; that of its folder if empty.
            origin: where it comes from, for the record; the source itself if empty.

        Raises:
            BadModel: it is missing, not whole, no model, too large, or there is one of its name.
            ListenerMissing: the library that would try it is not installed.
        """
        source = source.absolute()
        try:
            is_there = source.exists()
        except OSError as error:
            raise BadModel(f"{source} cannot be read: {error.strerror}. Check the name.") from error
        if not is_there:
            raise BadModel(f"There is no file or folder {source}. Check the name.")
        with self._workplace() as workplace:
            if source.is_dir():
                root, digest = _root(source), ""
                self._checks.layout(root)
                taken = workplace / root.name
                _copy(root, taken)
            else:
                digest = sha256_of(source)
                unpack(source, workplace / source.stem)
                taken = _root(workplace / source.stem)
            target = self.check_new(name or taken.name)
            self._checks.layout(taken)
            record = {"source": origin or str(source), "sha256": digest, "is_english": self._checks.is_english(taken)}
            _write_record(taken, record)
            taken.replace(target)
        return self._looked_at(target)

    def check_new(self, name: str) -> Path:
        """Where a model of that name would be.

        Raises:
            BadModel: no model can have that name, or one has it.
        """
        target = self.folder / checked_name(name)
        if target.exists():
            raise BadModel(f"There is a model {name} already. Remove it first: assistant models remove {name}")
        return target

    def remove(self, name: str) -> None:
        """Removes a model, whole or not.

        Raises:
            BadModel: there is none of that name, or it cannot be removed.
        """
        target = self.folder / checked_name(name)
        if not target.is_dir():
            there = ", ".join(folder.name for folder in self._folders()) or "none"
            raise BadModel(f"There is no model {name} in {self.folder}. Those that are there: {there}.")
        gone = target.with_name(f".removed-{name}")
        try:
            shutil.rmtree(gone, ignore_errors=True)  # of an earlier removal that did not come to its end
            target.replace(gone)  # in one step, so that no session finds half a model
            if gone.is_symlink():
                gone.unlink()  # what the keeper linked to stays
            else:
                shutil.rmtree(gone)
        except OSError as error:
            raise BadModel(f"{error.filename or target} cannot be removed: {error.strerror or error}.") from error

    def _folders(self) -> list[Path]:
        return sorted(one for one in self.folder.glob("[!.]*") if one.is_dir())

    def _looked_at(self, folder: Path) -> Model:
        try:
            record = _read_record(folder)
            self._checks.layout(folder)
            if record is None:
                record = {"source": "", "sha256": "", "is_english": self._checks.is_english(folder)}
                with suppress(BadModel):  # a shelf that may only be read: it is tried again next time
                    _write_record(folder, record)
        except ListenerMissing as error:
            return Model(folder.name, folder, _size(folder), fault=str(error))
        told = {key: record[key] for key in ("is_english", "sha256", "source")}
        return Model(folder.name, folder, _size(folder), **told)

    @contextmanager
    def _workplace(self) -> Iterator[Path]:
        """A hidden folder beside the models, gone afterwards."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            workplace = Path(mkdtemp(prefix=".adding-", dir=self.folder))
        except OSError as error:
            raise BadModel(f"{self.folder} cannot be written to: {error.strerror or error}.") from error
        try:
            yield workplace
        except OSError as error:
            raise BadModel(f"The model cannot be taken in: {error.strerror or error} ({error.filename}).") from error
        finally:
            shutil.rmtree(workplace, ignore_errors=True)


def checked_name(name: str) -> str:
    """The name, if a model can have it.

    Raises:
        BadModel: it has other signs than letters, digits, dots, underscores and hyphens.
    """
    if not NAME.fullmatch(name):
        raise BadModel(
            f"{name!r} is no name for a model: letters, digits, dots, _ and - only. Give it another with --name"
        )
    return name


def _root(folder: Path) -> Path:
    """The folder that holds the model: the folder itself, or the only folder in it."""
    inside = [one for one in folder.iterdir() if not one.name.startswith((".", "__MACOSX"))]
    if len(inside) == 1 and inside[0].is_dir():
        return inside[0]
    if not inside:
        raise BadModel(f"There is nothing in {folder.name}. Copy or fetch it again.")
    return folder


def _copy(source: Path, target: Path) -> None:
    try:
        shutil.copytree(source, target, ignore=shutil.ignore_patterns(RECORD))
    except shutil.Error as error:
        path, _, reason = error.args[0][0]
        raise BadModel(f"{path} cannot be copied: {reason}. Copy or fetch the model again.") from error


def _files(folder: Path) -> dict[str, int]:
    files = (one for one in folder.rglob("*") if one.is_file() and one.name != RECORD)
    return {one.relative_to(folder).as_posix(): one.stat().st_size for one in files}


def _size(folder: Path) -> int:
    return sum(_files(folder).values())


def _write_record(folder: Path, record: dict[str, Any]) -> None:
    text = json.dumps({"format": 1, **record, "files": _files(folder)}, indent=1)
    part = folder / f".{RECORD}.{os.getpid()}"
    try:
        part.write_text(text, encoding="utf-8")
        part.replace(folder / RECORD)
    except OSError as error:
        raise BadModel(f"{folder} cannot be written to: {error.strerror or error}.") from error


def _read_record(folder: Path) -> dict[str, Any] | None:
    """The record, checked against the files; None if there is none, or none that can be read."""
    try:
        record = json.loads((folder / RECORD).read_text(encoding="utf-8"))
        files, told = record["files"].items(), (record["is_english"], record["sha256"], record["source"])
    except (OSError, ValueError, LookupError, AttributeError, TypeError, RecursionError):
        return None
    if record.get("format") != 1 or tuple(map(type, told)) != (bool, str, str):
        return None
    for name, size in files:
        file = folder / name
        if not file.is_file() or file.stat().st_size != size:
            state = "has another size than before" if file.is_file() else "is missing"
            raise BadModel(f"The model in {folder} is not whole: {name} {state}. Remove it and add or fetch it again.")
    return dict(record)
