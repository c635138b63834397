"""Opens the store of a holding and plans a session on it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from assistant import settings, wiring
from assistant.errors import BadRegister
from assistant.recorded import Run
from assistant.session.state import Policy
from assistant.store.claim import claims
from assistant.store.store import Store

IN_HERD = "in herd"


@contextmanager
def opened(
    store: Path | None, group: str | None, started: datetime | None, source: str, policy: str | None = None
) -> Iterator[Run]:
    """A session about to begin.

    Args:
        store: what --store says.
        group: plan only this group; None for all in the herd.
        started: None for now.
        source: name of the recording, "microphone", or "typed".
        policy: how much is said back; None for what the settings say.

    Raises:
        BadRegister: the register is empty, or has no animal of the group.
    """
    places = settings.places(store)
    usual = settings.settings(places.settings).policy
    with Store.open(places.store) as held, claims(places.store) as claimed:
        animals = [animal for animal in held.animals() if animal.status == IN_HERD]
        if not animals:
            raise BadRegister("The register has no animals. Bring them in with: assistant register import FILE.csv")
        planned = [animal.id for animal in animals if group is None or animal.group.casefold() == group.casefold()]
        if not planned:
            groups = sorted({animal.group for animal in animals if animal.group})
            raise BadRegister(f"No animal is in group {group!r}. The groups are: {', '.join(groups) or 'none'}.")
        moment = (started or datetime.now()).astimezone().replace(microsecond=0)
        farm = wiring.farm(held, places, planned)
        yield Run(held, farm, planned, moment, source, Policy(policy or usual), claimed)
