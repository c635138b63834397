"""Brings a screen up at a terminal, with the store that it shows."""

from __future__ import annotations

import getpass
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.errors import BadStore, BadTerminal

if TYPE_CHECKING:
    from textual.screen import Screen

    from assistant.records.reviewing import Holding, Reviewing
    from assistant.settings import Places
    from assistant.sound.player import Player
    from assistant.store.store import Store
    from assistant.values import SessionInfo, Sound


PAINTS_A_SECOND = "1000"
"""How soon the library draws again; it reads this when it is loaded. Its own 60 hold up the second paint of a key."""

ESCAPE_MS = "25"
"""How long it waits after an Esc for the rest of another key; see `assistant.screens.quick_escape`."""


def is_terminal() -> bool:
    """Whether somebody sits at a terminal or looks at a browser, so that a screen can be shown."""
    is_served = "TEXTUAL_DRIVER" in os.environ
    return is_served or (sys.stdin.isatty() and sys.stdout.isatty() and sys.stderr.isatty())


@contextmanager
def held_store(store: Path | None, *, read_only: bool = False) -> Iterator[tuple[Store, Places]]:
    """The store of a holding, which must be there.

    Raises:
        BadStore: there is none.
    """
    from assistant import settings
    from assistant.store.store import Store

    places = settings.places(store)
    if not places.store.exists():
        raise BadStore(f"There is no store at {places.store}. Record a session first, or name it with --store.")
    with Store.open(places.store, read_only=read_only) as held:
        yield held, places


def holding(held: Store, places: Places, by: str = "") -> Holding:
    """What the screens know of a holding; its interpreter is made when it is first needed."""
    from assistant.live.farm import Farm
    from assistant.records.reviewing import Holding

    farm = Farm.of(held, places)
    animals = {animal.id: animal for animal in farm.register}
    return Holding(animals, lambda: farm.interpreter, farm.lameness, by or _user(), now)


def reviewing(held: Store, places: Places, info: SessionInfo, by: str = "") -> Reviewing:
    """A session that is to be put right."""
    from assistant.records.reviewing import Reviewing

    return Reviewing(held, info, holding(held, places, by))


def faced(make: Callable[[], Screen[Any]], colours: str) -> int:
    """Shows a screen until it is left; gives the exit status.

    Args:
        make: makes the screen, once the frame is painted.
        colours: as in `assistant.screens.face.Look`.

    Raises:
        BadTerminal: nobody sits at a terminal.
        AssistantError: the screen cannot be made.
    """
    if not is_terminal():
        raise BadTerminal("This is a screen and needs a terminal; with --text it writes plain lines.")
    os.environ.setdefault("TEXTUAL_FPS", PAINTS_A_SECOND)
    os.environ.setdefault("ESCDELAY", ESCAPE_MS)
    from assistant.screens.face import Face, Look

    face = Face(make, Look(colours))
    status = face.run()
    if (error := face.trouble or face.fault) is not None:
        raise error
    return status or 0


def now() -> datetime:
    """The moment, to the second, with its time zone."""
    return datetime.now().astimezone().replace(microsecond=0)


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):  # where the system keeps no list of users, the library looks for one
        return ""


def player() -> Callable[[Sound], str]:
    """What makes a sound heard; it gives what is wrong where it cannot, else nothing."""
    players: list[Player] = []

    def play(sound: Sound) -> str:
        from assistant.sound.player import Player

        if not players or players[0].rate_hz != sound.rate_hz:
            players[:] = [Player(sound.rate_hz)]
        players[0].stop()
        players[0].play(sound.samples)
        return players[0].note

    return play
