"""How time and memory grow with the register: import, the index of names and numbers, and mentions.

Run by hand: python tests/bench/register_growth.py FIGURES.jsonl [--animals 1000 10000 100000 1000000] [--plot OUT.svg]

Each size runs in a process of its own. Times are those of the processor, in seconds; sizes in MB of resident memory.
Names are words of an English dictionary, one or two of them, so that most are different; a third of the animals has
none. The words of slips are sounded out before, since that takes the same time in any register; see sounding_out_ms.
"""

from __future__ import annotations

import random
import resource
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

import growth
from plots import drawn, growing
from pocketsphinx import get_model_path

from assistant.errors import UnknownWord
from assistant.listening.spoken import lexicon
from assistant.register.likeness import plain_words
from assistant.register.mention import Matched, Matcher
from assistant.register.reading import animals_from_csv
from assistant.register.register import Register
from assistant.store.store import Store
from assistant.values import Animal

T = TypeVar("T")
N_MENTIONS = 300
MOST_SAVED = 100_000
DIGITS = ["oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]


def dictionary() -> list[str]:
    """Words that can be said without guessing."""
    lines = Path(get_model_path("en-us/cmudict-en-us.dict")).read_text(encoding="utf-8").splitlines()
    return [word for line in lines if (word := line.split()[0]).isalpha() and len(word) > 3]


def csv_of(n: int, rng: random.Random, words: Sequence[str]) -> str:
    """A table of n animals."""
    rows = ["tag,number,name,sex,born,group,electronic,markings"]
    for at in range(n):
        kind = rng.randrange(3)
        name = " ".join(rng.choice(words) for _ in range(kind)).title()
        flock, own = 100_000 + at // 100_000, at % 100_000
        code = f"8260{flock}{own:05}"
        day = f"{rng.randrange(2016, 2026)}-{rng.randrange(1, 13):02}-{rng.randrange(1, 29):02}"
        rows.append(f"UK 0 {flock} {own:05},{at},{name},f,{day},Pen {at % 40},{code},brown")
    return "\n".join(rows) + "\n"


def mentions(animals: Sequence[Animal], rng: random.Random) -> Iterator[tuple[str, Animal]]:
    """Things that keepers say, with who is meant: numbers, short ones, gaps in them, names right and wrong, tags.

    The animals have the numbers from 0 on, so that the last three digits of one are another's whole number: that one is
    meant then.
    """
    named = [animal for animal in animals if animal.name]
    for n in range(N_MENTIONS):
        one, other = rng.choice(animals), rng.choice(named)
        short = animals[int(one.number) % 1000]
        spelt = [DIGITS[int(digit)] for digit in one.number]
        at = rng.randrange(len(other.name))
        yield [
            (" ".join(spelt), one),
            (" ".join(spelt[-3:]), short),
            (" ".join([*spelt[:-1], "something"]), one),
            (other.name.lower(), other),
            (other.name[:at].lower() + rng.choice("aeioust") + other.name[at + 1 :].lower(), other),
            (one.tag, one),
            (f"{other.name.lower()} {' '.join(DIGITS[int(digit)] for digit in other.number)}", other),
        ][n % 7]


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """What a piece of work gives, and the seconds of processor time that it takes."""
    start = time.process_time()
    return work(), time.process_time() - start


def resident_mb() -> float:
    """Memory that the process has now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="utf-8").split()[1])
    return pages * resource.getpagesize() / 1e6


def unseen_words(said: Iterable[str]) -> list[str]:
    """Words of typed slips, which no dictionary has: a model sounds them out, once each."""
    known = set(dictionary())
    words = {word for mention in said for word in plain_words(mention)}
    return sorted(word for word in words if word not in known and len(word) > 3)


def sounded(word: str, pronounce: Callable[[str], object]) -> None:
    """Has a word sounded out, if it can be said at all."""
    with suppress(UnknownWord):
        pronounce(word)


def measured(n: int) -> dict[str, Any]:
    """Figures for one size."""
    rng = random.Random(n)
    sounds = lexicon()
    text = csv_of(n, rng, dictionary()).encode()
    before = resident_mb()
    report, read_s = timed(lambda: animals_from_csv(text, "herd.csv"))
    save_s = None
    if n <= MOST_SAVED:
        with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "herd.db") as store:
            _, save_s = timed(lambda: store.save_animals(report.animals))
    matcher, index_s = timed(lambda: Matcher(Register(report.animals), sounds.of))
    said = list(mentions(report.animals, rng))
    unseen = sorted(
        timed(lambda word=word: sounded(word, sounds.of))[1]  # type: ignore[misc]
        for word in unseen_words(mention for mention, _ in said)
    )
    matched = [(timed(lambda mention=mention: matcher.match(mention)), meant.id) for mention, meant in said]  # type: ignore[misc]
    times = sorted(took_s for (_, took_s), _ in matched)
    found = [([one.animal.id for one in match.candidates], match.decision, meant) for (match, _), meant in matched]
    return {
        "animals": n,
        "mentions": len(found),
        "offered": sum(meant in ids for ids, _, meant in found),
        "taken_wrong": sum(decision is Matched.ONE and ids[0] != meant for ids, decision, meant in found),
        "read_s": round(read_s, 3),
        "save_s": save_s and round(save_s, 3),
        "index_s": round(index_s, 3),
        "mention_median_ms": round(1000 * times[len(times) // 2], 3),
        "mention_p95_ms": round(1000 * times[int(0.95 * len(times))], 3),
        "sounding_out_ms": round(1000 * unseen[len(unseen) // 2], 3),
        "register_mb": round(resident_mb() - before),
        "peak_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000),
    }


def plot(figures: Sequence[dict[str, Any]], out: Path) -> None:
    """Time against size, as SVG."""
    sizes = [row["animals"] for row in figures]
    saved = [row for row in figures if row["save_s"]]
    with drawn(out, "register", columns=2) as (left, right):
        left.plot(sizes, [row["mention_p95_ms"] for row in figures], "o-", label="95 of 100 are quicker")
        left.plot(sizes, [row["mention_median_ms"] for row in figures], "s--", label="half are quicker")
        right.plot(sizes, [row["read_s"] for row in figures], "o-", label="table read and checked")
        right.plot(sizes[: len(saved)], [row["save_s"] for row in saved], "^-", label="saved in the store")
        right.plot(sizes, [row["index_s"] for row in figures], "s--", label="index made")
        growing(left, title="From a mention to ranked animals", ylabel="milliseconds", xlabel="animals")
        growing(right, title="Import and start of a session", ylabel="seconds", xlabel="animals")
        for axes in (left, right):
            axes.legend()


if __name__ == "__main__":
    growth.main(__doc__, [1000, 10_000, 100_000, 1_000_000], measured, plot)
