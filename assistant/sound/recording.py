"""Sound files, read in blocks as mono at one rate.

Anything that libsndfile can decode is taken: WAV, FLAC, MP3, Ogg and more, any sample rate, width and number of
channels. Channels are averaged; the rate is changed by soxr as a stream, so an hour of sound needs no more memory than
a second of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile as sf
import soxr
from numpy.typing import NDArray

from assistant.errors import BadAudio
from assistant.values import Sound

LOWEST_RATE_HZ = 4000
"""Below this there is nothing of speech left to recognise."""

HIGHEST_RATE_HZ = 768_000
"""No recorder writes more; a header that claims it is damaged, and the filter for it would fill the memory."""

MOST_AT_ONCE = 1 << 22
"""Samples of all channels that are read at a time, whatever the header says of rate and channels."""


def blocks(path: Path, rate_hz: int = 16000, block_s: float = 0.5) -> Iterator[Sound]:
    """Reads a sound file piece by piece.

    Args:
        path: the file.
        rate_hz: sample rate of what is yielded.
        block_s: about how much to read at a time, in seconds.

    Yields:
        Mono blocks that follow each other without gap, `start_s` counted from the beginning of the file.

    Raises:
        BadAudio: the file cannot be read, is not sound, holds no samples or samples that are not finite, or breaks off;
            in the last two cases everything before the damage has been yielded.
    """
    path = Path(path)
    done = 0
    with _opened(path) as file:
        resample = _resampler(file.samplerate, rate_hz)
        size = min(round(block_s * file.samplerate), MOST_AT_ONCE // file.channels)
        for mono, is_last in _mono_blocks(path, file, max(1, size)):
            samples = resample(mono, is_last)
            if len(samples):
                yield Sound(samples, rate_hz, done / rate_hz)
                done += len(samples)
        if file.tell() == 0:
            raise BadAudio(f"{path} is a sound file without any sound in it. Record again, or leave it out.")
        if _breaks_off(file):
            raise BadAudio(
                f"{path} breaks off after {file.tell() / file.samplerate:.1f} s of "
                f"{file.frames / file.samplerate:.1f} s. Copy it again from where it was recorded."
            )


def read(path: Path, rate_hz: int = 16000, limit_s: float = 600.0) -> Sound:
    """Reads a short sound file as a whole.

    Args:
        path: the file.
        rate_hz: sample rate of the result.
        limit_s: longest sound that is taken, in seconds; longer ones are for `blocks`.

    Raises:
        BadAudio: as for `blocks`, or longer than `limit_s`.
    """
    pieces: list[NDArray[np.float32]] = []
    for block in blocks(path, rate_hz):
        if block.end_s > limit_s:
            raise BadAudio(f"{path} is longer than {limit_s:g} s. Cut it, or process it as a session recording.")
        pieces.append(block.samples)
    if not pieces:
        raise BadAudio(f"{path} is too short to hold any speech. Record again, or leave it out.")
    return Sound(np.concatenate(pieces), rate_hz)


def _opened(path: Path) -> sf.SoundFile:
    try:
        with path.open("rb") as file:
            is_empty = not file.read(1)
    except FileNotFoundError as error:
        raise BadAudio(f"There is no file {path}. Check the name.") from error
    except IsADirectoryError as error:
        raise BadAudio(f"{path} is a folder. Name a sound file in it.") from error
    except PermissionError as error:
        what = "is a folder" if path.is_dir() else "may not be read by this user"
        raise BadAudio(f"{path} {what}. Check its permissions, or copy it.") from error
    except OSError as error:
        raise BadAudio(f"{path} cannot be read: {error.strerror or error}.") from error
    except ValueError as error:
        raise BadAudio(f"{str(path)!r} cannot be the name of a file. Check the name.") from error
    if is_empty:
        raise BadAudio(f"{path} is an empty file. Copy it again from where it was recorded.")
    try:
        file = sf.SoundFile(str(path))
    except (sf.LibsndfileError, TypeError) as error:  # TypeError: headerless samples, known by the ending ".raw" only
        raise BadAudio(f"{path} is not a sound file that can be read. Use WAV, FLAC, MP3 or Ogg.") from error
    if not LOWEST_RATE_HZ <= file.samplerate <= HIGHEST_RATE_HZ:
        file.close()
        allowed = f"from {LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ}"
        raise BadAudio(f"{path} has {file.samplerate} samples a second, speech has {allowed}. Record it again.")
    return file


def _mono_blocks(path: Path, file: sf.SoundFile, size: int) -> Iterator[tuple[NDArray[np.float32], bool]]:
    """Pairs of a mono block and whether it is the last one."""
    is_last = False
    while not is_last:
        start = file.tell()
        try:
            samples = file.read(size, dtype="float32", always_2d=True)
        except sf.LibsndfileError:  # a damaged frame: what came before it stands, and the caller sees the shortfall
            samples = np.zeros((0, file.channels), np.float32)
        is_last = len(samples) < size
        mono = samples.mean(axis=1, dtype=np.float32)
        if not np.isfinite(mono).all():
            bad_s = (start + int(np.argmin(np.isfinite(mono)))) / file.samplerate
            raise BadAudio(f"{path} has samples that are not numbers, the first at {bad_s:.2f} s. Export it again.")
        yield mono, is_last


def _breaks_off(file: sf.SoundFile) -> bool:
    """Whether fewer samples came than the header promises; compressed formats only guess their length."""
    return bool(file.format == "FLAC" and file.tell() < file.frames < 2**62)


class _Unchanged:
    """Stands in for a resampler where the rate is right already."""

    def __call__(self, samples: NDArray[np.float32], is_last: bool) -> NDArray[np.float32]:
        return samples


class _Resampler:
    def __init__(self, from_hz: int, to_hz: int) -> None:
        self._stream = soxr.ResampleStream(from_hz, to_hz, 1, dtype="float32")

    def __call__(self, samples: NDArray[np.float32], is_last: bool) -> NDArray[np.float32]:
        return np.asarray(self._stream.resample_chunk(samples, last=is_last), dtype=np.float32)


def _resampler(from_hz: int, to_hz: int) -> _Unchanged | _Resampler:
    return _Unchanged() if from_hz == to_hz else _Resampler(from_hz, to_hz)
