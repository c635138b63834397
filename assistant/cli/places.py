"""Opening the holding's store for commands that look at it or copy from it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.errors import BadStore

if TYPE_CHECKING:
    from assistant.store.store import Store


@contextmanager
def reading(store: Path | None) -> Iterator[Store]:
    """The store that `--store` names, or the usual one, for reading only.

    Raises:
        BadStore: there is none, or it cannot be read.
    """
    from assistant import settings
    from assistant.store.store import Store

    places = settings.places(store)
    if not places.store.exists():
        raise BadStore(f"There is no store at {places.store}. Record a session first, or name it with --store.")
    with Store.open(places.store, read_only=True) as held:
        yield held
