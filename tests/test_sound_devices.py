"""Microphone, level and loudspeaker: miniaudio's null back end for the real thing, a scripted device for mishaps."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator
from functools import partial
from itertools import pairwise
from pathlib import Path

import miniaudio
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from assistant.errors import BadAudio, BadDevice
from assistant.sound import device, level, microphone
from assistant.sound.device import NULL, Device, chosen, close_after, loudspeakers, microphones
from assistant.sound.level import DEAD, TOO_LOUD, TOO_QUIET, Meter
from assistant.sound.microphone import GONE, Microphone, open_microphone
from assistant.sound.player import LATENCY_S, Player
from assistant.sound.stream import Pace, Played
from assistant.values import Sound

# ----------------------------------------------------------------------------------------------------- devices


@pytest.mark.parametrize(
    ("wanted", "name"), [("", "Lapel"), ("2", "Barn mic"), ("barn", "Barn mic"), ("LAPEL", "Lapel")]
)
def test_a_device_is_chosen_by_number_or_a_part_of_its_name(wanted: str, name: str) -> None:
    assert chosen([Device("Lapel"), Device("Barn mic")], wanted, "microphone").name == name


@pytest.mark.parametrize(("devices", "said"), [([], "no microphone"), ([Device("Lapel")], "1 Lapel")])
def test_a_device_that_is_not_there_is_told_with_those_that_are(devices: list[Device], said: str) -> None:
    with pytest.raises(BadDevice, match=said):
        chosen(devices, "yard", "microphone")


def test_the_null_back_end_has_one_of_each() -> None:
    assert len(microphones(NULL)) == len(loudspeakers(NULL)) == 1


def test_what_alsa_shows_where_there_is_no_sound_card_is_no_device(monkeypatch) -> None:
    class Shown:
        def __init__(self, backends: object) -> None:
            pass

        def get_captures(self) -> list[dict[str, object]]:
            names = {"Discard all samples": b"null", "Lapel": b"hw:1,0"}
            formats = [{"samplerate": 48000}]
            return [
                {"name": name, "formats": formats, "id": miniaudio.ffi.new("char[256]", known_by)}
                for name, known_by in names.items()
            ]

    monkeypatch.setattr(device.miniaudio, "Devices", Shown)
    assert [one.name for one in microphones()] == ["Lapel"]


@pytest.mark.parametrize(
    ("rates", "taken"), [([44100, 48000], 48000), ([44100, 96000], 44100), ([0], 48000), ([], 48000)]
)
def test_the_rate_asked_for_is_one_of_the_device(rates: list[int], taken: int) -> None:
    assert device._rate([{"samplerate": rate} for rate in rates]) == taken


# -------------------------------------------------------------------------------------------------- microphone


class Clock:
    """Seconds that pass when they are told to."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


class Socket:
    """A microphone that can be pulled out, at some rate."""

    def __init__(self, clock: Clock, rate_hz: int = 48000) -> None:
        self.clock, self.rate_hz = clock, rate_hz
        self.is_plugged = True
        self.n_opened = self.n_closed = 0
        self._take: Callable[[NDArray[np.float32]], None] | None = None

    def open(self, wanted: str, take: Callable[[NDArray[np.float32]], None]) -> Socket:
        if not self.is_plugged:
            raise BadDevice(f"There is no microphone {wanted!r}.")
        self.n_opened += 1
        self._take = take
        return self

    def close(self) -> None:
        self.n_closed += 1
        self._take = None

    def give(self, samples: NDArray[np.float32]) -> None:
        """Sound reaches the microphone; none comes of it while it is pulled out."""
        self.clock.now += len(samples) / self.rate_hz
        if self.is_plugged and self._take is not None:
            self._take(samples.astype(np.float32))


def taken(source: Microphone) -> list[Sound]:
    blocks = []
    while (block := source.next(0.0)) is not None:
        blocks.append(block)
    return blocks


