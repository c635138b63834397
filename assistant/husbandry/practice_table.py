"""Reads what a holding does from its settings table, and says which value in it cannot be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from assistant.errors import BadSetting
from assistant.husbandry.practice import Medicine, Practice, Recheck
from assistant.values import Grade, Species

KEYS = (
    "minutes",
    "overgrown_days",
    "ready_days",
    "kinship_limit",
    "condition",
    "group_trim_days",
    "heritable",
    "recheck",
    "medicine",
)
"""The keys of a settings file that this module reads."""

LONGEST_DAYS = 730
SPECIES = {"goats": Species.GOAT, "sheep": Species.SHEEP}
_RECHECK = ("findings", "days", "grade", "what")
_MEDICINE = ("name", "meat_days", "milk_days", "milk_hours", "from", "for_food_animals")


def practice(table: Mapping[str, Any], where: str, trim_days: Mapping[Species, int]) -> Practice:
    """What a holding does.

    Args:
        table: the settings file as read; keys that are not in `KEYS` are left to others.
        where: name of the file, for messages.
        trim_days: species → days from one trim to the next.

    Raises:
        BadSetting: a value is not allowed; the message names it and says what is.
    """
    usual, at = Practice(), _At(where)
    return Practice(
        trim_days,
        {
            name.casefold(): at.days(f"group_trim_days.{name}", days)
            for name, days in at.table(table, "group_trim_days")
        },
        at.days("overgrown_days", table.get("overgrown_days", usual.overgrown_days)),
        at.number("minutes", table.get("minutes", usual.minutes), 0.1, 600),
        {**usual.condition, **dict(_condition(at, table))},
        at.days("ready_days", table.get("ready_days", usual.ready_days)),
        at.number("kinship_limit", table.get("kinship_limit", usual.kinship_limit), 0, 1),
        _heritable(at, table, usual.heritable),
        tuple(_recheck(at, n, row) for n, row in enumerate(at.rows(table, "recheck"), start=1)),
        _medicines(at, at.rows(table, "medicine")),
    )


class _At:
    """Checks values of one settings file."""

    def __init__(self, where: str) -> None:
        self.where = where

    def wrong(self, key: str, value: object, must: str) -> BadSetting:
        return BadSetting(f"{self.where}: {key} is {value!r}, but must be {must}.")

    def number(self, key: str, value: object, low: float, high: float) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise self.wrong(key, value, f"a number from {low:g} to {high:g}")
        return float(value)

    def days(self, key: str, value: object, longest: int = LONGEST_DAYS) -> int:
        if type(value) is not int or not 0 <= value <= longest:
            raise self.wrong(key, value, f"a whole number from 0 to {longest}")
        return value

    def text(self, key: str, value: object) -> str:
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(key, value, "a text in quotes")
        return " ".join(value.split())

    def texts(self, key: str, value: object) -> tuple[str, ...]:
        if not isinstance(value, list) or not value:
            raise self.wrong(key, value, 'a list of texts such as ["scald", "foot rot"]')
        return tuple(self.text(key, one) for one in value)

    def table(self, told: Mapping[str, Any], key: str) -> Sequence[tuple[str, Any]]:
        value = told.get(key, {})
        if not isinstance(value, dict):
            raise self.wrong(key, value, f"a table [{key}]")
        return tuple(value.items())

    def rows(self, told: Mapping[str, Any], key: str) -> Sequence[Mapping[str, Any]]:
        value = told.get(key, [])
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            raise self.wrong(key, value, f"written as [[{key}]], one for each")
        return value

    def only(self, key: str, row: Mapping[str, Any], allowed: Sequence[str], needed: Sequence[str]) -> None:
        if odd := sorted(set(row) - set(allowed)):
            raise BadSetting(
                f"{self.where}: there is no setting {f'{key}.{odd[0]}'!r}. Allowed are {', '.join(allowed)}."
            )
        if missing := [name for name in needed if name not in row]:
            raise BadSetting(f"{self.where}: {key} has no {missing[0]!r}. Add it.")


def _heritable(at: _At, told: Mapping[str, Any], usual: tuple[str, ...]) -> tuple[str, ...]:
    value = told.get("heritable", list(usual))
    return () if value == [] else at.texts("heritable", value)


def _condition(at: _At, told: Mapping[str, Any]) -> Sequence[tuple[Species, tuple[float, float]]]:
    found = []
    for name, value in at.table(told, "condition"):
        if name not in SPECIES:
            raise BadSetting(f"{at.where}: there is no setting {f'condition.{name}'!r}. Allowed are goats, sheep.")
        if not isinstance(value, list) or len(value) != 2:
            raise at.wrong(f"condition.{name}", value, "the lowest and the highest score, such as [2.5, 4.0]")
        low, high = (at.number(f"condition.{name}", one, 0, 5) for one in value)
        if low > high:
            raise at.wrong(f"condition.{name}", value, "the lowest score first")
        found.append((SPECIES[name], (low, high)))
    return found


def _recheck(at: _At, n: int, row: Mapping[str, Any]) -> Recheck:
    key = f"recheck {n}"
    at.only(key, row, _RECHECK, ("findings", "days"))
    grade = row.get("grade")
    if grade is not None and grade not in list(Grade):
        raise at.wrong(f"{key}, grade", grade, f"one of {', '.join(Grade)}")
    return Recheck(
        at.texts(f"{key}, findings", row["findings"]),
        at.days(f"{key}, days", row["days"]),
        Grade(grade) if grade is not None else None,
        at.text(f"{key}, what", row.get("what", "re-check")),
    )


def _medicines(at: _At, rows: Sequence[Mapping[str, Any]]) -> dict[str, Medicine]:
    found: dict[str, Medicine] = {}
    for n, row in enumerate(rows, start=1):
        one = _medicine(at, f"medicine {n}", row)
        if one.name.casefold() in found:
            raise BadSetting(f"{at.where}: the medicine {one.name!r} is there twice. Keep one of them.")
        found[one.name.casefold()] = one
    return found


def _medicine(at: _At, key: str, row: Mapping[str, Any]) -> Medicine:
    at.only(key, row, _MEDICINE, ("name",))
    if "milk_days" in row and "milk_hours" in row:
        raise BadSetting(f"{at.where}: {key} has milk_days and milk_hours. Keep the one that the label has.")
    milk = at.days(f"{key}, milk_days", row["milk_days"]) * 24 if "milk_days" in row else None
    if "milk_hours" in row:
        milk = at.days(f"{key}, milk_hours", row["milk_hours"], LONGEST_DAYS * 24)
    from_whom = row.get("from", "label")
    if from_whom not in ("label", "vet"):
        raise at.wrong(f"{key}, from", from_whom, '"label" or "vet": nobody else sets a withdrawal period')
    is_for_food = row.get("for_food_animals", True)
    if not isinstance(is_for_food, bool):
        raise at.wrong(f"{key}, for_food_animals", is_for_food, "true or false")
    meat = at.days(f"{key}, meat_days", row["meat_days"]) if "meat_days" in row else None
    return Medicine(at.text(f"{key}, name", row["name"]), meat, milk, from_whom, is_for_food)
