"""Looks at every part that a session needs before it is needed: with what to do about it."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.checking.checked_part import CheckedPart, Health
from assistant.checking.holding_check import clock_part, disk_part, register_part, settings_part, store_part
from assistant.errors import AssistantError, ListenerMissing
from assistant.listening.spoken import LISTENERS, package_folder
from assistant.live.farm import Farm
from assistant.meaning.canonical import MeaningKey
from assistant.records.held_register import stored_animals
from assistant.register.register import Register
from assistant.settings import Aloud, Places, settings
from assistant.sound.endpoint import remarks, silero
from assistant.sound.faint import QUIET_DB, is_speech
from assistant.sound.level import STILL_DB, decibels, rms
from assistant.sound.microphone import Microphone
from assistant.sound.recording import blocks
from assistant.sound.stream import Source
from assistant.values import Sound
from assistant.voice.mouth import Say
from assistant.voice.speaking import HibariVoice, Voice

KNOWN_WORDS, KNOWN_FROM_S = "left hind hollow wall again cut out spray", 9.0
"""A remark of the demonstration that every holding's grammar knows, and a moment shortly before it."""

HEARD_S, PATIENCE_S = 2.0, 4.0
"""How much sound of the microphone is looked at, and how long it may take to come."""

PARTS = ("settings", "disk", "store", "clock", "register", "microphone", "voice", "listeners")
"""What is looked at, in this order."""


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

    def parts(self, wanted: Collection[str] = ()) -> Iterator[CheckedPart]:
        """One part after the other, each as soon as it is there; the listeners last, as they take longest.

        Args:
            wanted: some of `PARTS`; all if empty.
        """
        places, machine = self._places, self._machine
        looks: tuple[Callable[[], CheckedPart | Iterator[CheckedPart]], ...] = (
            lambda: settings_part(places.settings),
            lambda: disk_part(self._disk, machine.free_bytes(self._disk)),
            lambda: store_part(places.store),
            lambda: clock_part(places.store, machine.now()),
            lambda: register_part(places),
            self._microphone,
            self._voice,
            self._hearing,
        )
        for part, look in zip(PARTS, looks, strict=True):
            if wanted and part not in wanted:
                continue
            try:
                found = look()
                yield from (found,) if isinstance(found, CheckedPart) else found
            except AssistantError as error:
                yield CheckedPart(part, Health.FAULT, str(error))

    @property
    def _disk(self) -> Path:
        """The folder of the holding, or what there is of the way to it."""
        folder = self._places.folder.absolute()
        return next(one for one in (folder, *folder.parents) if one.exists())

    @property
    def _aloud(self) -> Aloud:
        try:
            return settings(self._places.settings).aloud
        except AssistantError:  # said where the settings are looked at
            return Aloud()

    def _microphone(self) -> CheckedPart:
        heard = _heard(self._machine.microphone(self._aloud.microphone))
        peak = float(np.abs(heard).max(initial=0.0))
        see = "See which there are with: assistant devices"
        if not len(heard):
            return CheckedPart("microphone", Health.FAULT, "it gives no sound at all", f"Plug it in again. {see}")
        if peak == 0:
            to_do = f"It is switched off or muted: switch it on. {see}"
            return CheckedPart("microphone", Health.FAULT, "it gives silence without the least noise", to_do)
        if peak >= 1:
            return CheckedPart("microphone", Health.LESS, "it is driven too hard", "Turn its level down in the system.")
        loud = f"peak {decibels(peak):.0f} dB of full scale"
        up = "Turn it up in the system's settings, or bring it nearer to the mouth."
        if decibels(rms(heard)) < STILL_DB:
            text, to_do = f"it gives hardly more than its own noise, {loud}", f"Is it muted? {up}"
            return CheckedPart("microphone", Health.LESS, text, to_do)
        if decibels(peak) < QUIET_DB and is_speech(heard, silero()):
            return CheckedPart("microphone", Health.LESS, f"speech comes too faintly, {loud}", up)
        return CheckedPart("microphone", Health.GOOD, f"sound comes, {loud}")

    def _voice(self) -> CheckedPart:
        if self._aloud.say != Say.VOICE:
            return CheckedPart("voice", Health.GOOD, f"not wanted: the settings say {self._aloud.say!r}")
        try:
            voice = self._machine.voice()
        except AssistantError as error:
            return CheckedPart("voice", Health.LESS, str(error))
        began = time.perf_counter()
        if not sum(len(samples) for samples in voice.speak("Left hind.")):
            return CheckedPart("voice", Health.LESS, "it says nothing: replies are tones", "Install hibari-tts again.")
        return CheckedPart("voice", Health.GOOD, f"speaks, {time.perf_counter() - began:.2f} s for two words")

    def _hearing(self) -> Iterator[CheckedPart]:
        farm = Farm(Register(stored_animals(self._places)), self._places.grammars)
        key = farm.interpreter.key  # a mistake in a grammar file is told once, not by each listener
        found = [self._listener(name, farm, key(KNOWN_WORDS)) for name in self._listeners]
        yield from found
        n_good = sum(one.health is Health.GOOD for one in found)
        again = "Install the program again with all that it needs."
        if n_good > 1:
            yield CheckedPart("listeners", Health.GOOD, f"{n_good} hear a known remark rightly")
        elif n_good:
            yield CheckedPart("listeners", Health.LESS, "only one hears: nothing is taken without a question", again)
        else:
            yield CheckedPart("listeners", Health.FAULT, "no listener hears a known remark rightly", again)

    def _listener(self, name: str, farm: Farm, known: MeaningKey | None) -> CheckedPart:
        began = time.perf_counter()
        try:
            ears = farm.ears([name])
        except ListenerMissing as error:
            return CheckedPart(name, Health.LESS, str(error))
        except AssistantError as error:
            return CheckedPart(name, Health.FAULT, str(error))
        started = time.perf_counter()
        choices = ears.judge(self._known_sound, farm.interpreter.key).choices
        took = f"started in {started - began:.1f} s, heard in {time.perf_counter() - started:.1f} s"
        if choices and farm.interpreter.key(choices[0]) == known:
            return CheckedPart(name, Health.GOOD, took)
        heard = f"“{choices[0]}”" if choices else "nothing"
        to_do = "See whether a grammar file of yours changed the meaning; else install the program again."
        return CheckedPart(name, Health.FAULT, f"took “{KNOWN_WORDS}” for {heard}", to_do)

    @cached_property
    def _known_sound(self) -> Sound:
        spoken = remarks(blocks(package_folder("demo_audio") / "session.flac"))
        return next(sound for sound in spoken if sound.start_s > KNOWN_FROM_S)


def _heard(microphone: Source) -> NDArray[np.float32]:
    """The first sound that comes, shape (samples,); none if nothing comes."""
    pieces, heard_s, ends = [np.zeros(0, np.float32)], 0.0, time.monotonic() + PATIENCE_S
    try:
        while heard_s < HEARD_S and time.monotonic() < ends and not microphone.is_over:
            if (block := microphone.next(0.1)) is not None:
                pieces.append(block.samples)
                heard_s += block.length_s
    finally:
        microphone.close()
    return np.concatenate(pieces)
