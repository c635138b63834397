"""Makes a season of an invented dairy, four sessions of many animals, and times what leaves the store.

Run with: python -m tests.bench.records_out [ANIMALS]
"""

from __future__ import annotations

import random
import resource
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from assistant.husbandry.practice import Practice
from assistant.records.calendar_out import coming
from assistant.records.holding_lists import holding_lists
from assistant.records.look_ahead import LookAhead
from assistant.records.records_out import session_report
from assistant.records.tables_out import table_rows
from assistant.report.calendar import calendar
from assistant.report.columns import TABLES
from assistant.report.page import page
from assistant.report.table_file import FORMATS, write_tables
from assistant.session.events import AnimalCaught, AnimalLeft, EntryMade, Finished, Said, flat_event
from assistant.session.state import Outcome, OutcomeKind
from assistant.store.store import Store
from assistant.values import (
    FEET,
    ActionPart,
    Animal,
    Entry,
    FindingPart,
    FollowUpPart,
    MeasurePart,
    Part,
    Remark,
    SessionInfo,
    Sex,
    State,
)

START = datetime(2026, 1, 12, 8, 0, tzinfo=UTC)
FINDINGS = ("overgrown", "hollow wall", "crack", "scald", "abscess", "packed dirt")


def parts_of(chance: random.Random) -> Iterator[Part]:
    """What is said of one animal: about eight facts."""
    for foot in FEET:
        if chance.random() < 0.5:
            yield FindingPart(foot, chance.choice(FINDINGS))
            yield ActionPart(foot, "trimmed")
        else:
            yield FindingPart(foot, "sound")
    yield MeasurePart("condition", chance.choice((2.0, 2.5, 3.0, 3.5)))
    if chance.random() < 0.15:
        yield FollowUpPart("re-check", 14)


def events_of(session: str, n: int, chance: random.Random, began: datetime) -> Iterator[dict[str, Any]]:
    """One animal on the table: caught, spoken of, let go."""
    animal, now = f"a{n}", began + timedelta(minutes=3 * n)
    yield flat_event(AnimalCaught(now, animal, f"{session}-{n}"))
    for k, part in enumerate(parts_of(chance)):
        remark = Remark(f"{session}-{n}-{k}", session, now, "left hind hollow wall cut out", by="Rowan")
        yield flat_event(Said(remark))
        entry = Entry(f"{remark.id}-e", animal, part, State.HEARD, remark.id, session, now, None, "Rowan")
        yield flat_event(EntryMade(entry))
    if chance.random() < 0.1:
        old = entry.id
        yield flat_event(EntryMade(replace(entry, id=f"{old}-2", part=MeasurePart("weight", 60.0))))
    yield flat_event(AnimalLeft(now + timedelta(minutes=2), animal, Outcome(OutcomeKind.DONE), f"{session}-{n}"))


def fill(store: Store, n_animals: int, prefix: str = "s") -> None:
    """Four sessions, eight weeks apart, of every animal."""
    chance = random.Random(8)
    animals = [Animal(f"a{n}", f"HB {200000 + n}", f"{n:04d}", sex=Sex.FEMALE) for n in range(n_animals)]
    store.save_animals(animals, START)
    for n in range(4):
        key, began = f"{prefix}{n}", START + timedelta(days=56 * n)
        store.begin(SessionInfo(key, began, planned=tuple(a.id for a in animals), by="Rowan", source="bench"))
        events = [event for k in range(n_animals) for event in events_of(key, k, chance, began)]
        events.append(flat_event(Finished(began + timedelta(minutes=3 * n_animals))))
        store.append(key, 1, events)


def timed(what: str, deed: Callable[[], Any]) -> Any:
    """Does it, and says how long it took."""
    wall, cpu = time.perf_counter(), time.process_time()
    result = deed()
    print(f"{what:34} {time.perf_counter() - wall:7.2f} s, {time.process_time() - cpu:7.2f} s of processor")  # noqa: T201
    return result


def main(n_animals: int = 1000) -> None:
    """Prints the times and sizes."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        with Store.open(folder / "herd.db") as store:
            timed("making the season", lambda: fill(store, n_animals))
            practice, now = Practice(), START + timedelta(days=170)

            def whole_page() -> str:
                return page(
                    session_report(store, "Hedge End"), holding_lists(LookAhead(store, practice, now), now.date())
                )

            html = timed("report of the last session", whole_page)
            (folder / "page.html").write_text(html, encoding="utf-8")
            print(f"{'its size':34} {len(html.encode()) / 1e6:7.2f} MB")  # noqa: T201
            print(f"{'entries in the store':34} {len(store.entries()):7d}")  # noqa: T201
            timed("calendar", lambda: calendar(coming(store, LookAhead(store, practice, now)), now))
            rows = timed("rows of all tables", lambda: {table: table_rows(store, table) for table in TABLES})
            for form in FORMATS:
                timed(f"tables as {form}", lambda form=form: write_tables(folder, form, rows))
            timed("backup", lambda: store.back_up(folder / "backup", {}))
            with Store.open(folder / "other.db") as other:
                fill(other, n_animals, "t")
            timed("merge of as much again", lambda: store.merge(folder / "other.db"))
            timed("the same merge again", lambda: store.merge(folder / "other.db"))
    print(f"{'most memory':34} {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:7.0f} MB")  # noqa: T201


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
