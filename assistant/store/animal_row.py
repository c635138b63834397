"""An animal as plain objects that JSON can hold, and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from datetime import date
from enum import StrEnum
from typing import Any

from assistant.values import Animal, Sex, Species, Tag


def animal_to_flat(animal: Animal) -> dict[str, Any]:
    """An animal as a plain object with every key."""
    return {key: _flat(value) for key, value in asdict(animal).items()}


def animal_from_flat(flat: Mapping[str, Any]) -> Animal:
    """The animal that `animal_to_flat` made plain.

    Raises:
        ValueError: a key is unknown, or a value does not fit.
    """
    if odd := set(flat) - {field.name for field in fields(Animal)}:
        raise ValueError(f"an animal has no key {min(odd)!r}")
    return Animal(
        **{
            **flat,
            "sex": Sex(flat["sex"]),
            "species": Species(flat["species"]),
            "born": _day(flat["born"]),
            "due": _day(flat["due"]),
            "nicknames": tuple(flat["nicknames"]),
            "past_tags": tuple(
                Tag(tag["kind"], tag["code"], _day(tag["since"]), _day(tag["until"])) for tag in flat["past_tags"]
            ),
        }
    )


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _flat(value: Any) -> Any:
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _flat(item) for key, item in value.items()}
    return [_flat(item) for item in value] if isinstance(value, list | tuple) else value
