"""What follows from the records of a holding on a day: gathered from the store, worked out by `assistant.husbandry`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from functools import cached_property

from assistant.errors import BadRegister
from assistant.husbandry import choice, family, feet, follow_up, gestation, medicine, readiness, trim
from assistant.husbandry.choice import Choice
from assistant.husbandry.family import Parents, Pedigree
from assistant.husbandry.feet import Share, Tally
from assistant.husbandry.follow_up import FollowUp
from assistant.husbandry.gestation import Pregnancy
from assistant.husbandry.medicine import Treatment, Withheld
from assistant.husbandry.practice import Practice
from assistant.husbandry.readiness import Known, Readiness
from assistant.husbandry.trim import Plan, Trim
from assistant.store import outlook
from assistant.store.store import Store
from assistant.values import Species
from assistant.values.book import Birth, Given, Mating, Settled, is_likely
from assistant.values.outlook import Called, Head, Name, here

RULE_DAYS = 180
"""What a rule asked for is forgotten so long after its day (common practice, no source)."""

BIRTH_DAYS = 365
"""A birth longer ago ends nothing that could still be due."""

OPEN_FOOT_DAYS = 180
"""A finding on a foot so old is no longer taken for untreated (common practice, no source)."""


MOST_GROUPS = 12
"""So many groups are named to a keeper who asked for one that is not there."""


class LookAhead:
    """What follows on a day. The register and the matings are read once, what sessions record each time.

    Args:
        store: the records.
        practice: what the holding does and has.
        now: the moment that counts, with its time zone.
    """

    def __init__(self, store: Store, practice: Practice, now: datetime) -> None:
        self.practice = practice
        self.now = now
        self.today = now.date()
        self._store = store

    @classmethod
    def on(cls, store: Store, practice: Practice, day: date) -> LookAhead:
        """What follows on a day, from its beginning on."""
        return cls(store, practice, datetime.combine(day, time()).astimezone())

    # ------------------------------------------------------------------------------------------------ read once each

    @cached_property
    def heads(self) -> tuple[Head, ...]:
        """Every animal of the register."""
        return self._store.heads()

    @cached_property
    def by_id(self) -> dict[str, Head]:
        """The same by id."""
        return {one.id: one for one in self.heads}

    @cached_property
    def names(self) -> dict[str, Name]:
        """How each animal of the register is shown."""
        return self._store.ask(outlook.names)

    @cached_property
    def matings(self) -> tuple[Mating, ...]:
        """The mating book; days that cannot be are left out."""
        found = self._store.records(Mating)
        return tuple(one for one in found if is_likely(one.began) and (one.ended is None or is_likely(one.ended)))

    @cached_property
    def pregnancies(self) -> dict[str, Pregnancy]:
        """Who may give birth, and when."""
        return gestation.pregnancies(self.by_id, self.matings, self.today, self.last_births)

    def pregnancy(self, key: str) -> Pregnancy | None:
        """When one animal may give birth; knows of a birth that was recorded after `pregnancies` was read."""
        of = self.pregnancies.get(key)
        return of if of and not self._store.ask(outlook.births, of.no_tip_from, self.today, key) else None

    @cached_property
    def last_births(self) -> dict[str, date]:
        """Animal → when it last gave birth, as recorded or by its youngest young in the register; of a year at most."""
        period = self.today - timedelta(days=BIRTH_DAYS), self.today
        found = {one.animal: one.day for one in self.births(BIRTH_DAYS)}
        children = self._store.ask(outlook.children, period)
        parents = family.parents(children, self.by_id.keys(), lambda: self.called)
        for key, (_, dam) in parents.items():
            if dam and (born := self.by_id[key].born):
                found[dam] = max(born, found.get(dam, born))
        return found

    def births(self, days: int) -> tuple[Birth, ...]:
        """Births of the last days, as sessions or the keeper recorded them, the latest last."""
        since = self.today - timedelta(days=days)
        of_sessions = (Birth("", *one) for one in self._store.ask(outlook.births, since, self.today))
        of_book = (one for one in self._store.records(Birth) if since <= one.day <= self.today)
        return tuple(sorted((*of_sessions, *of_book), key=lambda one: one.day))

    @property
    def last_trims(self) -> dict[str, date]:
        """Animal → day of its last trim."""
        return self._store.last_days()

    @property
    def traits(self) -> dict[str, frozenset[str]]:
        """Animal → lasting judgements."""
        return self._store.ask(outlook.traits)

    @cached_property
    def parents(self) -> dict[str, Parents]:
        """Animal → its parents."""
        children = self._store.ask(outlook.children)
        return family.parents(children, {one.id for one in children}, lambda: self.called)

    @cached_property
    def pedigree(self) -> Pedigree:
        """Who descends from whom."""
        return family.pedigree(self.parents, self.label)

    @cached_property
    def called(self) -> tuple[Called, ...]:
        """All that each animal of the register may be called by."""
        return self._store.ask(outlook.called)

    @cached_property
    def tags(self) -> dict[str, str]:
        """Animal → its official tag, empty if it has none."""
        return {one.id: one.tag for one in self.called}

    def found(self, text: str) -> Head:
        """The one animal that is called so: by id, tag, code, number or name.

        Raises:
            BadRegister: nobody is, or several are.
        """
        those = family.named({text.strip()}, self.called)[text.strip()]
        if not those:
            raise BadRegister(f"No animal is called {text!r}. See them with: assistant register list")
        if len(those) > 1:
            told = ", ".join(f"{self.names[one.id].label} ({one.number or one.tag or one.id})" for one in those)
            raise BadRegister(f"{text!r} may be {told}. Give the number or tag.")
        return self.by_id[those[0].id]

    def label(self, key: str) -> str:
        """How an animal is called on screen: with its number or tag where another is called the same."""
        one = self.names.get(key)
        if one is None:
            return key.removeprefix(family.OUTSIDE)
        also = one.number or self.tags[key] if one.label in self._shared else ""
        return f"{one.label} ({also})" if also else one.label

    @cached_property
    def _shared(self) -> frozenset[str]:
        """Names that several animals have."""
        return frozenset(label for label, n in Counter(one.label for one in self.names.values()).items() if n > 1)

    def group(self, name: str | None) -> list[Head]:
        """The animals in the herd, of one group or all.

        Raises:
            BadRegister: there is no such group.
        """
        if name is None:
            return list(here(self.heads))
        found = [one for one in self.heads if one.group.casefold() == name.casefold()]
        if not found:
            groups = ", ".join(sorted({one.group for one in here(self.heads) if one.group})[:MOST_GROUPS])
            raise BadRegister(
                f"There is no group {name!r}. {f'Groups are: {groups}' if groups else 'No animal has one'}."
            )
        return list(here(found))

    # ----------------------------------------------------------------------------------------------- what is to do

    def follow_ups(self, animal: str | None = None) -> tuple[FollowUp, ...]:
        """Everything that remarks and rules asked for, of one animal or all, and where it stands."""
        rules = self.practice.rules
        whats = {what for rule in rules for what in rule.findings}
        oldest = self.today - timedelta(days=max((rule.days for rule in rules), default=0) + RULE_DAYS)
        found = self._store.ask(outlook.findings, whats, oldest, animal) if whats else ()
        asked = (*self._store.ask(outlook.asked, animal), *follow_up.asked_by_rules(found, rules))
        after: dict[str, date] = {}
        for one in asked:
            after[one.animal] = min(one.said, after.get(one.animal, one.said))
        visits = self._store.ask(outlook.visits, after)
        settled = {one.entry: one for one in self._store.records(Settled)}
        return follow_up.follow_ups(asked, visits, settled, self.today)

    def trims(self, group: str | None = None) -> tuple[Trim, ...]:
        """When each animal in the herd, or of a group, is due for trimming."""
        long_since = self._store.last_days("overgrown", "finding")
        animals = self.group(group)
        return trim.trims(animals, self.practice, self.last_trims, long_since, self.today, self.pregnancies)

    def minutes(self) -> tuple[float, bool]:
        """Minutes for one animal, and whether the holding's own sessions say so."""
        own = trim.own_minutes(self._store.ask(outlook.times_at_table))
        return (self.practice.minutes, False) if own is None else (own, True)

    def plan(self, before: date, minutes_a_day: float, group: str | None = None) -> Plan:
        """Who must be done before a date, and whether there is time enough."""
        return trim.plan(self.trims(group), before, self.today, self.minutes()[0], minutes_a_day)

    # ---------------------------------------------------------------------------------------------------- mating

    def readiness(self, day: date, group: str | None = None) -> tuple[Readiness, ...]:
        """Which females may go to the male on a day."""
        females = [one for one in self.group(group) if one.is_female]
        known = Known(
            self._store.ask(outlook.last_values, "condition"),
            self._store.ask(outlook.last_values, "lameness"),
            self._store.last_days("lame", "finding"),
            self._store.ask(outlook.open_feet, readiness.UNTREATED, self.today - timedelta(days=OPEN_FOOT_DAYS)),
            self.traits,
            self.withheld(),
            self.last_trims,
            self.pregnancies,
        )
        return readiness.readiness(females, known, self.practice, day)

    def choice(self, males: Sequence[str], females: Sequence[str]) -> Choice:
        """Every female with every male."""
        faults: dict[str, list[str]] = {}
        if self.practice.heritable:
            for one in self._store.ask(outlook.findings, self.practice.heritable):
                if one.what not in faults.setdefault(one.animal, []):
                    faults[one.animal].append(one.what)
        sheep = {one.id for one in self.heads if one.species is Species.SHEEP}
        return choice.choice(self.pedigree, males, females, faults, self.traits, sheep)

    def unwanted_daughters(self) -> tuple[tuple[str, str], ...]:
        """(mother, daughter) where no daughters were to be kept."""
        return choice.unwanted_daughters(self.heads, self.traits, self.parents)

    # -------------------------------------------------------------------------------------------------- medicines

    def treatments(self, animal: str | None = None) -> tuple[Treatment, ...]:
        """Everything that was given, to one animal or all, in the order of time."""
        entered = self._store.ask(outlook.entered_medicines, animal)
        entries = {one.entry for one in entered}
        given = [one for one in self._store.records(Given) if is_likely(one.time.date())]
        mine = [one for one in given if (one.entry in entries) or (not one.entry and animal in (None, one.animal))]
        return medicine.treatments(entered, mine, self.practice)

    def withheld(self, animal: str | None = None) -> dict[str, Withheld]:
        """What must not be used yet, of one animal or all."""
        return medicine.withheld(self.treatments(animal), self.now)

    # -------------------------------------------------------------------------------------------------------- feet

    def feet(self, since: date, until: date, finding: str | None = None, group: str | None = None) -> Tally:
        """What was recorded of feet in a period, days included; of a group as it is today, or of all."""
        entries = self._store.ask(outlook.foot_entries, since, until)
        if group is not None:
            ids = {one.id for one in self.group(group)}
            of_group = (one._replace(animals=ids.intersection(one.animals)) for one in entries)
            entries = tuple(one for one in of_group if one.animals)
        return feet.tally(entries, finding)

    def lameness(self, since: date, until: date) -> tuple[Share, ...]:
        """How many of those scored were lame, for each day."""
        return feet.lameness_course(self._store.ask(outlook.lameness_scores, since, until))
