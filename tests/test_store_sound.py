"""Sounds come first: whole on the disk before they are understood, found again, and seen when they change."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from store_stage import START, entry, made, session_info, tone

from assistant.errors import BadAudio, BadStore
from assistant.session.events import Said, flat_event
from assistant.store import sound_file
from assistant.store.store import Store
from assistant.values import Remark, Sound


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "herd.db") as opened:
        yield opened


def test_a_sound_is_kept_before_its_session_begins_and_ends_its_wait_with_its_events(store: Store) -> None:
    remark = store.keep_sound("s1", tone(0.2, start_s=4.5), START, "Rowan")
    (waiting,) = store.pending()
    assert (waiting.remark, waiting.session, waiting.time, waiting.by) == (remark, "s1", START, "Rowan")
    assert (waiting.start_s, waiting.end_s) == (4.5, 4.7)
    assert store.remarks("s1") == (Remark(remark, "s1", START, audio=waiting.file, start_s=4.5, end_s=4.7, by="Rowan"),)
    understood = Remark(remark, "s1", START, "left hind hollow wall")
    with pytest.raises(BadStore, match="not begun"):
        store.settle(understood, [made(entry("e1"))])
    assert len(store.pending()) == 1
    store.begin(session_info())
    with pytest.raises(BadStore, match="has 1 events, not 5"):
        store.settle(understood, [made(entry("e1"))], 5)
    assert len(store.pending()) == 1
    store.settle(understood, [made(entry("e1"))], 1)
    assert store.pending() == ()
    (told,) = store.remarks("s1")
    assert (told.words, told.audio) == ("left hind hollow wall", waiting.file)


def test_a_said_among_appended_events_ends_the_wait_too(store: Store) -> None:
    store.begin(session_info())
    first, second = (store.keep_sound("s1", tone(), START) for _ in range(2))
    kept = store.pending()
    store.append("s1", 1, [flat_event(Said(Remark(first, "s1", START)))])
    assert [sound.remark for sound in store.pending()] == [second]
    said = flat_event(Said(Remark(second, "s1", START, "tansy"), {"tansy": ("a1", "a7")}))
    store.settle(Remark(second, "s1", START, "tansy"), [said])
    (file,) = [sound.file for sound in kept if sound.remark == second]
    named = {**said, "remark": {**said["remark"], "audio": file}}
    assert [flat for flat in store.events("s1") if flat["type"] == "Said"][1:] == [named], "it is not said twice"


def test_a_remark_is_settled_in_its_own_session(store: Store) -> None:
    store.begin(session_info("s2"))
    remark = store.keep_sound("s1", tone(), START)
    with pytest.raises(BadStore, match="was said in session s1"):
        store.settle(Remark(remark, "s2", START))


@pytest.mark.parametrize("rate_hz", [8000, 16000, 44100, 48000])
def test_the_sound_comes_back_to_16_bits(store: Store, rate_hz: int) -> None:
    samples = np.random.default_rng(3).uniform(-1, 1, 2000).astype(np.float32)
    back = store.sound(store.keep_sound("s1", Sound(samples, rate_hz, 1.25), START))
    assert (back.rate_hz, back.start_s, str(back.samples.dtype)) == (rate_hz, 1.25, "float32")
    assert np.abs(back.samples - samples).max() <= 1 / 32768


def test_any_player_opens_the_file_and_reads_whose_it_is(store: Store) -> None:
    remark = store.keep_sound("s1", tone(), START, "Rowan")
    with sf.SoundFile(store.sounds / f"{remark}.flac") as file:
        assert (file.format, file.subtype, file.channels, file.frames) == ("FLAC", "PCM_16", 1, 3200)
        note = sound_file.note_of(file.comment)
    assert note is not None
    assert (note["remark"], note["session"], note["by"]) == (remark, "s1", "Rowan")


@pytest.mark.parametrize(
    ("sound", "said"),
    [
        (Sound(np.zeros(0, np.float32), 16000), "no sound"),
        (Sound(np.array([0, np.nan], np.float32), 16000), "not numbers"),
        (Sound(np.array([0, np.inf], np.float32), 16000), "not numbers"),
        (Sound(np.zeros(10, np.float32), 10**7), "samples a second"),
    ],
)
def test_what_is_no_sound_is_refused(store: Store, sound: Sound, said: str) -> None:
    with pytest.raises(BadAudio, match=said):
        store.keep_sound("s1", sound, START)
    assert store.pending() == ()


def test_loud_samples_are_clipped_not_wrapped(store: Store) -> None:
    back = store.sound(store.keep_sound("s1", Sound(np.array([-3, 3, 0.5], np.float32), 16000), START))
    assert back.samples.tolist() == pytest.approx([-1, 1, 0.5], abs=1e-4)


@pytest.mark.parametrize("fails", ["open", "fsync", "replace"])
def test_no_room_for_a_sound(store: Store, monkeypatch: pytest.MonkeyPatch, fails: str) -> None:
    """ENOSPC put in at the making, the sync or the naming of the file; nothing half is left, and it goes on after."""
    kept = store.keep_sound("s1", tone(), START)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patched:
        patched.setattr(os, fails, full)
        with pytest.raises(BadStore, match="no room left"):
            store.keep_sound("s1", tone(), START)
    assert [path.name for path in store.sounds.iterdir()] == [f"{kept}.flac"]
    assert store.check() == ()
    store.keep_sound("s1", tone(), START)
    assert len(store.pending()) == 2


def test_what_a_crash_left_is_taken_in_or_cleared_away(store: Store) -> None:
    """A whole sound without a record becomes pending; the beginning of one goes; anything else stays and is named."""
    first = store.keep_sound("s1", tone(), START)
    content = (store.sounds / f"{first}.flac").read_bytes()
    note = {"remark": "r-orphan", "session": "s4", "time": (START + timedelta(days=1)).isoformat(), "by": ""}
    orphan = sound_file.encoded(tone(0.3), {**note, "start_s": 1.0, "end_s": 1.3})
    (store.sounds / "r-orphan.flac").write_bytes(orphan)
    (store.sounds / ".r9.flac.part").write_bytes(content[:500])
    (store.sounds / "torn.flac").write_bytes(content[: len(content) // 2])
    (store.sounds / "copy.flac").write_bytes(content)
    (store.sounds / "read me.txt").write_text("hello")
    (store.sounds / "older").mkdir()
    assert len(store.check()) == 6
    store.close()
    for _ in range(2):
        with Store.open(store.path) as again:
            assert [(p.remark, p.session) for p in again.pending()] == [(first, "s1"), ("r-orphan", "s4")]
            assert again.sound("r-orphan").length_s == pytest.approx(0.3)
            names = [problem.split(" is ")[0] for problem in again.check()]
            assert names == ["copy.flac", "older", "read me.txt", "torn.flac"]


def test_nothing_is_cleared_away_while_another_program_keeps_a_sound(store: Store) -> None:
    """The lock that a keeper holds from the first byte to the record keeps a second program's tidying out."""
    store.keep_sound("s1", tone(), START)
    part = store.sounds / ".busy.flac.part"
    part.write_bytes(b"fLaC")
    with sound_file.held(store.sounds, alone=False):
        Store.open(store.path).close()
        assert part.exists()
    Store.open(store.path).close()
    assert not part.exists()


def test_a_sound_that_is_missing_or_changed_is_named(store: Store) -> None:
    lost, changed = (store.keep_sound("s1", tone(), START) for _ in range(2))
    (store.sounds / f"{lost}.flac").unlink()
    file = store.sounds / f"{changed}.flac"
    content = bytearray(file.read_bytes())
    content[-20] ^= 1
    file.write_bytes(content)
    problems = store.check()
    assert len(problems) == 2
    assert f"{lost}.flac" in problems[0]
    assert "cannot be read" in problems[0]
    assert f"{changed}.flac" in problems[1]
    assert "changed" in problems[1]
    for remark, said in ((lost, "cannot be used"), (changed, "changed after"), ("nobody", "no sound of remark")):
        with pytest.raises(BadStore, match=said):
            store.sound(remark)
