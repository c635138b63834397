"""How long the lists of coming days take, and how that grows with the herd.

Run by hand: python tests/bench/husbandry_growth.py FIGURES.jsonl [--animals 1000 10000 100000] [--plot OUT.svg]

Each size runs in a process of its own, and each list on a store opened for it, so that nothing is read twice. The herd
is made by rules without chance: ten entries an animal over 900 days, parents for all but the first 200, half of
the females in kid, twenty males compared with all of them. So much overdue is worse than any herd. Times are those of
the processor, in seconds, the best of three.
"""

from __future__ import annotations

import gc
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import growth
from plots import drawn, growing

from assistant.husbandry import feet
from assistant.husbandry.kinship import inbreeding
from assistant.husbandry.practice import Medicine, Practice, Recheck
from assistant.records.look_ahead import LookAhead
from assistant.store.store import Store
from assistant.values import Animal, SessionInfo, Sex
from assistant.values.book import Mating

N_SESSIONS = 100
START = datetime(2024, 1, 1, 9, tzinfo=UTC)
NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
PRACTICE = Practice(
    rules=(Recheck(("scald", "foot rot"), 7),), medicines={"blue spray": Medicine("blue spray", 28, 84)}
)

_ENTRIES = """
WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 10 * :animals - 1)
INSERT INTO entry (number, id, session, animal, time, day, kind, what, place, part, grade, value, days, medicine, flat,
    state, remark, by, supersedes, is_live)
SELECT i + 1000, 'e' || i, 's' || (i * 10 / :animals), 'a' || (i / 5 % :animals),
    '2024-01-01T09:00:00+00:00', date('2024-01-01', ((i * 10 / :animals) * 9) || ' days'),
    CASE i % 10 WHEN 0 THEN CASE WHEN i % 200 = 0 THEN 'follow_up' ELSE 'action' END WHEN 1 THEN 'measure'
        WHEN 2 THEN 'action' WHEN 3 THEN 'action' WHEN 4 THEN 'action' ELSE 'finding' END,
    CASE i % 10 WHEN 0 THEN CASE WHEN i % 200 = 0 THEN 're-check' ELSE 'sprayed' END WHEN 1 THEN 'condition'
        WHEN 2 THEN 'treated' WHEN 3 THEN 'trimmed' WHEN 4 THEN 'trimmed'
        ELSE CASE i * 7 % 11 WHEN 1 THEN 'overgrown' WHEN 2 THEN 'hollow wall' WHEN 3 THEN 'scald' WHEN 4 THEN 'crack'
            WHEN 5 THEN 'foot rot' ELSE 'sound' END END,
    CASE i / 7 % 4 WHEN 0 THEN 'left fore' WHEN 1 THEN 'right fore' WHEN 2 THEN 'left hind' ELSE 'right hind' END,
    NULL, CASE i % 3 WHEN 0 THEN 'severe' END, CASE i % 10 WHEN 1 THEN 2 + i % 7 * 0.5 END,
    CASE WHEN i % 200 = 0 THEN 14 END, CASE i % 500 WHEN 2 THEN 'blue spray' END, '{}', 'heard', 'r' || i, 'Rowan',
    NULL, i % 50 <> 7
FROM n
"""


def make(path: Path, n: int) -> None:
    """A store with n animals and ten entries for each."""
    with Store.open(path) as store:
        store.save_animals(_animal(i) for i in range(n))
        for k in range(N_SESSIONS):
            store.begin(SessionInfo(f"s{k}", START + timedelta(days=9 * k)))
        store.ask(lambda db: db.execute(_ENTRIES, {"animals": n}))
        males = [one.id for one in store.heads() if one.is_male][:20]
        females = [one.id for one in store.heads() if one.is_female][::2]
        for at, key in enumerate(males):
            store.save_record(Mating(f"m{at}", (key,), tuple(females[at :: len(males)]), date(2026, 4, 1)))


def _animal(i: int) -> Animal:
    sex = Sex.MALE if i % 50 == 0 else Sex.FEMALE
    dam, sire = (f"a{i // 2}", f"a{i // 150 * 50}") if i > 200 else ("", "")
    born = date(2018, 1, 1) + timedelta(days=i % 2500)
    return Animal(f"a{i}", f"UK 0 123456 {i:05d}", str(i), f"N{i}", sex, born, dam, sire, f"g{i % 5}")


def _pairs(ahead: LookAhead) -> object:
    herd = ahead.group(None)
    males = [one.id for one in herd if one.is_male][:20]
    return ahead.choice(males, [one.id for one in herd if one.is_female])


def _feet(ahead: LookAhead) -> object:
    of = ahead.feet(date(2025, 6, 1), date(2026, 6, 1))
    groups = {one.id: one.group for one in ahead.heads}
    shares = feet.by_finding(of), feet.by_foot(of), feet.by_kind(of, lambda key: groups.get(key, "")), feet.by_month(of)
    return shares, feet.again(of), feet.change(of)


LISTS: dict[str, Callable[[LookAhead], object]] = {
    "follow-ups": lambda ahead: ahead.follow_ups(),
    "trims": lambda ahead: ahead.trims(),
    "plan for a date": lambda ahead: ahead.plan(date(2026, 8, 1), 120),
    "births": lambda ahead: ahead.pregnancies,
    "ready for the male": lambda ahead: ahead.readiness(date(2026, 8, 1)),
    "20 males for every female": _pairs,
    "inbreeding of every animal": lambda ahead: inbreeding(ahead.pedigree),
    "withheld": lambda ahead: ahead.withheld(),
    "feet of a year": _feet,
}

BY_TAGS = "inbreeding, parents by tags"
"""The same list once more where every parent is named by its tag, in small letters and with dashes for spaces."""

_NAME_BY_TAGS = """
UPDATE animal SET
    dam = coalesce((SELECT lower(replace(tag, ' ', '-')) FROM animal AS one WHERE one.id = animal.dam), ''),
    sire = coalesce((SELECT lower(replace(tag, ' ', '-')) FROM animal AS one WHERE one.id = animal.sire), '')
"""


def measured(n: int) -> dict[str, Any]:
    """Seconds of processor time for each list."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "herd.db"
        make(path, n)
        gc.disable()  # as the commands do
        found = {name: min(_cpu_s(path, deed) for _ in range(3)) for name, deed in LISTS.items()}
        with Store.open(path) as store:
            store.ask(lambda db: db.execute(_NAME_BY_TAGS))
        found[BY_TAGS] = min(_cpu_s(path, LISTS["inbreeding of every animal"]) for _ in range(3))
        return {"animals": n, **found}


def _cpu_s(path: Path, deed: Callable[[LookAhead], object]) -> float:
    with Store.open(path, read_only=True) as store:
        began = time.process_time()
        deed(LookAhead(store, PRACTICE, NOW))
        return round(time.process_time() - began, 4)


def plot(figures: Sequence[dict[str, Any]], out: Path) -> None:
    """Time against size, both in powers of ten, as SVG."""
    with drawn(out, "husbandry", size=(8, 4.2)) as [axes]:
        for name, mark in zip((*LISTS, BY_TAGS), "os^vDPX*hd", strict=True):
            axes.plot([row["animals"] for row in figures], [row[name] for row in figures], f"{mark}-", label=name)
        axes.axhline(1.0, color="grey", linestyle=":")
        growing(axes, xlabel="animals, ten entries each", ylabel="seconds of processor time")
        axes.legend(fontsize="small", loc="center left", bbox_to_anchor=(1, 0.5))


if __name__ == "__main__":
    growth.main(__doc__, [1000, 10_000, 100_000], measured, plot)
