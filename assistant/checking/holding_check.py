"""Looks at the files of a holding: settings, room on the disk, store, clock against the records, register."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from assistant.checking.checked_part import CheckedPart, Health
from assistant.errors import AssistantError
from assistant.records.held_register import stored_animals
from assistant.register.check import family_problems
from assistant.register.register import Register
from assistant.settings import Places, settings
from assistant.store.sound_file import folder_of
from assistant.store.store import Store

BYTES_PER_HOUR = 70e6
"""What an hour of remarks takes as FLAC: 16 kHz, 16 bits, about 60 % after packing."""

LEAST_BYTES, FEW_BYTES = 100e6, 1e9

MADE = datetime(2026, 11, 1, tzinfo=UTC)
"""No clock that is right shows an earlier time: small boards without a battery begin again in 1970 or 2000."""

AHEAD = timedelta(minutes=5)
"""The newest record may be so far ahead of the clock."""


def settings_part(file: Path) -> CheckedPart:
    """Whether the settings can be read.

    Raises:
        BadSetting: they cannot.
    """
    settings(file)
    return CheckedPart("settings", Health.GOOD, str(file) if file.exists() else "the usual ones")


def disk_part(folder: Path, free_bytes: float) -> CheckedPart:
    """Whether there is room for remarks."""
    text = f"{free_bytes / 1e9:.1f} GB free, about {free_bytes / BYTES_PER_HOUR:,.0f} hours of remarks"
    if free_bytes >= FEW_BYTES:
        return CheckedPart("disk", Health.GOOD, text)
    health = Health.FAULT if free_bytes < LEAST_BYTES else Health.LESS
    return CheckedPart("disk", health, text, f"Make room on the disk of {folder}.")


def store_part(file: Path) -> CheckedPart:
    """Whether the store is whole, and for its owner's eyes only.

    Raises:
        BadStore: it cannot be opened.
    """
    if not file.exists():
        return CheckedPart("store", Health.GOOD, f"none yet; {file} is made when animals are imported")
    with Store.open(file, read_only=True) as held:
        problems, n_sessions = held.check(), len(held.sessions())
    if problems:
        to_do = f"Copy {file.parent} as it is, then go on with the last backup. docs/store.md tells more."
        return CheckedPart("store", Health.FAULT, first_of(problems), to_do)
    if shown := _open_to_others([file, folder_of(file)]):
        text, to_do = f"others on this machine may read {shown[0]}", f"Run: chmod -R go= {file.parent}"
        return CheckedPart("store", Health.LESS, text, to_do)
    return CheckedPart("store", Health.GOOD, f"{n_sessions} sessions in {file}")


def clock_part(store: Path, now: datetime) -> CheckedPart:
    """Whether the clock can be right."""
    if fault := clock_fault(newest_moment(store), now):
        to_do = "Set the clock before the next session: records carry its time."
        return CheckedPart("clock", Health.FAULT, fault, to_do)
    return CheckedPart("clock", Health.GOOD, _shown(now))


def clock_fault(newest: datetime | None, now: datetime) -> str:
    """Why the clock cannot be right; empty if nothing speaks against it.

    Args:
        newest: the latest moment on record.
        now: what the clock shows.
    """
    if now < MADE:
        return f"{_shown(now)}, which is before this program was made"
    if newest is not None and newest > now + AHEAD:
        return f"{_shown(now)}, but the newest record is of {_shown(newest)}"
    return ""


def _shown(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M %z}"


def register_part(places: Places) -> CheckedPart:
    """Whether there are animals, and what cannot be true of them.

    Raises:
        BadStore: the store cannot be read.
    """
    animals = stored_animals(places)
    if not animals:
        to_do = "Bring them in with: assistant register import FILE.csv"
        return CheckedPart("register", Health.FAULT, "no animals, so that no session can begin", to_do)
    text = f"{len(animals)} animals"
    if problems := [problem.message for problem in family_problems(Register(animals))]:
        text, to_do = f"{text}; {first_of(problems)}", "Mend it with: assistant register"
        return CheckedPart("register", Health.LESS, text, to_do)
    return CheckedPart("register", Health.GOOD, text)


def first_of(problems: Sequence[str]) -> str:
    """The first problem, and how many more there are."""
    return problems[0] + (f" (and {len(problems) - 1} more)" if len(problems) > 1 else "")


def newest_moment(store: Path) -> datetime | None:
    """The latest moment in a store's sessions; None if there is none, or no store that can be read."""
    if not store.exists():
        return None
    try:
        with Store.open(store, read_only=True) as held:
            return max(_moments(held), default=None)
    except AssistantError:  # said where the store is looked at
        return None


def _moments(held: Store) -> Iterator[datetime]:
    infos = held.sessions()
    yield from (moment for info in infos for moment in (info.started, info.ended) if moment)
    if infos:
        yield from (remark.time for remark in held.remarks(infos[-1].id))


def _open_to_others(paths: Sequence[Path]) -> list[Path]:
    """Those that others than their owner may read; Windows keeps such rights elsewhere."""
    if os.name == "nt":
        return []
    return [path for path in paths if path.exists() and path.stat().st_mode & 0o077]
