"""Looks at every part that a session needs before it is needed: one finding for each, with what to do."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from functools import cached_property
from pathlib import Path

import numpy as np

from assistant.errors import AssistantError, ListenerMissing
from assistant.meaning.canonical import MeaningKey
from assistant.register.check import family_problems
from assistant.register.register import Register
from assistant.settings import Aloud, Places, Settings, settings
from assistant.sound.endpoint import remarks
from assistant.sound.microphone import Microphone
from assistant.sound.recording import blocks
from assistant.sound.stream import Source
from assistant.store.sound_file import folder_of
from assistant.store.store import Store
from assistant.values import Sound
from assistant.voice.mouth import Say
from assistant.voice.speaking import HibariVoice, Voice
from assistant.wiring import LISTENERS, Farm, package_folder, stored_animals

KNOWN_WORDS, KNOWN_FROM_S = "left hind hollow wall again cut out spray", 9.0
"""A remark of the demonstration that every holding's grammar knows, and a moment shortly before it."""

HEARD_S, PATIENCE_S = 0.5, 2.0
"""How much sound of the microphone is looked at, and how long it may take to come."""

BYTES_PER_HOUR = 70e6
"""What an hour of remarks takes as FLAC: 16 kHz, 16 bits, about 60 % after packing."""

LEAST_BYTES, FEW_BYTES = 100e6, 1e9

MADE = datetime(2026, 11, 1, tzinfo=UTC)
"""No clock that is right shows an earlier time: small boards without a battery begin again in 1970 or 2000."""

AHEAD = timedelta(minutes=5)
"""The newest record may be so far ahead of the clock."""


PARTS = ("settings", "disk", "store", "clock", "register", "microphone", "voice", "listeners")
"""What is looked at, in this order."""


class State(StrEnum):
    """How well a part is."""

    GOOD = "good"
    LESS = "less"
    """A session goes, with less."""
    FAULT = "fault"
    """A session would fail, or its records would be wrong."""


@dataclass(frozen=True)
class Finding:
    """One part.

    Attributes:
        part: its name.
        state: how well it is.
        text: what was found.
        to_do: what to do; empty if it is good.
    """

    part: str
    state: State
    text: str
    to_do: str = ""


@dataclass(frozen=True)
class Machine:
    """What the check asks of the machine, so that it can be tried without it.

    Attributes:
        microphone: opens one, by the name in the settings.
        voice: starts the voice.
        now: the clock.
        free_bytes: room on the disk of a folder.
    """

    microphone: Callable[[str], Source] = Microphone
    voice: Callable[[], Voice] = HibariVoice
    now: Callable[[], datetime] = lambda: datetime.now().astimezone()
    free_bytes: Callable[[Path], float] = lambda folder: shutil.disk_usage(folder).free


