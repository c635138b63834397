"""A session gone through again: in order, from any animal, with the sound if there is one, in words always."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import numpy as np
import pytest

from assistant.cli import replay
from assistant.cli.main import ExitStatus, run
from assistant.records.look_back import events_of, session_summary
from assistant.records.replaying import moments, of_animal
from assistant.report.spoken import spoken
from assistant.values import Sound
from tests.live_stage import Stage
from tests.records_stage import filled


@pytest.fixture
def stage(tmp_path) -> Iterator[Stage]:
    made = filled(tmp_path / "herd")
    yield made
    made.store.close()


@pytest.fixture
def played(monkeypatch) -> list[float]:
    """Lengths of the sounds that were played; the voice says one second."""
    lengths: list[float] = []

    def play(sound: Sound) -> str:
        lengths.append(sound.length_s)
        return ""

    monkeypatch.setattr(replay, "_player", lambda: play)
    monkeypatch.setattr(replay, "_say", lambda text, play: play(Sound(np.zeros(16000, np.float32), 16000)))
    return lengths


def test_every_remark_comes_once_with_what_it_led_to(stage) -> None:
    found = list(moments(events_of(stage.store, "s3")))
    assert [one.remark.words for one in found] == [one.words for one in stage.store.remarks("s3")]
    by_words = {one.remark.words: one for one in found}
    abscess = by_words["left hind outer claw bad abscess, drained, sprayed"]
    assert (abscess.animal, len(abscess.entries)) == ("a1", 3)
    assert [entry.state for entry in by_words["scratch that"].entries] == ["withdrawn"]
    assert sum(len(one.entries) for one in found) == len(stage.store.entries("s3", live_only=False))


def test_it_may_begin_at_any_animal(stage) -> None:
    found = list(of_animal(moments(events_of(stage.store, "s3")), "a2"))
    assert found[0].remark.words == "sorrel"
    assert list(of_animal(moments(events_of(stage.store, "s3")), "a9")) == []


def test_the_command_prints_and_plays(stage, capsys, played) -> None:
    assert run(["--store", str(stage.store.path), "replay"]) == ExitStatus.OK
    out = capsys.readouterr().out
    assert "Tansy: left hind: severe abscess (outer claw)" in out
    assert "taken back, condition 2.5" in out
    assert played == pytest.approx([2.0, 2.0, 1.0])


def test_without_sound_nothing_is_played(stage, capsys, monkeypatch) -> None:
    monkeypatch.setattr(replay, "_player", lambda: pytest.fail("a player was made"))
    words = ["--store", str(stage.store.path), "replay", "s3", "--from", "411", "--no-sound"]
    assert run(words) == ExitStatus.OK
    assert "“tansy”" not in capsys.readouterr().out


def test_a_sound_that_is_gone_and_a_loudspeaker_that_is_missing_stop_nothing(stage, capsys, monkeypatch) -> None:
    (stage.store.sounds / f"{stage.store.with_sound('s3')[0]}.flac").unlink()
    monkeypatch.setattr(replay, "_player", lambda: lambda _: "There is no loudspeaker.")
    monkeypatch.setattr(replay, "_say", lambda text, play: None)
    assert run(["--store", str(stage.store.path), "replay"]) == ExitStatus.OK
    told = capsys.readouterr()
    assert "no sound:" in told.out
    assert told.err.count("There is no loudspeaker.") == 1
    assert "left fore crack" in told.out


def test_an_animal_that_nobody_knows_is_one_sentence(stage, capsys) -> None:
    assert run(["--store", str(stage.store.path), "replay", "--from", "Nettle"]) == ExitStatus.FAILED
    assert "No animal is called 'Nettle'" in capsys.readouterr().err


def test_the_summary_is_fit_to_be_said(stage) -> None:
    said = spoken(session_summary(stage.store, "s3"), date(2026, 9, 15))
    assert said.startswith("1 done, 1 skipped, 1 left. Left: Yarrow.")
    assert "Tansy: re-check, on the twenty-ninth." in said
    assert "Sorrel: vet, no day set." in said
