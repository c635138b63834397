"""Opens the store of a holding and plans a session on it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from assistant import settings
from assistant.checking.holding_check import clock_fault
from assistant.errors import BadRegister
from assistant.live.farm import Farm
from assistant.live.recorded import Run
from assistant.records.held_register import read_by_wand
from assistant.register.register import Register
from assistant.session.state import Policy
from assistant.store.claim import claims
from assistant.store.store import Store
from assistant.values.outlook import IN_HERD


@contextmanager
def opened(
    store: Path | None,
    group: str | None,
    started: datetime | None,
    source: str,
    policy: str | None = None,
    codes: Path | None = None,
) -> Iterator[Run]:
    """A session about to begin.

    Args:
        store: what --store says.
        group: plan only this group; None for all in the herd.
        started: None for now.
        source: name of the recording, "microphone", or "typed".
        policy: how much is said back; None for what the settings say.
        codes: file of a wand reader: plan only the animals that it read; None for no such list.

    Raises:
        BadRegister: the register is empty, or has no animal of the group or of the reader's file.
    """
    places = settings.places(store)
    usual = settings.settings(places.settings).policy
    with Store.open(places.store) as held, claims(places.store) as claimed:
        animals = [animal for animal in held.animals() if animal.status == IN_HERD]
        if not animals:
            raise BadRegister("The register has no animals. Bring them in with: assistant register import FILE.csv")
        planned = [animal.id for animal in animals if group is None or animal.group.casefold() == group.casefold()]
        if codes is not None:
            read = read_by_wand(codes, Register(held.animals()))
            planned = _read(planned, {line.animal.id for line in read if line.animal}, codes)
        if not planned:
            groups = sorted({animal.group for animal in animals if animal.group})
            raise BadRegister(f"No animal is in group {group!r}. The groups are: {', '.join(groups) or 'none'}.")
        moment = (started or datetime.now()).astimezone().replace(microsecond=0)
        farm = Farm.of(held, places, planned)
        note = "" if started else _clock_note(held, moment)
        yield Run(held, farm, planned, moment, source, Policy(policy or usual), claimed, note)


def _clock_note(held: Store, now: datetime) -> str:
    """That the clock is wrong, where sessions on record show it: what was found since is not told as found before."""
    infos = held.sessions()
    newest = max((moment for info in infos for moment in (info.started, info.ended) if moment), default=None)
    fault = clock_fault(newest, now)
    return f"The clock shows {fault}. Leave, set it, and begin again: records carry its time." if fault else ""


def _read(planned: list[str], read: set[str], codes: Path) -> list[str]:
    found = [key for key in planned if key in read]
    if planned and not found:
        raise BadRegister(
            f"{codes} has no code of an animal that could be planned. Look at it with: assistant plan --codes"
        )
    return found
