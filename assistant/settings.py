"""Where the keeper's data lives, and the keeper's settings from a TOML file in that place."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

import platformdirs

from assistant.errors import BadSetting
from assistant.husbandry.practice import Practice
from assistant.husbandry.practice_table import KEYS as PRACTICE_KEYS
from assistant.husbandry.practice_table import practice
from assistant.register.cell import refuse_unfit
from assistant.session.state import Policy
from assistant.values import Species

APP = "handling-assistant"
DATA_VARIABLE = "ASSISTANT_DATA"
"""Environment variable that names another data folder."""


@dataclass(frozen=True)
class Places:
    """The files of one holding.

    Attributes:
        folder: the data folder, which holds the rest.
        store: the store file.
        grammars: folder with the keeper's own grammar files; need not exist.
        settings: the keeper's settings file; need not exist.
    """

    folder: Path
    store: Path
    grammars: Path
    settings: Path


def places(store: Path | None = None, environ: Mapping[str, str] | None = None) -> Places:
    """Where the data is: beside `store` if one is named, else in ASSISTANT_DATA, else in the user's data folder.

    Args:
        store: what the option --store says.
        environ: the environment; None for that of the program.

    Raises:
        BadSetting: the place is named by a home folder ("~somebody") that is not there, or it cannot be looked at.
    """
    named = (os.environ if environ is None else environ).get(DATA_VARIABLE, "")
    try:
        if store is not None:
            file = Path(store).expanduser()
        elif named:
            file = Path(named).expanduser() / "herd.db"
        else:
            file = Path(platformdirs.user_data_dir(APP, appauthor=False)) / "herd.db"
        file.exists()
    except RuntimeError as error:
        raise BadSetting(f"{store or named} cannot be found: there is no such home folder. Name it in full.") from error
    except OSError as error:  # too long a name, or a folder of somebody else
        raise BadSetting(f"{file} cannot be used: {error.strerror}. Check the name, and whose folder it is.") from error
    return Places(file.parent, file, file.parent / "grammars", file.parent / "settings.toml")


@dataclass(frozen=True)
class Scale:
    """A scale of lameness, lowest to highest whole number."""

    name: str
    low: int
    high: int


LAMENESS_SCALES: Mapping[Species, Mapping[str, Scale]] = MappingProxyType(
    {
        Species.GOAT: MappingProxyType({"1-5": Scale("1-5", 1, 5), "1-4": Scale("1-4", 1, 4)}),
        Species.SHEEP: MappingProxyType({"0-6": Scale("0-6", 0, 6), "0-3": Scale("0-3", 0, 3)}),
    }
)
"""Scales that a holding can choose, the usual one first.

Sources: goats 1–5 Deeming et al., J Dairy Sci 101, 2018, and the older four points named there; sheep 0–6 Kaler,
Wassink & Green, Vet J, 2009, and 0–3 Angell et al., Vet Rec 176, 2015.
"""

TRIM_DAYS: Mapping[Species, int] = MappingProxyType({Species.GOAT: 56, Species.SHEEP: 0})
"""Days from one trim to the next; 0 for none by the calendar.

