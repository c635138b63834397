"""What the lists read from the store: what was last measured and done, and feet that nothing was done about."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from store_stage import entry, made, session_info

from assistant.husbandry.readiness import UNTREATED
from assistant.store import outlook
from assistant.store.store import Store
from assistant.values import ActionPart, FindingPart, MeasurePart, Part

SCALD, CRACK = FindingPart("left hind", "scald"), FindingPart("left hind", "crack")

LEFT = [  # for each session what was recorded of one animal, in order; what is left to do
    ([[SCALD]], ("left hind scald",)),
    ([[SCALD, ActionPart("left hind", "sprayed")]], ()),
    ([[ActionPart("left hind", "trimmed"), SCALD]], ()),
    ([[SCALD], [ActionPart("left hind", "trimmed")]], ()),
    ([[SCALD], [FindingPart("left hind", "sound")]], ()),
    ([[SCALD], [ActionPart("left hind", "left alone")]], ("left hind scald",)),
    ([[SCALD], [ActionPart("left fore", "sprayed")]], ("left hind scald",)),
    ([[SCALD], [CRACK]], ("left hind crack", "left hind scald")),
    ([[SCALD, CRACK]], ("left hind crack", "left hind scald")),
    ([[ActionPart("left hind", "sprayed")], [SCALD]], ("left hind scald",)),
    ([[SCALD, ActionPart("left hind", "sprayed")], [CRACK]], ("left hind crack",)),
    ([[FindingPart("left hind", "overgrown"), FindingPart("udder", "swelling")]], ()),
]


def filled(path: Path, sessions: list[list[Part]], days: int = 7) -> Store:
    """Ids of sessions say nothing about their order."""
    store = Store.open(path)
    for n, parts in enumerate(sessions):
        key = f"s{9 - n}"
        store.begin(session_info(key, n * days))
        entries = [entry(f"e{n}.{k}", part, session=key, days=n * days) for k, part in enumerate(parts)]
        store.append(key, 1, [made(one) for one in entries])
    return store


@pytest.mark.parametrize("days", [0, 7])
@pytest.mark.parametrize(("sessions", "left"), LEFT)
def test_feet_that_nothing_was_done_about(tmp_path: Path, sessions: list[list[Part]], left: tuple, days: int) -> None:
    """The same whether the sessions were on one day or on several."""
    with filled(tmp_path / "herd.db", sessions, days) as store:
        found = store.ask(outlook.open_feet, UNTREATED, date(2026, 9, 1)).get("a1", ())
    assert tuple(sorted(found)) == left


def test_what_was_found_too_long_ago_is_left_out(tmp_path: Path) -> None:
    with filled(tmp_path / "herd.db", [[SCALD]]) as store:
        assert store.ask(outlook.open_feet, UNTREATED, date(2026, 9, 2)) == {}


def test_the_last_measure_counts_and_of_one_day_the_last_that_was_recorded(tmp_path: Path) -> None:
    values = [[MeasurePart("condition", 3.0), MeasurePart("condition", 2.5)], [MeasurePart("lameness", 2)]]
    with filled(tmp_path / "herd.db", values) as store:
        assert store.ask(outlook.last_values, "condition") == {"a1": (2.5, date(2026, 9, 1))}
        assert store.ask(outlook.last_values, "lameness") == {"a1": (2, date(2026, 9, 8))}
        assert store.ask(outlook.last_values, "weight") == {}


def test_visits_are_sessions_after_a_day(tmp_path: Path) -> None:
    trimmed = ActionPart("left hind", "trimmed")
    with filled(tmp_path / "herd.db", [[SCALD], [MeasurePart("condition", 3.0)], [SCALD, trimmed], [CRACK]]) as store:
        assert store.last_days() == {"a1": date(2026, 9, 15)}
        after = store.ask(outlook.visits, {"a1": date(2026, 9, 1), "a2": date(2026, 1, 1)})
    assert after == {"a1": ((date(2026, 9, 15), "s7", True), (date(2026, 9, 22), "s6", False))}
