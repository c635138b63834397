"""Sounds go after the keeper's time or at a person's wish: told first, on record, never what is still needed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from assistant.cli.main import ExitStatus, run
from assistant.errors import BadStore
from assistant.records.records_out import removable_sounds
from assistant.store import retention
from assistant.store.backup import restore
from assistant.store.store import Store
from tests.live_stage import Stage
from tests.records_stage import filled
from tests.store_stage import START, session_info, tone


@pytest.fixture
def stage(tmp_path) -> Iterator[Stage]:
    """Two remarks with sound of Rowan that are understood, one of Hazel that is not yet."""
    made = filled(tmp_path / "herd")
    made.store.keep_sound("s3", tone(), made.now, "Hazel")
    yield made
    made.store.close()


def n_files(stage: Stage) -> int:
    return len(list(stage.store.sounds.iterdir()))


def retain(stage: Stage, *words: str) -> int:
    return run(["--store", str(stage.store.path), "retain", *words])


def test_nothing_goes_without_the_word(stage, capsys) -> None:
    assert retain(stage, "--days", "0") == ExitStatus.OK
    assert "would be removed: 2 (" in capsys.readouterr().out
    assert n_files(stage) == 3


def test_days_that_no_calendar_has_are_refused(stage, capsys) -> None:
    assert retain(stage, "--days", "9" * 12) == ExitStatus.USAGE
    assert "0<=x<=36525" in capsys.readouterr().err


def test_sounds_go_after_their_time_but_not_those_that_are_needed(stage, capsys) -> None:
    understood = [one for one in stage.store.with_sound("s3") if one not in {p.remark for p in stage.store.pending()}]
    before = stage.store.entries()
    assert retain(stage, "--days", "0", "--remove") == ExitStatus.OK
    assert "removed: 2 (" in capsys.readouterr().out
    assert [one.by for one in stage.store.kept_sounds()] == ["Hazel"]
    assert n_files(stage) == 1
    assert stage.store.check() == ()
    assert stage.store.entries() == before
    with pytest.raises(BadStore, match="was removed on"):
        stage.store.sound(understood[0])
    stage.store.sound(stage.store.pending()[0].remark)


def test_the_settings_say_how_long(stage, capsys) -> None:
    assert retain(stage) == ExitStatus.OK
    assert "for ever" in capsys.readouterr().out
    file = stage.store.path.parent / "settings.toml"
    file.write_text("keep_sound_days = 0\n")
    assert retain(stage) == ExitStatus.OK
    assert "removed: 2 (" in capsys.readouterr().out
    file.write_text("keep_sound_days = -1\n")
    assert retain(stage) == ExitStatus.FAILED
    assert "keep_sound_days is -1" in capsys.readouterr().err


def test_young_sounds_stay(stage) -> None:
    assert removable_sounds(stage.store, stage.now - timedelta(days=1), None) == ()


def test_a_person_may_have_their_voice_taken_away(stage, capsys) -> None:
    assert retain(stage, "--by", "hazel", "--remove") == ExitStatus.OK
    assert "or waiting for a decision: 1." in capsys.readouterr().out
    assert {one.by for one in stage.store.kept_sounds()} == {"Rowan"}
    assert n_files(stage) == 2


def test_what_was_removed_stays_away_after_a_merge_and_goes_there_too(stage, tmp_path) -> None:
    other = tmp_path / "other" / "herd.db"
    other.parent.mkdir()
    stage.store.back_up(tmp_path / "backup", {})
    restore(tmp_path / "backup", other)
    assert retain(stage, "--by", "Hazel", "--remove") == ExitStatus.OK
    stage.store.merge(other)
    assert n_files(stage) == 2
    with Store.open(other) as theirs:
        theirs.merge(stage.store.path)
        assert len(list(theirs.sounds.iterdir())) == 2
        assert theirs.check() == ()


def test_a_program_that_is_killed_in_between_leaves_nothing_behind_for_good(stage, monkeypatch) -> None:
    """The removal is on record and the file still there: the check says so, and the next removal sweeps it away."""
    monkeypatch.setattr(retention, "sweep", lambda *_: 0)
    assert retain(stage, "--by", "Hazel", "--remove") == ExitStatus.OK
    monkeypatch.undo()
    assert len(stage.store.check()) == 1
    assert "still there" in stage.store.check()[0]
    assert retain(stage, "--by", "nobody", "--remove") == ExitStatus.OK
    assert stage.store.check() == ()


def test_a_store_that_is_only_read_removes_nothing(tmp_path: Path) -> None:
    with Store.open(tmp_path / "herd.db") as held:
        held.begin(session_info())
        held.keep_sound("s1", tone(), START)
    with Store.open(tmp_path / "herd.db", read_only=True) as held, pytest.raises(BadStore):
        held.remove_sounds(held.kept_sounds(), "", datetime.now().astimezone())
