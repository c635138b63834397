"""A listening process that loads its libraries and models while the program opens the microphone and the store."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from functools import partial

from assistant.listening.process import Prepared, be_sparing


def prepared(names: Sequence[str] | None = None, workers: int | None = None) -> AbstractContextManager[Prepared | None]:
    """The process, for `assistant.live.beginning.live_session`; nothing if several are wanted.

    Args:
        names: listeners; None for all that can run here.
        workers: processes that will listen; one if left out.
    """
    be_sparing()  # before threads begin, each of which would have memory of its own
    return Prepared(partial(_load, names)) if (workers or 1) == 1 else nullcontext()


def _load(names: Sequence[str] | None) -> None:
    # Imported there and not here, so that the process can begin before this program has all that it needs itself.
    from assistant.listening.spoken import load_listeners

    load_listeners(names)
