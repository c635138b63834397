"""`assistant register check`, `find` and `family`: what the register knows, and what is wrong with it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.alike import MOST_COMPARED, pair_text

if TYPE_CHECKING:
    from assistant.register.kin import Family
    from assistant.register.mention import Match
    from assistant.values import Animal


@click.command("check")
@click.option("--group", help="Names and numbers that sound alike: only within this group.")
@click.option("--youngest-parent", type=click.IntRange(1, 2000), default=262, show_default=True, help="Days of age.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a problem.")
@click.pass_obj
def check_animals(store: Path | None, group: str | None, youngest_parent: int, as_json: bool) -> int:
    """Say what cannot be right: numbers against the standards, families; and which animals sound alike.

    The exit status is 3 if a number or a family cannot be right. Animals that sound alike are no mistake: say their
    numbers as well.
    """
    from assistant import settings
    from assistant.cli.main import ExitStatus
    from assistant.records.held_register import confusable_pairs, stored_animals
    from assistant.register.check import family_problems
    from assistant.register.register import Register
    from assistant.register.standards import standard_problems

    places = settings.places(store)
    register = Register(stored_animals(places))
    standards = standard_problems(register)
    families = family_problems(register, youngest_parent)
    alike = confusable_pairs(_in_session(register, group), places.grammars)
    problems = [
        *({"about": "number", "animals": [one.animal], "rule": one.rule, "message": one.message} for one in standards),
        *({"about": "family", "animals": list(one.animals), "message": one.message} for one in families),
        *({"about": "alike", "animals": [one.one.id, one.other.id], "message": pair_text(one)} for one in alike),
    ]
    for problem in problems:
        rule = f" [{problem['rule']}]" if "rule" in problem else ""
        click.echo(json.dumps(problem, ensure_ascii=False) if as_json else f"{problem['message']}{rule}")
    told = f"{len(register)} animals: {len(standards)} numbers and {len(families)} families are not right"
    click.echo(f"{told}, {len(alike)} pairs sound alike.", err=True)
    return ExitStatus.PARTLY if standards or families else ExitStatus.OK


def _in_session(animals: Iterable[Animal], group: str | None) -> list[Animal]:
    from assistant.errors import BadRegister
    from assistant.values.outlook import IN_HERD

    found = [
        animal
        for animal in animals
        if animal.status == IN_HERD and (group is None or animal.group.casefold() == group.casefold())
    ]
    if len(found) > MOST_COMPARED:
        raise BadRegister(
            f"{len(found)} animals are more than anyone handles in one session. Name a group with --group, and the "
            "names in it are compared."
        )
    return found


@click.command("find")
@click.argument("mention", nargs=-1, required=True)
@click.option("--group", help="The group that is in the session: its animals are likelier.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object an animal.")
@click.pass_obj
def find_animal(store: Path | None, mention: tuple[str, ...], group: str | None, as_json: bool) -> int:
    """Find the animal that MENTION may mean, likeliest first: a name, a number in words or digits, a tag, a code.

    The exit status is 0 if one animal is meant, 3 if it must be asked, 1 if none is like it.
    """
    from assistant import settings
    from assistant.cli.main import ExitStatus
    from assistant.cli.show import table
    from assistant.records.held_register import animals_meant
    from assistant.register.mention import Matched

    match = animals_meant(settings.places(store), " ".join(mention), group)
    if as_json:
        for item in match.candidates:
            click.echo(json.dumps({"id": item.animal.id, "animal": item.animal.label, **_evidence(match, item)}))
    elif match.candidates:
        columns = ("animal", "number", "tag", "group", "why")
        rows = [[i.animal.label, i.animal.number, i.animal.tag, i.animal.group, i.why] for i in match.candidates]
        click.echo(table(columns, rows))
    if match.decision is Matched.NONE:
        click.echo(f"No animal is like {' '.join(mention)!r}.", err=True)
    elif match.decision is Matched.SEVERAL:
        click.echo("In a session this would be asked.", err=True)
    return {Matched.ONE: ExitStatus.OK, Matched.SEVERAL: ExitStatus.PARTLY}.get(match.decision, ExitStatus.FAILED)


def _evidence(match: Match, item: object) -> dict[str, object]:
    return {"score": round(getattr(item, "score", 0.0), 3), "why": getattr(item, "why", ""), "decision": match.decision}


@click.command("family")
@click.argument("mention")
@click.option("--with", "other", metavar="MENTION", help="Ancestors that it has in common with this animal.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.pass_obj
def show_family(store: Path | None, mention: str, other: str | None, as_json: bool) -> None:
    """Show dam, sire, daughters, full and half siblings of the animal that MENTION names."""
    from assistant import settings
    from assistant.records.held_register import stored_animals, the_animal
    from assistant.register.kin import common_ancestors, family
    from assistant.register.register import Register, called

    places = settings.places(store)
    register = Register(stored_animals(places))
    one = the_animal(register, mention, places.grammars)
    rows = _relatives(family(register, one))
    if other is not None:
        shared = common_ancestors(register, one, the_animal(register, other, places.grammars))
        rows["common ancestors"] = [
            f"{called(item.animal)}, {item.from_one} and {item.from_other} generations back" for item in shared
        ]
    if as_json:
        click.echo(json.dumps({"id": one.id, "animal": one.label, **rows}, ensure_ascii=False))
        return
    click.echo(called(one))
    for role, names in rows.items():
        click.echo(f"  {role}: {'; '.join(names) or '—'}")


def _relatives(of: Family) -> dict[str, list[str]]:
    from assistant.register.register import called

    def named(parent: Animal | None, text: str) -> list[str]:
        if parent:
            return [called(parent)]
        return [f"{text} (not in the register, or may be several)"] if text else []

    groups = {
        "daughters": of.daughters,
        "sons": of.sons,
        "young of unknown sex": of.children,
        "full siblings": of.full_siblings,
        "half siblings by the dam": of.by_dam,
        "half siblings by the sire": of.by_sire,
    }
    parents = {"dam": named(of.dam, of.animal.dam), "sire": named(of.sire, of.animal.sire)}
    return {**parents, **{role: [called(one) for one in animals] for role, animals in groups.items()}}
