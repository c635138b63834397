"""`assistant learn`: names and words as the keeper says them."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.show import progress, table, workers_option

if TYPE_CHECKING:
    from assistant.learning.lessons import Lesson, Proposal, Tally
    from assistant.learning.own_names import Learnt
    from assistant.learning.words import Form


@click.command("learn")
@click.option("--write", "is_written", is_flag=True, help="Add what proved good to your own grammar files.")
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@workers_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.pass_obj
def learn_command(
    store: Path | None, is_written: bool, listeners: str | None, workers: int | None, as_json: bool
) -> None:
    """Learn how you say names and words, from remarks in which you settled who or what was meant.

    From half of the remarks with a name, or with a word that is taken for another, a pronunciation is made; from half
    of those in which you typed words that were not known, and said at the review what they mean, a form of your own.
    The other half, and all that is heard or read rightly today, are tried with it. It counts as good only if more of
    that half is right and nothing that was accepted becomes wrong. Without --write nothing is changed.
    """
    from assistant import settings
    from assistant.learning import own_names
    from assistant.live.farm import Farm
    from assistant.store.store import Store

    places = settings.places(store)
    with Store.open(places.store, read_only=True) as held:
        farm = Farm.of(held, places)
        names = own_names.OwnNames(held, farm, listeners.split(",") if listeners else None, workers, progress)
        learnt = names.learn()
        good = [lesson.proposal for lesson in learnt.lessons if lesson.is_good]
        click.echo(json.dumps(_flat(learnt)) if as_json else _text(learnt))
        if is_written and good:
            day = datetime.now().astimezone().date()
            files = own_names.write(good, places.grammars, farm.lexicon.of, day)
            click.echo(f"{len(good)} were added to {', '.join(map(str, files))}.", err=True)
        else:
            click.echo("Nothing was changed." + (" Add it with --write." if good else ""), err=True)


def _text(learnt: Learnt) -> str:
    told = [_names(learnt)] if learnt.names else []
    rows = [(right or "nothing", heard or "nothing", str(n)) for (right, heard), n in learnt.confused.items()]
    told += [table(("on record", "heard today", "times"), rows)] if rows else []
    return "\n\n".join([*told, *(_lesson(one) for one in learnt.lessons)] or ["All that you settled is heard rightly."])


def _names(learnt: Learnt) -> str:
    rows = []
    for one in learnt.names:
        taken = ", ".join(f"{words or 'nothing'} ({n})" for words, n in one.taken_for.items())
        rows.append((one.name, str(one.tally.n), str(one.tally.right), str(one.tally.accepted), taken))
    return table(("name", "said", "right", "accepted", "else taken for"), rows)


def _lesson(one: Lesson[Proposal | Form]) -> str:
    said = f"{one.proposal.told}, from {len(one.proposal.learnt)} remarks"
    came = f"on the others {_heard(one.before)} before, {_heard(one.after)} with it"
    if one.is_good:
        return f"{said}: {came}. Good."
    return f"{said}: {came}. Not good{f': it harms {len(one.harmed)} other remarks' if one.harmed else ''}."


def _heard(tally: Tally) -> str:
    return f"{tally.right} of {tally.n} right ({tally.accepted} accepted)"


def _flat(learnt: Learnt) -> dict[str, object]:
    return {
        "names": [asdict(one) for one in learnt.names],
        "confused": [{"right": right, "heard": heard, "n": n} for (right, heard), n in learnt.confused.items()],
        "lessons": [asdict(one) | {"is_good": one.is_good} for one in learnt.lessons],
    }
