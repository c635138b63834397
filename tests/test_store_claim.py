"""A session that a program is recording is left to it; one whose program was killed is not."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pytest
from live_stage import Stage, farm
from test_store_kill import in_other_process

from assistant.errors import BadStore
from assistant.live import recorded
from assistant.store.claim import Claims, claims, folder_of
from assistant.values import FindingPart


@pytest.fixture
def store(tmp_path: Path) -> Path:
    return tmp_path / "herd.db"


def test_a_session_has_one_program(store) -> None:
    one, other = Claims(store), Claims(store)
    assert one.claim("s1")
    assert one.claim("s1"), "again by the same"
    assert not other.claim("s1")
    assert other.claim("s2")
    one.release()
    assert other.claim("s1")
    other.release()
    assert list(folder_of(store).iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
def test_a_killed_program_has_none(store) -> None:
    def deed(tell) -> None:
        held = Claims(store)
        held.claim("s2")
        tell("claimed")
        signal.pause()

    child, reading = in_other_process(deed)
    assert os.read(reading, 100) == b"claimed\n"
    with claims(store) as own:
        assert not own.claim("s2")
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with claims(store) as own:
        assert own.claim("s2")


def test_any_id_may_be_claimed(store) -> None:
    with claims(store) as own:
        assert own.claim("../../s 1/\u00e9")
    assert [path.name for path in store.parent.iterdir()] == [folder_of(store).name]


def test_a_folder_that_is_none_is_told(store) -> None:
    folder_of(store).write_text("in the way")
    with pytest.raises(BadStore, match="herd_going"):
        Claims(store).claim("s1")


def test_what_another_program_is_understanding_is_not_finished_for_it(tmp_path) -> None:
    """A second program starts while the first has a remark on the disk and in its listeners."""
    stage = Stage(tmp_path / "farm")
    stage.hear("tansy")
    key = stage.handling.keep(sound := stage.sound(["left hind crack"]), stage.now)
    with claims(stage.store.path) as first:
        first.claim("s1")
        assert recorded.finish_pending(stage.store, farm(), stage.judge) == 0
        stage.handling.take(key, sound, stage.now, stage.judge(sound))
    assert stage.recorded("a1") == [FindingPart("left hind", "crack")]
    stage.handling.keep(stage.sound(["right hind crack"]), stage.now)
    assert recorded.finish_pending(stage.store, farm(), stage.judge) == 1
