"""Whether everything is well: each part in each state, on a machine that the test makes up, with the real listeners."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from assistant import settings
from assistant.checking.checked_part import Health
from assistant.checking.holding_check import newest_moment
from assistant.checking.self_check import KNOWN_WORDS, PARTS, Machine, SelfCheck
from assistant.cli import check
from assistant.cli.main import ExitStatus, run
from assistant.errors import BadDevice, LibraryMissing
from assistant.sound.recording import blocks
from assistant.store.store import Store
from assistant.values import SessionInfo, Sound

DEMO = Path(__file__).parent.parent / "demo_audio"
NOW = datetime(2027, 4, 2, 9, 0).astimezone()


@dataclass
class Microphone:
    """Gives blocks of one level; none if the level is None."""

    level: float | None
    is_over: bool = False
    closed: list[bool] = field(default_factory=list)

    def next(self, timeout_s: float) -> Sound | None:
        if self.level is None:
            self.is_over = True
            return None
        return Sound(np.full(1600, self.level, np.float32), 16000)

    def close(self) -> None:
        self.closed.append(True)


class Voice:
    rate_hz = 24000

    def speak(self, text: str, rate: float = 1.0):
        yield np.zeros(100, np.float32)


MACHINE = Machine(lambda wanted: Microphone(-0.25), Voice, lambda: NOW, lambda folder: 50e9)


def no_microphone(wanted: str):
    raise BadDevice("There is no microphone.")


def no_voice():
    raise LibraryMissing("There is no voice: replies are tones.")


@pytest.fixture
def store(tmp_path: Path) -> Path:
    path = tmp_path / "own" / "herd.db"
    assert run(["--store", str(path), "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
    return path


def found(store: Path, part: str, machine: Machine = MACHINE, listeners: tuple[str, ...] = ()):
    """The last finding of a part."""
    return [*SelfCheck(settings.places(store), machine, listeners).parts((part,))][-1]


@pytest.mark.parametrize(
    ("machine", "part", "health", "text"),
    [
        (MACHINE, "microphone", Health.GOOD, "peak -12 dB"),
        (replace(MACHINE, microphone=lambda wanted: Microphone(0.0)), "microphone", Health.FAULT, "silence"),
        (replace(MACHINE, microphone=lambda wanted: Microphone(None)), "microphone", Health.FAULT, "no sound"),
        (replace(MACHINE, microphone=lambda wanted: Microphone(1.0)), "microphone", Health.LESS, "too hard"),
        (replace(MACHINE, microphone=lambda wanted: Microphone(3e-5)), "microphone", Health.LESS, "its own noise"),
        (replace(MACHINE, microphone=lambda wanted: Microphone(3e-4)), "microphone", Health.GOOD, "peak -70 dB"),
        (replace(MACHINE, microphone=no_microphone), "microphone", Health.FAULT, "no microphone"),
        (MACHINE, "voice", Health.GOOD, "speaks"),
        (replace(MACHINE, voice=no_voice), "voice", Health.LESS, "tones"),
        (MACHINE, "disk", Health.GOOD, "714 hours"),
        (replace(MACHINE, free_bytes=lambda folder: 0.7e9), "disk", Health.LESS, "10 hours"),
        (replace(MACHINE, free_bytes=lambda folder: 7e6), "disk", Health.FAULT, "0 hours"),
        (MACHINE, "clock", Health.GOOD, "2027-04-02"),
        (replace(MACHINE, now=lambda: datetime(2000, 1, 1).astimezone()), "clock", Health.FAULT, "before this program"),
    ],
)
def test_a_part_of_the_machine(tmp_path, machine, part, health, text) -> None:
    one = found(tmp_path / "herd.db", part, machine)
    assert (one.health, text in one.text) == (health, True), one
    assert one.health is Health.GOOD or one.to_do or one.text.endswith(".")


def test_the_microphone_is_let_go(tmp_path) -> None:
    microphone = Microphone(0.1)
    found(tmp_path / "herd.db", "microphone", replace(MACHINE, microphone=lambda wanted: microphone))
    assert microphone.closed


@pytest.mark.parametrize(("by_db", "health", "text"), [(0, Health.GOOD, "sound comes"), (-45, Health.LESS, "faintly")])
def test_speech_that_is_too_faint_is_told_if_somebody_speaks(tmp_path, by_db, health, text) -> None:
    from_s = 13
    spoken = [block for block in blocks(DEMO / "session.flac", 16000, 0.1) if block.start_s >= from_s]
    faint = iter([replace(block, samples=block.samples * np.float32(10 ** (by_db / 20))) for block in spoken])
    microphone = Microphone(0.0)
    microphone.next = lambda timeout_s: next(faint)
    one = found(tmp_path / "herd.db", "microphone", replace(MACHINE, microphone=lambda wanted: microphone))
    assert (one.health, text in one.text) == (health, True), one


def test_the_microphone_of_the_settings_is_asked_for(tmp_path) -> None:
    asked: list[str] = []
    (tmp_path / "settings.toml").write_text('[sound]\nmicrophone = "collar"\n')
    found(
        tmp_path / "herd.db",
        "microphone",
        replace(MACHINE, microphone=lambda wanted: asked.append(wanted) or Microphone(0.1)),
    )
    assert asked == ["collar"]


def test_a_new_holding_lacks_only_its_animals(tmp_path) -> None:
    assert found(tmp_path / "herd.db", "store").health is Health.GOOD
    animals = found(tmp_path / "herd.db", "register")
    assert animals.health is Health.FAULT
    assert "assistant register import" in animals.to_do
    assert not (tmp_path / "herd.db").exists()


def damage(store: Path) -> None:
    with sqlite3.connect(store) as db:
        (name,) = db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchone()
        db.execute(f"DROP TRIGGER {name}")


def overwrite(store: Path) -> None:
    store.write_bytes(b"not a store at all, but as long as one" * 100)


def spoil_settings(store: Path) -> None:
    (store.parent / "settings.toml").write_text("policy = 3")


def spoil_grammar(store: Path) -> None:
    (store.parent / "grammars").mkdir()
    (store.parent / "grammars" / "own.jsgf").write_text("#JSGF V1.0;\ngrammar own;\npublic <a> = (;\n")


def open_to_all(store: Path) -> None:
    store.chmod(0o644)


@pytest.mark.parametrize(
    ("harm", "part", "health", "text"),
    [
        (damage, "store", Health.FAULT, "trigger"),
        (overwrite, "store", Health.FAULT, "herd.db"),
        (spoil_settings, "settings", Health.FAULT, "policy"),
        (spoil_grammar, "listeners", Health.FAULT, "own.jsgf"),
        pytest.param(
            open_to_all,
            "store",
            Health.LESS,
            "may read",
            marks=pytest.mark.skipif(os.name == "nt", reason="rights are kept elsewhere"),
        ),
    ],
)
def test_a_harmed_file_is_named_and_left_as_it_is(store, harm: Callable[[Path], None], part, health, text) -> None:
    assert found(store, "store").health is Health.GOOD
    harm(store)
    before = store.read_bytes()
    one = found(store, part, listeners=("pocketsphinx",))
    assert (one.health, text in one.text) == (health, True), one
    assert store.read_bytes() == before


def test_a_clock_that_fell_behind_the_records_is_wrong(store) -> None:
    later = NOW + timedelta(hours=1)
    with Store.open(store) as held:
        held.begin(SessionInfo("s1", later, planned=()))
    assert newest_moment(store) == later
    one = found(store, "clock")
    assert one.health is Health.FAULT
    assert "newest record" in one.text
    assert found(store, "clock", replace(MACHINE, now=lambda: later)).health is Health.GOOD


@pytest.mark.parametrize("is_known", [True, False])
def test_a_listener_hears_what_it_should_know_or_is_at_fault(store, is_known) -> None:
    checked = SelfCheck(settings.places(store), MACHINE, ("pocketsphinx", "nobody"))
    if not is_known:
        hiss = np.random.default_rng(1).normal(0, 0.01, 24000).astype(np.float32)
        checked.__dict__["_known_sound"] = Sound(hiss, 16000)
    by_part = {one.part: one for one in checked.parts(("listeners",))}
    assert by_part["pocketsphinx"].health is (Health.GOOD if is_known else Health.FAULT)
    assert is_known or KNOWN_WORDS in by_part["pocketsphinx"].text
    assert by_part["nobody"].health is Health.LESS
    assert by_part["listeners"].health is (Health.LESS if is_known else Health.FAULT)


def test_the_command_knows_every_part() -> None:
    assert check.PARTS == PARTS


def test_the_command_says_one_line_a_part_and_fails_with_a_part(tmp_path, capsys) -> None:
    words = ["--store", str(tmp_path / "herd.db"), "check", *PARTS[:5]]
    assert run(words) == ExitStatus.FAILED
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("✓ settings")
    assert any(line.startswith("✗ register") and "assistant register import" in line for line in lines)
    assert run([*words, "--json"]) == ExitStatus.FAILED
    flats = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [flat["part"] for flat in flats] == [*PARTS[:5]]
    assert all(set(flat) == {"part", "health", "text", "to_do"} for flat in flats)
