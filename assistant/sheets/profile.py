"""What the keeper said of the headings of a kind of file, kept under a name for the next file of that kind."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from assistant.errors import BadRegister
from assistant.register.heading import column_named

_FOLDER = "profiles"


@dataclass(frozen=True)
class Profile:
    """How to read a kind of file.

    Attributes:
        headings: heading as in the file → column, empty for one that is left out.
        encoding: of the text; empty to find it out.
    """

    headings: Mapping[str, str] = field(default_factory=dict)
    encoding: str = ""


def profile_path(folder: Path, name: str) -> Path:
    """Where a profile of this name is kept in the data folder.

    Raises:
        BadRegister: it is no name for a file.
    """
    if not re.fullmatch(r"\w[\w -]{0,40}", name):
        raise BadRegister(f"{name!r} is no name for a profile: use letters, digits, spaces and dashes.")
    return folder / _FOLDER / f"{name}.json"


def profile_names(folder: Path) -> tuple[str, ...]:
    """The profiles that are kept in the data folder."""
    return tuple(sorted(file.stem for file in (folder / _FOLDER).glob("*.json")))


def read_profile(folder: Path, name: str) -> Profile:
    """A profile that was kept.

    Raises:
        BadRegister: there is none of this name, or it cannot be read.
    """
    path = profile_path(folder, name)
    try:
        flat = json.loads(path.read_text(encoding="utf-8"))
        headings = {str(heading): column_named(str(column)) for heading, column in flat["headings"].items()}
        return Profile(headings, str(flat.get("encoding", "")))
    except FileNotFoundError as error:
        kept = ", ".join(profile_names(folder)) or "none"
        raise BadRegister(f"There is no profile {name!r}. Kept are: {kept}. --map makes one.") from error
    except BadRegister as error:
        raise BadRegister(f"{path}: {error}") from error
    except OSError as error:
        raise BadRegister(f"{path} cannot be read: {error.strerror or error}.") from error
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise BadRegister(f"{path} is not a profile. Remove it and make it again with --map.") from error


def profile_text(profile: Profile) -> str:
    """A profile as it is kept."""
    return json.dumps({"headings": dict(profile.headings), "encoding": profile.encoding}, indent=2, ensure_ascii=False)


def headings_from(pairs: tuple[str, ...]) -> dict[str, str]:
    """Pairs such as "Ear No=tag" as heading → column.

    Raises:
        BadRegister: one has no "=", or names no column.
    """
    found = {}
    for pair in pairs:
        heading, sign, column = pair.rpartition("=")
        if not sign or not heading.strip():
            raise BadRegister(f"{pair!r} does not say what a heading means. Write their heading=column.")
        found[heading.strip()] = column_named(column)
    return found
