"""What is said before a session starts: that the clock is wrong, and who sounds alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from assistant.live.recorded import Run
    from assistant.register.confusable import Confusable

MOST_COMPARED = 3000
"""So many animals are compared by sound; nobody handles more in one session."""

MOST_SHOWN = 12


def pair_text(pair: Confusable) -> str:
    """Two animals that sound alike, and what tells them apart."""
    from assistant.register.distinction import distinction
    from assistant.register.register import called

    apart = distinction(pair.one, pair.other)
    hint = f" {pair.one.label} is {apart}." if apart and apart.startswith("the") else ""
    return f"{called(pair.one)} and {called(pair.other)}: {pair.why}.{hint}"


def alike_lines(pairs: Sequence[Confusable]) -> list[str]:
    """Pairs as lines to read before a session; the first of them if there are many."""
    if not pairs:
        return []
    left = len(pairs) - MOST_SHOWN
    more = [f"  and {left} more; see them with: assistant register check"] if left > 0 else []
    shown = [f"  {pair_text(pair)}" for pair in pairs[:MOST_SHOWN]]
    return ["These sound alike; say name and number:", *shown, *more]


def alike_in(run: Run) -> list[str]:
    """Who sounds alike in a session that is about to begin, as lines; none if there are too many to compare."""
    from assistant.records.held_register import confusable_pairs

    if len(run.planned) > MOST_COMPARED:
        return []
    planned = [animal for key in run.planned if (animal := run.farm.register.animal(key))]
    return alike_lines(confusable_pairs(planned, run.farm.keepers))


def say_clock(run: Run) -> None:
    """Says on stderr that the clock is wrong, if sessions on record show it."""
    if run.clock_note:
        click.echo(run.clock_note, err=True)


def say_alike(run: Run) -> None:
    """Lists on stderr who sounds alike in a session that is about to begin."""
    for line in alike_in(run):
        click.echo(line, err=True)
