"""Sound files of every kind and state: what is read, what is refused and in which words."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import BadAudio
from assistant.sound.recording import blocks, read
from assistant.values import Sound


def tone(rate_hz: int, length_s: float = 1.0, pitch_hz: float = 440.0) -> np.ndarray:
    return (0.3 * np.sin(2 * np.pi * pitch_hz * np.arange(round(rate_hz * length_s)) / rate_hz)).astype(np.float32)


def pitch_hz(sound: Sound) -> float:
    spectrum = np.abs(np.fft.rfft(sound.samples * np.hanning(len(sound.samples))))
    return float(np.argmax(spectrum)) * sound.rate_hz / len(sound.samples)


@pytest.mark.parametrize(
    ("name", "rate_hz", "channels", "subtype"),
    [
        ("a.wav", 16000, 1, "PCM_16"),
        ("a.wav", 8000, 1, "PCM_U8"),
        ("a.wav", 96000, 2, "PCM_24"),
        ("a.wav", 44100, 7, "FLOAT"),
        ("a.wav", 11025, 1, "ULAW"),
        ("a.flac", 48000, 2, "PCM_16"),
        ("a.flac", 22050, 1, "PCM_24"),
        ("a.mp3", 44100, 2, None),
        ("a.ogg", 48000, 1, "VORBIS"),
        ("a.opus.ogg", 48000, 1, "OPUS"),
        ("a.aiff", 32000, 1, "PCM_16"),
    ],
)
def test_every_kind_is_read_at_16_khz_mono(
    tmp_path: Path, name: str, rate_hz: int, channels: int, subtype: str | None
) -> None:
    path = tmp_path / name
    sf.write(path, np.repeat(tone(rate_hz)[:, None], channels, axis=1), rate_hz, subtype=subtype)
    sound = read(path)
    assert sound.rate_hz == 16000
    assert sound.samples.dtype == np.float32
    assert sound.length_s == pytest.approx(1.0, abs=0.11)  # MP3 pads to whole frames
    assert pitch_hz(sound) == pytest.approx(440.0, abs=2.0)
    assert np.abs(sound.samples[4000:12000]).max() == pytest.approx(0.3, abs=0.06)  # MP3 is not exact


@settings(max_examples=15, deadline=None)
@given(block_s=st.floats(0.01, 0.7), rate_hz=st.sampled_from([8000, 16000, 44100]))
def test_block_size_does_not_change_the_sound(
    tmp_path_factory: pytest.TempPathFactory, block_s: float, rate_hz: int
) -> None:
    path = tmp_path_factory.mktemp("sound") / "a.wav"
    sf.write(path, tone(rate_hz, 1.3), rate_hz)
    whole = read(path).samples
    pieces = list(blocks(path, block_s=block_s))
    assert np.allclose(np.concatenate([piece.samples for piece in pieces]), whole, atol=1e-6)
    ends = np.cumsum([0, *(len(piece.samples) for piece in pieces)]) / 16000
    assert [piece.start_s for piece in pieces] == pytest.approx(list(ends[:-1]))


def test_a_long_file_is_not_held_in_memory(tmp_path: Path) -> None:
    path = tmp_path / "long.flac"
    with sf.SoundFile(path, "w", 16000, 1) as file:
        for _ in range(600):
            file.write(np.zeros(16000, np.int16))
    tracemalloc.start()
    length_s = sum(block.length_s for block in blocks(path))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert length_s == 600
    assert peak < 2_000_000  # all of it would be 38 MB


def _text(path: Path) -> None:
    path.write_text("four one seven, left hind, hollow wall\n" * 50)


def _nothing(path: Path) -> None:
    path.write_bytes(b"")


def _no_samples(path: Path) -> None:
    sf.write(path, np.zeros(0, np.float32), 16000, format="WAV")


def _not_a_number(path: Path) -> None:
    samples = tone(16000)
    samples[8000] = np.nan
    sf.write(path, samples, 16000, format="WAV", subtype="FLOAT")


def _infinite(path: Path) -> None:
    samples = np.repeat(tone(16000)[:, None], 2, axis=1)
    samples[8000, 1] = np.inf
    sf.write(path, samples, 16000, format="WAV", subtype="FLOAT")


def _slow(path: Path) -> None:
    sf.write(path, tone(16000), 100, format="WAV")


def _folder(path: Path) -> None:
    path.mkdir()


def _missing(path: Path) -> None:
    pass


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (_text, "not a sound file"),
        (_nothing, "empty file"),
        (_no_samples, "without any sound"),
        (_not_a_number, "not numbers, the first at 0.50 s"),
        (_infinite, "not numbers, the first at 0.50 s"),
        (_slow, "100 samples a second"),
        (_folder, "is a folder"),
        (_missing, "There is no file"),
    ],
)
@pytest.mark.parametrize("name", ["a.wav", "a.raw", "grüße"])
def test_what_cannot_be_read_is_refused_in_one_sentence(tmp_path: Path, make, words: str, name: str) -> None:
    if make in (_no_samples, _not_a_number, _infinite, _slow) and name.endswith(".raw"):
        words = "not a sound file"
    path = tmp_path / name
    make(path)
    with pytest.raises(BadAudio, match=words) as caught:
        read(path)
    assert str(path) in str(caught.value)


@pytest.mark.parametrize("name", ["a\0b.flac", "\ud800.flac"])
def test_what_can_be_no_name_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadAudio, match="cannot be the name of a file"):
        read(tmp_path / name)


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.wav"
    sf.write(path, tone(16000), 16000)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # the tests may run as a user who may read everything
    with pytest.raises(BadAudio, match="may not be read by this user"):
        read(path)


@pytest.mark.parametrize("kept", [0.3, 0.6, 0.95])
def test_a_flac_that_breaks_off_gives_what_is_whole(tmp_path: Path, kept: float) -> None:
    rng = np.random.default_rng(1)
    samples = rng.normal(0, 0.1, 160000).astype(np.float32)
    whole = tmp_path / "whole.flac"
    sf.write(whole, samples, 16000)
    path = tmp_path / "a.flac"
    path.write_bytes(whole.read_bytes()[: int(whole.stat().st_size * kept)])
    got: list[np.ndarray] = []
    with pytest.raises(BadAudio, match=r"breaks off after \d+\.\d s of 10\.0 s"):
        got.extend(block.samples for block in blocks(path))
    heard = np.concatenate(got)
    assert len(heard) >= 160000 * kept - 16000
    assert np.allclose(heard, samples[: len(heard)], atol=1e-4)


def test_read_refuses_a_sound_over_its_limit(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    sf.write(path, tone(16000, 3.0), 16000)
    assert read(path, limit_s=3.0).length_s == 3.0
    with pytest.raises(BadAudio, match="longer than 2 s"):
        read(path, limit_s=2.0)
