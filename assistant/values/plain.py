"""Values to plain objects that JSON can hold, and back: what a store keeps of an event."""

from __future__ import annotations

import types
import typing
from collections.abc import Hashable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from typing import Any, Union, cast

from assistant.values.meant import Part, part_from


def plain(value: Any) -> Any:
    """A value as objects that JSON can hold: parts and dataclasses as mappings, times in ISO 8601."""
    if isinstance(value, Part):
        return value.flat()
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value


def made(kind: Any, value: Any) -> Any:
    """The value of type `kind` that `plain` made plain.

    Raises:
        ValueError: a key is missing or unknown, a value is none of its kind, or a time has no zone.
    """
    origin = typing.get_origin(kind)
    if origin in (Union, types.UnionType):
        kinds = [one for one in typing.get_args(kind) if one is not type(None)]
        return None if value is None else made(kinds[0], value)
    if origin is tuple:
        return tuple(made(typing.get_args(kind)[0], item) for item in _checked(value, list))
    if origin is not None and issubclass(origin, Mapping):
        return {key: made(typing.get_args(kind)[1], item) for key, item in _checked(value, dict).items()}
    if kind is Part:
        return part_from(_checked(value, dict))
    if is_dataclass(kind):
        return _made_dataclass(cast(type[Any], kind), _checked(value, dict))
    if kind is datetime:
        return _moment(_checked(value, str))
    if kind is date:
        return date.fromisoformat(_checked(value, str))
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind(value)
    return _checked(value, *((int, float) if kind is float else (kind,)))


def _checked(value: Any, *kinds: type) -> Any:
    """The value, if it is of one of these types; JSON tells true from 1."""
    if isinstance(value, kinds) and (bool in kinds or not isinstance(value, bool)):
        return value
    raise ValueError(f"{value!r} is no {kinds[-1].__name__}")


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(f"the time {text} has no zone")
    return moment


@cache
def _hints(kind: Hashable) -> dict[str, Any]:
    return typing.get_type_hints(cast(type[Any], kind))


def _made_dataclass(kind: type[Any], value: Mapping[str, Any]) -> Any:
    hints = _hints(cast(Hashable, kind))
    if odd := set(value) - set(hints):
        raise ValueError(f"{kind.__name__} has no key {min(odd)!r}")
    try:
        return kind(**{name: made(hints[name], item) for name, item in value.items()})
    except TypeError as wrong:
        raise ValueError(f"{kind.__name__} is not complete: {wrong}") from wrong
