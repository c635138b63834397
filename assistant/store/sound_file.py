"""Sounds of remarks as FLAC files beside the store: whole and synced before their name appears.

Each file says in its comment which remark, session and moment it belongs to, so that a sound whose record was never
written (the program was killed in between, the store was full) is taken in when the store is next opened.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import soundfile as sf

from assistant.errors import BadAudio
from assistant.values import Sound

if sys.platform != "win32":
    import fcntl

PART = ".part"
"""Ending of a file that is being written."""

LONGEST_S = 600.0
"""No remark is so long; a header that claims more would have the memory filled before a sample is read."""


def folder_of(store: Path) -> Path:
    """The folder of sounds that belongs to a store file."""
    return store.with_name(f"{store.stem}_sound")


def is_name(file: str, remark: str) -> bool:
    """Whether a file is called as the sound of a remark is. A store from elsewhere may name any other on the disk."""
    return file == f"{remark}.flac" and Path(file).name == file and "\\" not in file


def sha256(content: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def encoded(sound: Sound, note: Mapping[str, str | float]) -> bytes:
    """A sound as 16-bit FLAC with a note in its comment; samples outside [-1, 1] are clipped.

    Raises:
        BadAudio: no samples, samples that are not finite, or a rate that FLAC cannot hold.
    """
    if not len(sound.samples):
        raise BadAudio("There is no sound in this remark. Say it again.")
    if not np.isfinite(sound.samples).all():
        raise BadAudio("The sound of this remark has samples that are not numbers. Check the microphone's driver.")
    buffer = io.BytesIO()
    try:
        with sf.SoundFile(buffer, "w", sound.rate_hz, 1, subtype="PCM_16", format="FLAC") as file:
            file.comment = json.dumps(dict(note))
            file.write(np.clip(sound.samples, -1.0, 1.0))
    except (sf.LibsndfileError, ValueError, OverflowError) as error:
        raise BadAudio(f"A sound with {sound.rate_hz} samples a second cannot be kept as FLAC.") from error
    return buffer.getvalue()


def decoded(content: bytes) -> tuple[Sound, str]:
    """Sound and note of a FLAC file.

    Raises:
        BadAudio: the bytes are not a whole FLAC file.
    """
    try:
        with sf.SoundFile(io.BytesIO(content)) as file:
            if file.frames > LONGEST_S * file.samplerate:
                raise BadAudio("The sound claims to be longer than any remark.")
            samples = file.read(dtype="float32", always_2d=True)[:, 0]
            if len(samples) != file.frames or not len(samples):
                raise BadAudio("The sound breaks off.")
            return Sound(samples, file.samplerate), file.comment
    except (sf.LibsndfileError, TypeError) as error:
        raise BadAudio("The file is not a whole FLAC file.") from error


def note_of(comment: str) -> dict[str, str | float] | None:
    """The note that `encoded` put into a file, or None if it is from elsewhere."""
    try:
        note = json.loads(comment)
    except ValueError:
        return None
    shape = {"remark": str, "session": str, "time": str, "by": str, "start_s": float, "end_s": float}
    is_note = isinstance(note, dict) and all(isinstance(note.get(key), kind) for key, kind in shape.items())
    return note if is_note else None


def write(folder: Path, name: str, content: bytes) -> None:
    """Writes a file that only its owner may read. When it returns, content and name are on the disk.

    Raises:
        OSError: no room, or the folder may not be written to; nothing is left behind.
    """
    part = folder / f".{name}{PART}"
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        with os.fdopen(os.open(part, flags, 0o600), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(folder / name)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    sync_folder(folder)


def sync_folder(folder: Path) -> None:
    """Syncs the names in a folder; Windows cannot open a folder and needs no such step."""
    if sys.platform != "win32":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


@contextmanager
def held(folder: Path, *, alone: bool) -> Iterator[bool]:
    """Holds the folder while sounds are added (shared) or tidied (`alone`); gives whether it is held.

    A tidier does not wait, it finds the folder in use; a dead program holds nothing. Without locks on folders
    (Windows) nobody is ever alone.
    """
    if sys.platform == "win32":
        yield not alone
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB if alone else fcntl.LOCK_SH)
        except BlockingIOError:
            yield False
        else:
            yield True
    finally:
        os.close(descriptor)