@pytest.mark.parametrize("rate_hz", [16000, 44100, 48000, 8000])
def test_sound_comes_at_16_khz_whatever_the_device_has(rate_hz: int) -> None:
    """A tone keeps its pitch and its time."""
    clock = Clock()
    socket = Socket(clock, rate_hz)
    source = Microphone("", socket.open, clock)
    moments = np.arange(2 * rate_hz) / rate_hz
    wave = 0.5 * np.sin(2 * np.pi * 440 * moments)
    blocks: list[Sound] = []
    for start in range(0, len(wave), rate_hz // 25):
        socket.give(wave[start : start + rate_hz // 25])
        block = source.next(0.0)
        blocks += [block] if block else []
    samples = np.concatenate([block.samples for block in blocks])
    assert len(samples) == pytest.approx(32000, abs=2000)
    spectrum = np.abs(np.fft.rfft(samples[1000:17000]))
    assert np.argmax(spectrum) == pytest.approx(440, abs=1), "a second of sound: bins are hertz"
    assert all(before.end_s == pytest.approx(after.start_s) for before, after in pairwise(blocks))
    assert blocks[0].start_s == pytest.approx(0, abs=0.05)


def test_a_microphone_that_is_pulled_out_is_missed_and_found_again() -> None:
    clock = Clock()
    socket = Socket(clock)
    source = Microphone("lapel", socket.open, clock)
    piece = np.full(4800, 0.1)
    for _ in range(10):
        socket.give(piece)
    before = taken(source)
    assert source.note == ""
    socket.is_plugged = False
    for _ in range(40):
        socket.give(piece)
        assert source.next(0.0) is None
    assert source.note == GONE
    assert source.position_s == pytest.approx(5.0)
    socket.is_plugged = True
    for _ in range(15):
        socket.give(piece)
        source.next(0.0)
    socket.give(piece)
    block = source.next(0.0)
    assert block is not None
    assert source.note == ""
    assert before[-1].end_s <= 1.0
    assert block.start_s == pytest.approx(6.5, abs=0.1), "the time without it has passed"
    assert (socket.n_opened, socket.n_closed) == (2, 1)
    source.close()
    assert socket.n_closed == 2


def test_it_is_not_looked_for_at_every_moment() -> None:
    clock = Clock()
    socket = Socket(clock)
    source = Microphone("", socket.open, clock)
    socket.is_plugged = False
    tries = []
    source._opener = lambda *_: tries.append(clock.now) or socket.open("", lambda _: None)
    for _ in range(100):
        clock.now += 0.1
        assert source.next(0.0) is None
    assert 8 <= len(tries) <= 9
    assert min(np.diff(tries)) >= 1.0


def test_sound_that_waits_keeps_its_moment() -> None:
    """While the program is busy blocks pile up; what comes then has the time at which it was spoken."""
    clock = Clock()
    socket = Socket(clock, 16000)
    source = Microphone("", socket.open, clock)
    for _ in range(50):
        socket.give(np.full(1600, 0.1))
    clock.now += 3
    blocks = taken(source)
    assert blocks[0].start_s == pytest.approx(0)
    assert blocks[-1].end_s == pytest.approx(5)


def test_the_real_path_with_the_null_back_end() -> None:
    """The device, its thread, the queue and the resampler, with silence in it; in real time."""
    source = Microphone(opener=partial(open_microphone, backends=NULL))
    blocks = [block for _ in range(12) if (block := source.next(0.2)) is not None]
    source.close()
    assert sum(block.length_s for block in blocks) > 0.3
    assert all(block.rate_hz == 16000 and not block.samples.any() for block in blocks)
    assert source.next(0.01) is None or source.is_over


def test_a_microphone_that_is_not_there_at_the_start_is_told(monkeypatch) -> None:
    monkeypatch.setattr(microphone, "microphones", lambda _: ())
    with pytest.raises(BadDevice, match="assistant devices"):
        Microphone()


def test_samples_that_are_no_numbers_are_silence() -> None:
    got: list[NDArray[np.float32]] = []
    generator = microphone._handing_on(got.append, threading.Event())
    generator.send(np.array([0.5, np.nan, np.inf, -np.inf], np.float32).tobytes())
    assert got[0].tolist() == [0.5, 0.0, 1.0, -1.0]


class Calling:
    """A device whose thread calls what it was given, as the library has it: looked at first, then called."""

    def __init__(self, generator: Generator[None, bytes, None], *, is_there: bool = True) -> None:
        self.callback_generator: Generator[None, bytes, None] | None = generator
        self.faults: list[Exception] = []
        self._thread = threading.Thread(target=self._run)
        if is_there:
            self._thread.start()

    def _run(self) -> None:
        while self.callback_generator:
            time.sleep(0.01)
            try:
                self.callback_generator.send(b"")
            except StopIteration:
                self.callback_generator = None
            except AttributeError as error:
                self.faults.append(error)

    def close(self) -> None:
        self.callback_generator = None
        if self._thread.ident:
            self._thread.join()


@pytest.mark.parametrize("is_there", [True, False])
def test_a_device_is_closed_when_it_has_called_for_the_last_time(is_there: bool) -> None:
    """Else its thread may call what is there no more; one that was pulled out is not waited for for long."""
    ending = threading.Event()
    device = Calling(microphone._handing_on(lambda _: None, ending), is_there=is_there)
    begun = time.monotonic()
    close_after(device, ending)
    assert device.faults == []
    assert device.callback_generator is None
    assert time.monotonic() - begun < 5


# ----------------------------------------------------------------------------------------- a recording in its time


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    path = tmp_path / "r.wav"
    soundfile.write(path, np.linspace(-0.5, 0.5, 3 * 22050, dtype=np.float32), 22050)
    return path


def test_a_recording_comes_whole_and_in_small_pieces(recording: Path) -> None:
    source = Played(recording, Pace.FAST)
    blocks = []
    while not source.is_over:
        block = source.next(0.1)
        blocks += [block] if block else []
    assert sum(len(block.samples) for block in blocks) == pytest.approx(48000, abs=20)
    assert max(block.length_s for block in blocks) < 0.2
    assert source.position_s == pytest.approx(3, abs=0.01)


def test_a_recording_in_real_time_takes_its_time(recording: Path) -> None:
    source = Played(recording, Pace.REAL)
    begun = time.monotonic()
    while source.position_s < 0.5:
        source.next(0.05)
    assert 0.45 < time.monotonic() - begun < 1.5
    source.close()
    assert source.is_over


def test_a_recording_that_is_none_is_told(tmp_path: Path) -> None:
    source = Played(tmp_path / "none.wav", Pace.FAST)
    with pytest.raises(BadAudio, match="no file"):
        source.next(0.1)
    assert source.is_over


# ------------------------------------------------------------------------------------------------------- level


def levels(meter: Meter, amplitude: float, seconds: float, *, is_speech: bool) -> list[level.Level]:
    got = []
    for _ in range(round(seconds / 0.032)):
        wave = amplitude * np.sign(np.sin(np.arange(512)))
        sound = Sound(wave.astype(np.float32), 16000)
        got.append(meter.push(sound, is_speech=is_speech))
    return [one for one in got if one is not None]


def test_the_level_is_told_ten_times_a_second_in_decibels() -> None:
    got = levels(Meter(), 0.1, 3, is_speech=True)
    assert 20 <= len(got) <= 31
    assert got[-1].rms_db == pytest.approx(-20, abs=0.5)
    assert got[-1].peak_db == pytest.approx(-20, abs=0.1)


@pytest.mark.parametrize(
    ("speech", "room", "note"),
    [(0.1, 0.001, ""), (1.0, 0.01, TOO_LOUD), (0.003, 0.001, TOO_QUIET), (0.006, 0.0001, ""), (0.1, 0.1, "")],
)
def test_speech_too_loud_or_too_quiet_is_noted(speech: float, room: float, note: str) -> None:
    meter = Meter()
    levels(meter, room, 2, is_speech=False)
    levels(meter, speech, 2, is_speech=True)
    assert levels(meter, room, 1, is_speech=False)[-1].note == note


def test_a_good_remark_takes_the_warning_away() -> None:
    meter = Meter()
    levels(meter, 1.0, 1, is_speech=True)
    assert levels(meter, 0.01, 1, is_speech=False)[-1].note == TOO_LOUD
    levels(meter, 0.1, 1, is_speech=True)
    assert levels(meter, 0.01, 1, is_speech=False)[-1].note == ""


def test_a_quiet_room_is_no_fault_but_a_dead_line_is() -> None:
    meter = Meter()
    assert levels(meter, 0.0005, 10, is_speech=False)[-1].note == ""
    assert levels(meter, 0.0, 2, is_speech=False)[-1].note == ""
    assert levels(meter, 0.0, 4, is_speech=False)[-1].note == DEAD
    assert levels(meter, 0.0005, 1, is_speech=False)[-1].note == ""


# ------------------------------------------------------------------------------------------------- loudspeaker


def test_what_is_played_is_played_once_and_in_order() -> None:
    player = Player(24000, backends=NULL)
    player._device = object()  # the samples are asked for by hand
    player._asked_for = time.monotonic()
    player.play(np.full(100, 0.1, np.float32))
    player.play(np.full(50, 0.2, np.float32))
    first, second, third = (player._next(n) for n in (60, 60, 60))
    assert np.concatenate([first, second, third]).tolist() == pytest.approx([0.1] * 100 + [0.2] * 50 + [0.0] * 30)
    player._device = None


def test_a_loudspeaker_sounds_for_as_long_as_what_is_played() -> None:
    player = Player(24000, backends=NULL)
    player.play(np.zeros(2400, np.float32))
    assert 0.1 < player.left_s <= 0.1 + LATENCY_S
    time.sleep(0.1 + LATENCY_S)
    assert not player.is_playing
    assert not player._queue, "the device has taken it"
    player.close()


def test_stopping_is_at_once() -> None:
    player = Player(24000, backends=NULL)
    player.play(np.zeros(24000 * 10, np.float32))
    player.stop()
    assert player.left_s <= LATENCY_S
    player.close()


def test_without_a_loudspeaker_nothing_stops(monkeypatch) -> None:
    monkeypatch.setattr("assistant.sound.player.loudspeakers", lambda _: ())
    player = Player(24000)
    player.play(np.zeros(24000, np.float32))
    assert "no loudspeaker" in player.note
    assert not player.is_playing


def test_a_loudspeaker_that_hangs_is_opened_again() -> None:
    clock = Clock()
    player = Player(24000, backends=NULL, monotonic=clock)
    player.play(np.zeros(24000 * 5, np.float32))
    opened = player._device
    player._device.stop()
    clock.now += 3
    player.play(np.zeros(2400, np.float32))
    assert player._device is not opened
    player.close()
