"""Speech too faint to be found as remarks is told, once; a barn without a keeper's voice is let alone."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from loop_stage import LiveStage, ScriptedSource

from assistant.live.happening import Levelled
from assistant.sound import faint
from assistant.sound.barn import SOURCES, barn_noise
from assistant.sound.endpoint import Endpoint
from assistant.sound.level import DEAD, FAINT, TOO_QUIET, Meter
from assistant.sound.recording import blocks
from assistant.values import Sound

DEMO = Path(__file__).parent.parent / "demo_audio"
RATE_HZ, BLOCK = 16000, 512


@cache
def spoken(name: str = "session") -> np.ndarray:
    """The first 40 seconds of the demonstration."""
    pieces = []
    for block in blocks(DEMO / f"{name}.flac", RATE_HZ, 1.0):
        pieces.append(block.samples)
        if len(pieces) == 40:
            break
    return np.concatenate(pieces)


def faintly(samples: np.ndarray, by_db: float, hiss_db: float | None = None, seed: int = 1) -> np.ndarray:
    """As a microphone gives it that is turned down, in steps of 16 bits, with a hiss of its own."""
    down = samples * 10 ** (by_db / 20)
    if hiss_db is not None:
        down = down + hiss(hiss_db, len(samples) / RATE_HZ, seed)
    return (np.round(down * 32768) / 32768).astype(np.float32)


def hiss(level_db: float, seconds: float, seed: int = 1) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(size=round(seconds * RATE_HZ))
    return (noise * 10 ** (level_db / 20)).astype(np.float32)


def cut(samples: np.ndarray) -> list[Sound]:
    return [Sound(samples[at : at + BLOCK], RATE_HZ, at / RATE_HZ) for at in range(0, len(samples) - BLOCK + 1, BLOCK)]


def notes(samples: np.ndarray, meter: Meter | None = None) -> list[str]:
    """What the meter says of a stream that the endpoint cuts, each change once."""
    meter, endpoint, noted = meter or Meter(), Endpoint(), [""]
    for block in cut(samples):
        endpoint.push(block)
        level = meter.push(block, is_speech=endpoint.is_open)
        if level is not None and level.note != noted[-1]:
            noted.append(level.note)
    return noted[1:]


@pytest.mark.parametrize(
    ("name", "by_db", "hiss_db"),
    [
        ("session", -40, -75),
        ("session", -45, None),
        ("session", -45, -80),
        ("session", -50, -85),
        ("session_noisy", -40, None),
        ("session_noisy", -40, -85),
        ("session_noisy", -45, None),
    ],
)
def test_speech_of_which_no_remark_is_found_is_told(name, by_db, hiss_db) -> None:
    assert notes(faintly(spoken(name), by_db, hiss_db)) == [FAINT]


def test_speech_that_is_only_quiet_is_told_as_ever() -> None:
    assert FAINT not in (told := notes(faintly(spoken(), -30, -85)))
    assert TOO_QUIET in told


@pytest.mark.parametrize("by_db", [-55, -60])
def test_speech_on_the_least_steps_of_the_scale_is_told_in_one_way_or_the_other(by_db) -> None:
    assert set(notes(faintly(spoken(), by_db))) & {FAINT, DEAD}


@pytest.mark.parametrize("by_db", [0, -35, -50, -60])
@pytest.mark.parametrize("only", [None, *SOURCES])
def test_a_barn_without_a_voice_is_let_alone(only, by_db) -> None:
    """Clatter, animals, wind and clippers, together and each alone, at every distance."""
    noise = barn_noise(60, np.random.default_rng(8), RATE_HZ, {only: 0.0} if only else None)
    meter = Meter()
    told = {
        level.note for block in cut(faintly(noise.samples, by_db, -80)) if (level := meter.push(block, is_speech=False))
    }
    assert told == {""}


@pytest.mark.parametrize("level_db", [-30, -50, -65, -75, -80])
def test_a_silent_barn_and_constant_noise_are_let_alone(level_db) -> None:
    assert notes(hiss(level_db, 60)) == []


def test_a_fan_that_goes_on_and_off_is_let_alone() -> None:
    turning = 1 + 0.5 * np.sin(2 * np.pi * 3 * np.arange(RATE_HZ * 60) / RATE_HZ)
    is_on = (np.arange(RATE_HZ * 60) // (RATE_HZ * 2)) % 2
    assert notes((hiss(-80, 60) + is_on * turning * hiss(-60, 60, seed=2)).astype(np.float32)) == []


@pytest.mark.parametrize("level_db", [-85, -88])
def test_a_microphone_that_is_turned_right_down_gives_only_its_own_noise(level_db) -> None:
    assert notes(hiss(level_db, 40)) == [DEAD]
    assert notes(np.concatenate([hiss(level_db, 40), hiss(-70, 2)])) == [DEAD, ""]


def test_a_still_barn_with_somebody_in_it_is_no_dead_line() -> None:
    steps = hiss(-86, 60)
    for at_s in range(5, 60, 10):
        steps[at_s * RATE_HZ : at_s * RATE_HZ + 4000] += hiss(-72, 0.25)
    assert notes(steps) == []


def test_what_is_faint_after_a_good_remark_is_somebody_else() -> None:
    """As a radio two sheds on, while the keeper says nothing for a while."""
    good = spoken()[: 10 * RATE_HZ]
    radio = faintly(np.tile(spoken(), 2), -45, -80)
    assert notes(np.concatenate([good, radio])) == []


def test_a_microphone_that_is_turned_down_later_is_told_after_a_while(monkeypatch) -> None:
    monkeypatch.setattr(faint, "AFTER_REMARK_S", 20.0)
    assert notes(np.concatenate([spoken()[: 10 * RATE_HZ], faintly(np.tile(spoken(), 2), -45, -80)])) == [FAINT]


def test_a_good_remark_takes_the_warning_away() -> None:
    assert notes(np.concatenate([faintly(spoken(), -45, -80), spoken()[: 10 * RATE_HZ]])) == [FAINT, ""]


def test_the_voice_of_the_assistant_in_a_headset_is_not_the_keepers() -> None:
    meter = Meter()
    levels = [meter.push(block, is_speech=False, may_be_own=True) for block in cut(faintly(spoken(), -45, -80))]
    assert {level.note for level in levels if level} == {""}


class Faintly(ScriptedSource):
    """Blocks of a recording, then the script of the stage."""

    def __init__(self, samples: np.ndarray) -> None:
        super().__init__()
        self._blocks = iter(cut(samples))

    def next(self, timeout_s: float) -> Sound | None:
        block = next(self._blocks, None)
        if block is None:
            return super().next(timeout_s)
        self.position_s = block.end_s
        return block


def test_the_keeper_is_told_once_aloud_and_on_the_screen(tmp_path) -> None:
    stage = LiveStage(tmp_path / "live")
    stage.source = stage.session_parts.source = Faintly(faintly(np.tile(spoken(), 2), -45, -80))
    stage.session_parts.endpoint = stage.loop._endpoint = Endpoint()
    stage.run()
    assert [reply.text for reply in stage.mouth.said].count(FAINT) == 1
    shown = [what.level.note for what in stage.happened if isinstance(what, Levelled)]
    assert shown[0] == ""
    assert shown[-1] == FAINT