class SelfCheck:
    """The parts of one holding on one machine.

    Args:
        places: the holding's files.
        machine: what is asked of the machine.
        listeners: those to try; None for all.
    """

    def __init__(self, places: Places, machine: Machine | None = None, listeners: Sequence[str] | None = None) -> None:
        self._places = places
        self._machine = machine or Machine()
        self._listeners = tuple(listeners or LISTENERS)

    def findings(self, parts: Collection[str] = ()) -> Iterator[Finding]:
        """One finding after the other, each as soon as it is there; the listeners last, as they take longest.

        Args:
            parts: some of `PARTS`; all if empty.
        """
        looks = (
            self._look_at_settings,
            self._look_at_disk,
            self._look_at_store,
            self._look_at_clock,
            self._look_at_register,
            self._look_at_microphone,
            self._look_at_voice,
            self._look_at_listeners,
        )
        for part, look in zip(PARTS, looks, strict=True):
            if parts and part not in parts:
                continue
            try:
                yield from look()
            except AssistantError as error:
                yield Finding(part, State.FAULT, str(error))

    # -------------------------------------------------------------------------------------------- the holding's files

    @cached_property
    def _settings(self) -> Settings:
        return settings(self._places.settings)

    @property
    def _aloud(self) -> Aloud:
        try:
            return self._settings.aloud
        except AssistantError:  # said by the finding of the settings
            return Aloud()

    def _look_at_settings(self) -> Iterator[Finding]:
        self._settings  # noqa: B018 - reads the file
        file = self._places.settings
        yield Finding("settings", State.GOOD, str(file) if file.exists() else "the usual ones")

    def _look_at_disk(self) -> Iterator[Finding]:
        folder = self._places.folder.absolute()
        while not folder.exists():
            folder = folder.parent
        free = self._machine.free_bytes(folder)
        text = f"{free / 1e9:.1f} GB free, about {free / BYTES_PER_HOUR:,.0f} hours of remarks"
        if free >= FEW_BYTES:
            yield Finding("disk", State.GOOD, text)
        else:
            state = State.FAULT if free < LEAST_BYTES else State.LESS
            yield Finding("disk", state, text, f"Make room on the disk of {folder}.")

    def _look_at_store(self) -> Iterator[Finding]:
        file = self._places.store
        if not file.exists():
            yield Finding("store", State.GOOD, f"none yet; {file} is made when animals are imported")
            return
        with Store.open(file, read_only=True) as held:
            problems, n_sessions = held.check(), len(held.sessions())
        if problems:
            more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
            to_do = f"Copy {file.parent} as it is, then go on with the last backup. docs/store.md tells more."
            yield Finding("store", State.FAULT, problems[0] + more, to_do)
        elif open_to_all := _open_to_others([file, folder_of(file)]):
            to_do = f"Run: chmod -R go= {file.parent}"
            yield Finding("store", State.LESS, f"others on this machine may read {open_to_all[0]}", to_do)
        else:
            yield Finding("store", State.GOOD, f"{n_sessions} sessions in {file}")

    def _look_at_clock(self) -> Iterator[Finding]:
        now = self._machine.now()
        newest = newest_moment(self._places.store)
        shown = f"{now:%Y-%m-%d %H:%M %z}"
        if now < MADE:
            text = f"{shown}, which is before this program was made"
        elif newest is not None and newest > now + AHEAD:
            text = f"{shown}, but the newest record is of {newest:%Y-%m-%d %H:%M %z}"
        else:
            yield Finding("clock", State.GOOD, shown)
            return
        yield Finding("clock", State.FAULT, text, "Set the clock before the next session: records carry its time.")

    def _look_at_register(self) -> Iterator[Finding]:
        animals = stored_animals(self._places)
        if not animals:
            to_do = "Bring them in with: assistant register import FILE.csv"
            yield Finding("register", State.FAULT, "no animals, so that no session can begin", to_do)
            return
        problems = family_problems(Register(animals))
        text = f"{len(animals)} animals"
        if problems:
            more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
            to_do = "Mend it with: assistant register"
            yield Finding("register", State.LESS, f"{text}; {problems[0].message}{more}", to_do)
        else:
            yield Finding("register", State.GOOD, text)

    # ------------------------------------------------------------------------------------------- to hear and to speak

    def _look_at_microphone(self) -> Iterator[Finding]:
        peak = _peak(self._machine.microphone(self._aloud.microphone))
        see = "See which there are with: assistant devices"
        if peak is None:
            yield Finding("microphone", State.FAULT, "it gives no sound at all", f"Plug it in again. {see}")
        elif peak == 0:
            text = "it gives silence without the least noise"
            yield Finding("microphone", State.FAULT, text, f"It is switched off or muted: switch it on. {see}")
        elif peak >= 1:
            yield Finding("microphone", State.LESS, "it is driven too hard", "Turn its level down in the system.")
        else:
            yield Finding("microphone", State.GOOD, f"sound comes, peak {20 * np.log10(peak):.0f} dB of full scale")

    def _look_at_voice(self) -> Iterator[Finding]:
        if self._aloud.say != Say.VOICE:
            yield Finding("voice", State.GOOD, f"not wanted: the settings say {self._aloud.say!r}")
            return
        try:
            voice = self._machine.voice()
        except AssistantError as error:
            yield Finding("voice", State.LESS, str(error))
            return
        began = time.perf_counter()
        n_samples = sum(len(samples) for samples in voice.speak("Left hind."))
        took = time.perf_counter() - began
        if n_samples:
            yield Finding("voice", State.GOOD, f"speaks, {took:.2f} s for two words")
        else:
            yield Finding("voice", State.LESS, "it says nothing: replies are tones", "Install hibari-tts again.")

    def _look_at_listeners(self) -> Iterator[Finding]:
        farm = Farm(Register(stored_animals(self._places)), self._places.grammars)
        key = farm.interpreter.key  # a mistake in a grammar file is told once, not by each listener
        found = [self._listener(name, farm, key(KNOWN_WORDS)) for name in self._listeners]
        yield from found
        n_good = sum(one.state is State.GOOD for one in found)
        if n_good > 1:
            yield Finding("listeners", State.GOOD, f"{n_good} hear a known remark rightly")
        elif n_good:
            text = "only one hears: nothing is taken without a question"
            yield Finding("listeners", State.LESS, text, "Install the program again with all that it needs.")
        else:
            text = "no listener hears a known remark rightly"
            yield Finding("listeners", State.FAULT, text, "Install the program again with all that it needs.")

    def _listener(self, name: str, farm: Farm, known: MeaningKey | None) -> Finding:
        began = time.perf_counter()
        try:
            ears = farm.ears([name])
        except ListenerMissing as error:
            return Finding(name, State.LESS, str(error))
        except AssistantError as error:
            return Finding(name, State.FAULT, str(error))
        started = time.perf_counter()
        choices = ears.judge(self._known_sound, farm.interpreter.key).choices
        took = f"started in {started - began:.1f} s, heard in {time.perf_counter() - started:.1f} s"
        if choices and farm.interpreter.key(choices[0]) == known:
            return Finding(name, State.GOOD, took)
        heard = f"“{choices[0]}”" if choices else "nothing"
        to_do = "See whether a grammar file of yours changed the meaning; else install the program again."
        return Finding(name, State.FAULT, f"took “{KNOWN_WORDS}” for {heard}", to_do)

    @cached_property
    def _known_sound(self) -> Sound:
        spoken = remarks(blocks(package_folder("demo_audio") / "session.flac"))
        return next(sound for sound in spoken if sound.start_s > KNOWN_FROM_S)


