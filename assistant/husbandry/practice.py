"""What a holding does and has: intervals, minutes, ranges, rules for looking again, and its list of medicines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from assistant.values import Grade, Species

CONDITION: Mapping[Species, tuple[float, float]] = MappingProxyType(
    {Species.GOAT: (2.5, 4.0), Species.SHEEP: (2.5, 3.5)}
)
"""Lowest and highest condition score with which a female goes to the male; the holding's own range is better.

Sources: goats 2.5-4.0 as healthy, Villaquiran et al., Langston University, Body Condition Scores in Goats; sheep the
targets at mating from upland crosses of thin hills to lowland flocks, AHDB in Farmers Weekly, 2014-07-17.
"""

MINUTES = 6.0
"""Minutes for one animal until the holding's own sessions say better (common practice, no source)."""

HERITABLE = ("extra teat", "split teat")
"""Findings that run in families and so are marked on relatives; breeds differ, the holding's own list is better.

Source: extra teats, heritability 0.40 and 0.44 in French Alpine and Saanen goats, Journal of Dairy Science
99:8891-8900, 2016; split teats treated alike, South West Farmer, Goatkeeper's guide.
"""

KINSHIP_LIMIT = 0.0625
"""Coefficient of inbreeding of the young above which a mating is marked: that of first cousins' young (common practice,
no source)."""

READY_DAYS = 56
"""A trim or condition score older than this when the males go in does not count.

Source: a change of one condition score takes about eight weeks, Irish Farmers Journal on a Farm Advisory Service note;
its use for feet is common practice, no source.
"""


@dataclass(frozen=True)
class Medicine:
    """A medicine of the holding's list, with the withdrawal periods of its label or of the vet; never made up here.

    Attributes:
        meat_days, milk_hours: None if nobody has written them down.
        from_whom: "label" or "vet".
        is_label_for_food: whether the label is for animals that give meat or milk; only for the reminder.
    """

    name: str
    meat_days: int | None = None
    milk_hours: int | None = None
    from_whom: str = "label"
    is_label_for_food: bool = True


@dataclass(frozen=True)
class Recheck:
    """A rule of the holding: look again so many days after a finding, of this grade if one is named."""

    findings: tuple[str, ...]
    days: int
    grade: Grade | None = None
    what: str = "re-check"


@dataclass(frozen=True)
class Practice:
    """The holding's own way.

    Attributes:
        trim_days: species → days from one trim to the next, 0 for none by the calendar.
        group_trim_days: the same for groups (names in small letters), before that of the species.
        overgrown_days: a foot found overgrown and not trimmed is due after so many days at the latest, 0 for never.
        minutes: minutes for one animal.
        condition: species → lowest and highest condition for mating.
        ready_days: how old a trim or a condition score may be when the males go in.
        kinship_limit: coefficient of inbreeding above which a mating is marked.
        heritable: findings that are marked on relatives.
        rules: when to look again.
        medicines: name in small letters → medicine.
    """

    trim_days: Mapping[Species, int] = field(default_factory=lambda: {Species.GOAT: 56, Species.SHEEP: 0})
    group_trim_days: Mapping[str, int] = field(default_factory=dict)
    overgrown_days: int = 14
    minutes: float = MINUTES
    condition: Mapping[Species, tuple[float, float]] = field(default_factory=lambda: dict(CONDITION))
    ready_days: int = READY_DAYS
    kinship_limit: float = KINSHIP_LIMIT
    heritable: tuple[str, ...] = HERITABLE
    rules: tuple[Recheck, ...] = ()
    medicines: Mapping[str, Medicine] = field(default_factory=dict)

    def trim_interval(self, species: Species, group: str) -> int:
        """Days from one trim to the next for an animal; 0 for none by the calendar."""
        return self.group_trim_days.get(group.casefold(), self.trim_days.get(species, 0))

    def medicine(self, name: str) -> Medicine:
        """The medicine of this name; one that is not on the list has no withdrawal periods."""
        return self.medicines.get(name.casefold(), Medicine(name))