Sources: goats every eight weeks, Northern Ireland pygmy goat club, Feet & Hoof Care; sheep only where needed, Winter &
Phythian, Moredun Foundation News Sheet 5(19), 2013.
"""

LONGEST_TRIM_DAYS = 730

LONGEST_KEPT_DAYS = 36_525
"""A hundred years: what is to be kept longer is kept for ever."""

_PLURAL = {Species.GOAT: "goats", Species.SHEEP: "sheep"}


SAY = ("voice", "tones", "nothing")
"""How much is said aloud: words and tones, tones alone, nothing."""

SLOWEST, QUICKEST = 0.5, 2.0

SHORTEST_PAUSE_S, LONGEST_PAUSE_S = 0.3, 2.0


@dataclass(frozen=True)
class Aloud:
    """Microphone, loudspeaker, and how replies are said.

    Attributes:
        microphone, loudspeaker: part of a device's name, or its number in `assistant devices`; empty for the usual.
        say: one of `SAY`.
        volume: of tones and voice, 0 to 1.
        rate: of the voice, 0.5 for half as quick to 2 for twice.
        headset: whether it listens while it speaks, because the microphone does not hear the loudspeaker.
        pause_s: silence that ends a remark, in seconds. A shorter one brings the answer sooner, and cuts a remark in
            two where its speaker takes a breath; the usual one is longer than most breaths.
    """

    microphone: str = ""
    loudspeaker: str = ""
    say: str = "voice"
    volume: float = 0.8
    rate: float = 1.0
    headset: bool = False
    pause_s: float = 0.72


@dataclass(frozen=True)
class Settings:
    """What the keeper chose.

    Attributes:
        holding: name for reports, may be empty.
        policy: how much is said back.
        lameness: species → scale in use.
        trim_days: species → days from one trim to the next, 0 for none by the calendar.
        aloud: microphone, loudspeaker, and how replies are said.
        practice: what the holding does and has: intervals, rules, ranges, medicines.
        keep_sound_days: how long the sounds of remarks are kept, in days; None for ever.
    """

    holding: str = ""
    policy: Policy = Policy.NORMAL
    lameness: Mapping[Species, Scale] = field(
        default_factory=lambda: {species: next(iter(scales.values())) for species, scales in LAMENESS_SCALES.items()}
    )
    trim_days: Mapping[Species, int] = field(default_factory=lambda: dict(TRIM_DAYS))
    aloud: Aloud = field(default_factory=Aloud)
    practice: Practice = field(default_factory=Practice)
    keep_sound_days: int | None = None


_KEYS = ("holding", "policy", "lameness", "trim_days", "sound", "keep_sound_days")


def settings(path: Path) -> Settings:
    """Reads a settings file; what it does not say, and a file that is not there, leave the usual.

    Raises:
        BadSetting: the file cannot be read, or a key or value is not allowed; the message says which are.
    """
    path = Path(path)
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        return Settings()
    except OSError as error:
        raise BadSetting(f"{path} cannot be read: {error.strerror or error}. Check who may read it.") from error
    except UnicodeDecodeError as error:
        raise BadSetting(f"{path} is not UTF-8 text. Save it as UTF-8.") from error
    except (ValueError, RecursionError) as error:  # also of numbers and nests without end
        raise BadSetting(f"{path} is not in the form of TOML: {error}. Mend that line.") from error
    _refuse_unknown(path, "", told, (*_KEYS, *PRACTICE_KEYS))
    usual = Settings()
    policy = told.get("policy", usual.policy)
    if policy not in list(Policy):
        raise _not_allowed(path, "policy", policy, list(Policy))
    trim_days = _trim_days(path, told)
    return Settings(
        _holding(path, told),
        Policy(policy),
        _lameness(path, told),
        trim_days,
        _aloud(path, told),
        practice(told, str(path), trim_days),
        _keep_sound_days(path, told),
    )


def _holding(path: Path, told: Mapping[str, Any]) -> str:
    name = told.get("holding", "")
    if not isinstance(name, str):
        raise BadSetting(f"{path}: holding is {name!r}, but must be a text in quotes.")
    try:
        refuse_unfit(name)
    except ValueError as error:
        raise BadSetting(f"{path}: holding: {error}") from error
    return name


def _keep_sound_days(path: Path, told: Mapping[str, Any]) -> int | None:
    days = told.get("keep_sound_days")
    if days is None or (type(days) is int and 0 <= days <= LONGEST_KEPT_DAYS):
        return days
    raise BadSetting(
        f"{path}: keep_sound_days is {days!r}, but must be a whole number of days from 0 to {LONGEST_KEPT_DAYS}. "
        "Leave it out to keep them for ever."
    )


_KINDS: Mapping[type, tuple[tuple[type, ...], str]] = {
    str: ((str,), "a text in quotes"),
    float: ((int, float), "a number"),
    bool: ((bool,), "true or false"),
}


def _aloud(path: Path, told: Mapping[str, Any]) -> Aloud:
    table = told.get("sound", {})
    if not isinstance(table, dict):
        raise BadSetting(f"{path}: sound is {table!r}, but must be a table [sound].")
    usual = asdict(Aloud())
    _refuse_unknown(path, "sound.", table, tuple(usual))
    for key, value in table.items():
        kinds, kind = _KINDS[type(usual[key])]
        if type(value) not in kinds:
            raise BadSetting(f"{path}: sound.{key} is {value!r}, but must be {kind}.")
    return checked(Aloud(**{**usual, **table}), f"{path}: sound.")


def checked(aloud: Aloud, where: str) -> Aloud:
    """The same, if its values are allowed.

    Args:
        aloud: what was chosen.
        where: goes before the name of the value in the message: the file, or "--" for an option.

    Raises:
        BadSetting: a value is not allowed.
    """
    if aloud.say not in SAY:
        raise BadSetting(f"{where}say is {aloud.say!r}, but must be one of {_listed(SAY)}.")
    if not 0 <= aloud.volume <= 1:
        raise BadSetting(f"{where}volume is {aloud.volume:g}, but must be from 0 to 1.")
    if not SLOWEST <= aloud.rate <= QUICKEST:
        raise BadSetting(f"{where}rate is {aloud.rate:g}, but must be from {SLOWEST:g} to {QUICKEST:g}.")
    if not SHORTEST_PAUSE_S <= aloud.pause_s <= LONGEST_PAUSE_S:
        allowed = f"from {SHORTEST_PAUSE_S:g} to {LONGEST_PAUSE_S:g} seconds"
        raise BadSetting(f"{where}pause_s is {aloud.pause_s:g}, but must be {allowed}.")
    return aloud


def _lameness(path: Path, told: Mapping[str, Any]) -> dict[Species, Scale]:
    chosen = dict(Settings().lameness)
    for species, value in _by_species(path, "lameness", told).items():
        scales = LAMENESS_SCALES[species]
        if not isinstance(value, str) or value not in scales:
            raise _not_allowed(path, f"lameness.{_PLURAL[species]}", value, scales)
        chosen[species] = scales[value]
    return chosen


def _trim_days(path: Path, told: Mapping[str, Any]) -> dict[Species, int]:
    chosen = dict(TRIM_DAYS)
    for species, value in _by_species(path, "trim_days", told).items():
        if type(value) is not int or not 0 <= value <= LONGEST_TRIM_DAYS:
            raise BadSetting(
                f"{path}: trim_days.{_PLURAL[species]} is {value!r}, but must be a whole number of days from 1 to "
                f"{LONGEST_TRIM_DAYS}, or 0 for no trim by the calendar."
            )
        chosen[species] = value
    return chosen


def _by_species(path: Path, key: str, told: Mapping[str, Any]) -> dict[Species, Any]:
    table = told.get(key, {})
    if not isinstance(table, dict):
        raise BadSetting(f"{path}: {key} is {table!r}, but must be a table [{key}] with goats and sheep.")
    _refuse_unknown(path, f"{key}.", table, tuple(_PLURAL.values()))
    return {species: table[plural] for species, plural in _PLURAL.items() if plural in table}


def _refuse_unknown(path: Path, prefix: str, table: Mapping[str, Any], allowed: Collection[str]) -> None:
    if odd := sorted(set(table) - set(allowed)):
        raise BadSetting(f"{path}: there is no setting {prefix + odd[0]!r}. Allowed are {_listed(allowed)}.")


def _not_allowed(path: Path, key: str, value: object, allowed: Collection[str]) -> BadSetting:
    return BadSetting(f"{path}: {key} is {value!r}, but must be one of {_listed(allowed)}.")


def _listed(names: Collection[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)
