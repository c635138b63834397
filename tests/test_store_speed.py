"""The store is quick enough: an event while the next remark is spoken, a herd's figures while the keeper waits."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import pytest
from store_stage import START, entry, made, session_info, tone

from assistant.store.store import Store

N_ENTRIES = 1_000_000

_HERD = """
WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < :n)
INSERT INTO entry (number, id, session, animal, time, day, kind, what, place, part, grade, value, days, medicine, flat,
    state, remark, by, supersedes, is_live)
SELECT i + 1000, 'e' || i, 's' || (i / 1000 % 100), 'a' || (i / 10 * 7919 % 1000), '2020-01-01T09:00:00+00:00',
    date('2020-01-01', (i / 500) || ' days'),
    CASE i % 10 WHEN 0 THEN 'follow_up' WHEN 1 THEN 'measure' WHEN 2 THEN 'action' WHEN 3 THEN 'action'
        WHEN 4 THEN 'action' ELSE 'finding' END,
    CASE i % 10 WHEN 0 THEN 're-check' WHEN 1 THEN 'condition' WHEN 2 THEN 'treated' WHEN 3 THEN 'trimmed'
        WHEN 4 THEN 'trimmed' ELSE 'finding ' || (i / 10 % 30) END,
    CASE i / 7 % 4 WHEN 0 THEN 'left fore' WHEN 1 THEN 'right fore' WHEN 2 THEN 'left hind' ELSE 'right hind' END,
    NULL, CASE i % 3 WHEN 0 THEN 'severe' END, NULL, CASE i % 10 WHEN 0 THEN 14 END,
    CASE i % 500 WHEN 2 THEN 'blue spray' END, '{"place":"left hind","finding":"hollow wall"}', 'heard', 'r' || i,
    'Rowan', NULL, i % 50 <> 7
FROM n
"""


def wall_s(deed: Callable[[], object]) -> float:
    began = time.perf_counter()
    deed()
    return time.perf_counter() - began


def test_appending_an_event_and_keeping_a_sound_take_milliseconds(tmp_path: Path) -> None:
    """Limits are ten times what a plain disk needs, so that a busy machine does not fail: they catch a lost index."""
    with Store.open(tmp_path / "herd.db") as store:
        at = store.begin(session_info())
        appends = []
        for n in range(100):
            flat = [made(entry(f"e{n}"))]
            appends.append(wall_s(lambda at=at + n, flat=flat: store.append("s1", at, flat)))  # type: ignore[misc]
        keeps = [wall_s(lambda: store.keep_sound("s1", tone(3.0), START)) for _ in range(10)]
    print(f"append {1e3 * median(appends):.2f} ms, keep 3 s of sound {1e3 * median(keeps):.1f} ms")  # noqa: T201
    assert median(appends) < 0.05
    assert median(keeps) < 0.2


@pytest.mark.slow
def test_a_herd_with_a_million_entries_answers_within_a_second(tmp_path: Path) -> None:
    """Entries of 1,000 animals in 100 sessions, put into the table for reading by one SQL statement."""
    with Store.open(tmp_path / "herd.db") as store:
        for n in range(100):
            store.begin(session_info(f"s{n}", days=n))
        store._db.execute("PRAGMA cache_size = -500000")
        store._db.execute(_HERD, {"n": N_ENTRIES})
        store._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    deeds: dict[str, Callable[[Store], object]] = {
        "counts": lambda store: store.counts(),
        "counts of a year": lambda store: store.counts(since=START.date().replace(year=2023)),
        "last days of all": lambda store: store.last_days(),
        "follow-ups of a week": lambda store: store.follow_ups(until=START.date().replace(year=2020, month=1, day=20)),
        "treatments": lambda store: store.treatments(),
        "history of one": lambda store: store.history("a1", before="s90"),
        "sessions": lambda store: store.sessions(),
    }
    opening = wall_s(lambda: Store.open(tmp_path / "herd.db").close())
    with Store.open(tmp_path / "herd.db") as store:
        took = {name: wall_s(lambda deed=deed: deed(store)) for name, deed in deeds.items()}  # type: ignore[misc]
        n_counted, n_animals = sum(count.n for count in store.counts()), len(store.last_days())
    print({name: f"{1e3 * s:.0f} ms" for name, s in {"open": opening, **took}.items()})  # noqa: T201
    assert (n_counted, n_animals) == (N_ENTRIES * 5 // 10 - N_ENTRIES // 50, 1000)
    assert opening < 2
    assert max(took.values()) < 1, took