def newest_moment(store: Path) -> datetime | None:
    """The latest moment in a store's sessions; None if there is none, or no store that can be read."""
    if not store.exists():
        return None
    try:
        with Store.open(store, read_only=True) as held:
            infos = held.sessions()
            moments = [moment for info in infos for moment in (info.started, info.ended) if moment]
            moments += [remark.time for remark in held.remarks(infos[-1].id)] if infos else []
    except AssistantError:  # said by the finding of the store
        return None
    return max(moments, default=None)


def _peak(microphone: Source) -> float | None:
    """The loudest sample of half a second, at most 1 for full scale; None if no sound comes."""
    peaks, heard_s, ends = [], 0.0, time.monotonic() + PATIENCE_S
    try:
        while heard_s < HEARD_S and time.monotonic() < ends and not microphone.is_over:
            if (block := microphone.next(0.1)) is not None:
                peaks.append(float(np.abs(block.samples).max(initial=0.0)))
                heard_s += block.length_s
    finally:
        microphone.close()
    return max(peaks, default=None)


def _open_to_others(paths: Sequence[Path]) -> list[Path]:
    """Those that others than their owner may read; Windows keeps such rights elsewhere."""
    if os.name == "nt":
        return []
    return [path for path in paths if path.exists() and path.stat().st_mode & 0o077]
