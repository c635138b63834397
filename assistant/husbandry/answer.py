"""Questions about coming days, families and feet, each answered in one sentence, with the list for the screen."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from assistant.husbandry.feet import FEW, SMALL, Share, Tally, by_finding, by_foot, worst
from assistant.husbandry.gestation import Pregnancy
from assistant.husbandry.medicine import ASK, Withheld
from assistant.husbandry.practice import Medicine
from assistant.husbandry.readiness import Readiness
from assistant.session import replies

_DAY = re.compile(r",? (?:on|free from|from|since|due) \d{4}-\d\d-\d\d")

Name = Callable[[str], str]
"""Gives what an animal is called, by its id."""


@dataclass(frozen=True)
class Told:
    """An answer: the sentence to be said, and lines for the screen."""

    sentence: str
    lines: tuple[str, ...] = ()


def shut_out(found: Sequence[Readiness], name: Name) -> Told:
    """Who may not go to the male, and why."""
    against = [one for one in found if not one.is_ready]
    if not found:
        return Told("There are no females in the herd.")
    if not against:
        return Told("Nothing is on record against any of them.")
    lines = tuple(f"{name(one.animal)}: {'; '.join(one.reasons)}" for one in against)
    short = [f"{name(one.animal)}, {_without_days(one.reasons[0])}" for one in against]
    n = len(against)
    if n <= 3:
        return Told(f"{'; '.join(short)}.", lines)
    return Told(f"{replies.sentence_case(replies.number(n))} may not: {'; '.join(short[:2])}; and others.", lines)


def _without_days(reason: str) -> str:
    """A reason as it is said: days are for the screen."""
    return _DAY.sub("", reason)


def birth(of: Pregnancy | None, who: str, today: date) -> Told:
    """When an animal is due."""
    if of is None:
        return Told(f"Neither a mating nor a day of birth is on record for {who}.")
    lines = (_birth_line(of, who),)
    if of.first_due == of.last_due:
        return Told(f"{who} is due {replies.on_day(of.first_due, today)}, give or take five days.", lines)
    return Told(f"{who} is due between {replies.dated(of.first_due)} and {replies.dated(of.last_due)}.", lines)


def births(of: Mapping[str, Pregnancy], name: Name) -> Told:
    """Who may give birth, the next first."""
    found = sorted(of.items(), key=lambda pair: pair[1].first_due)
    if not found:
        return Told("Neither a mating nor a day of birth is on record for any of them.")
    lines = tuple(_birth_line(one, name(key)) for key, one in found)
    who = replies.some_of([name(key) for key, _ in found])
    return Told(f"{replies.sentence_case(replies.number(len(found)))} may give birth: {who}.", lines)


def _birth_line(of: Pregnancy, who: str) -> str:
    days = f"{of.first_due}" if of.first_due == of.last_due else f"{of.first_due} to {of.last_due}"
    return f"{who}: {days}, from {of.earliest} to {of.latest} at the outside"


def withdrawal(of: Medicine | None) -> Told:
    """The periods of a medicine as the holding's list has them; none is ever made up."""
    if of is None:
        return Told("Of which medicine? Name one of your list.")
    if of.meat_days is None and of.milk_hours is None:
        return Told(f"{replies.sentence_case(of.name)}: {ASK}.")
    meat = "none written down" if of.meat_days is None else f"{of.meat_days} days"
    milk = "none written down" if of.milk_hours is None else f"{of.milk_hours} hours"
    ask = " Ask your vet, and use neither meanwhile." if of.meat_days is None or of.milk_hours is None else ""
    by_whom = "the label" if of.from_whom == "label" else "your vet"
    return Told(f"{replies.sentence_case(of.name)}, by {by_whom}: meat {meat}, milk {milk}.{ask}")


def withheld(of: Withheld | None, who: str) -> Told:
    """Until when milk and meat of an animal are withheld."""
    if of is None:
        return Told(f"Nothing is withheld for {who} by the record.")
    days = [("milk", of.milk_from), ("meat", of.meat_from)]
    told = [f"{what} until {replies.dated(day)}" for what, day in days if day]
    lines = tuple(f"{who}: {what} free from {day}" for what, day in days if day)
    sentence = f"{who}: withhold {replies.listed(told)}" if told else who
    if of.unknown:
        missing = f"no period is written down for {replies.listed(of.unknown)}: ask your vet, and use neither meanwhile"
        sentence = f"{sentence}; {missing}" if told else f"{who}: {missing}"
    return Told(f"{sentence}.", lines)


def related(relation: str, inbreeding: float, one: str, other: str, *, is_pair: bool) -> Told:
    """Whether two animals are related.

    Args:
        relation: what `other` is to `one`, as "dam"; empty if they are not near.
        inbreeding: coefficient of their young.
        one: what the first is called.
        other: what the second is called.
        is_pair: whether they are male and female.
    """
    if not inbreeding:
        return Told(f"{one} and {other} are not related as far as parents are written down.")
    young = f"; their young would be inbred {100 * inbreeding:.5g} per cent at least" if is_pair else ""
    how = f"{other} is the {relation} of {one}" if relation else f"{one} and {other} have ancestors in common"
    return Told(f"{how}{young}.")


def worst_feet(of: Tally, since: date) -> Told:
    """Which foot was worst, and with what."""
    feet = by_foot(of)
    found = worst(feet)
    if not of.visits:
        return Told(f"No foot is on record since {replies.dated(since)}.")
    small = (SMALL,) if len(of.visits) < FEW else ()
    lines = (*(_line(one) for one in (*feet, *by_finding(of))), *small)
    if found is None:
        return Told(f"Nothing was found on any foot since {replies.dated(since)}.", lines)
    here = [Share(what, len(who), found.n_examined) for (what, place), who in of.feet.items() if place == found.what]
    most = max(here, key=lambda one: one.n_affected)
    return Told(
        f"The {found.what}: found on {found.n_affected} of {found.n_examined} looked at, mostly {most.what}.", lines
    )


def _line(one: Share) -> str:
    return f"{one.what}: {one.n_affected} of {one.n_examined}"
