"""Who is to be handled and why, who must not be tipped, and what a wand reader picks."""

from __future__ import annotations

import io
import json
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.cli.main import ExitStatus, run
from assistant.husbandry.gestation import expected
from assistant.husbandry.handling import handling
from assistant.register.register import Register
from assistant.register.wand import wand_code, wand_lines
from assistant.values import Animal, Species
from assistant.values.outlook import head

CODES = [
    ("826012345600417", "826012345600417"),
    ("826 012345600417", "826012345600417"),
    ("826-012345600417\t", "826012345600417"),
    ("2026-11-25,10:15:00,826012345600417,-41", "826012345600417"),
    ("A0000826012345600417", ""),
    ("1732529700000", ""),
    ("8260123456004170", ""),
    ("", ""),
]


@pytest.mark.parametrize(("line", "code"), CODES)
def test_a_code_is_found_in_a_line_of_a_reader(line: str, code: str) -> None:
    assert wand_code(line) == code


HERD = Register(
    [
        Animal("t", name="Tansy", number="417", electronic="826012345600417", tag="UK 0 123456 00417", group="Pen 10"),
        Animal("s", name="Sorrel", number="9", electronic="826012345600009", group="Pen 2"),
        Animal("y", name="Yarrow", number="10", group="Pen 2"),
        Animal("c", name="Campion", number="1"),
        Animal("x", name="Ivy", number="2", group="Pen 2", status="sold"),
    ]
)


def test_a_file_of_codes_tags_and_names_is_read_line_by_line() -> None:
    text = "826012345600417\r\n\r\nUK 0 123456 00417;x\n826012345600555\nYarrow\n"
    found = [(line.line, line.animal and line.animal.id) for line in wand_lines(text, HERD)]
    assert found == [(1, "t"), (3, "t"), (4, None), (5, "y")]


def test_pens_and_numbers_are_in_natural_order_and_the_sold_stay_out() -> None:
    reasons = {one.id: ["re-check", "re-check"] for one in HERD}
    heads, number = [head(one) for one in HERD], {one.id: one.number for one in HERD}.__getitem__
    found = handling(heads, reasons, {}, date(2026, 3, 1), number)
    assert [one.animal for one in found] == ["s", "y", "t", "c"]
    assert {one.reasons for one in found} == {("re-check",)}
    found = handling(heads, reasons, {}, date(2026, 3, 1), number, ["pen 10"])
    assert [one.animal for one in found] == ["t", "s", "y", "c"]
    assert handling(heads, {}, {}, date(2026, 3, 1), number) == ()


def test_numbers_in_the_names_of_pens_go_by_their_size_however_long() -> None:
    pens = ["9" * 5000, "pen 10b", "1", "pen 002", "pen", "007", "pen 10", "pen 1"]
    heads = [head(Animal(pen, group=pen)) for pen in pens]
    found = handling(heads, {pen: ["trim"] for pen in pens}, {}, date(2026, 3, 1), str)
    assert [one.pen for one in found] == ["pen", "pen 1", "pen 002", "pen 10", "pen 10b", "1", "007", "9" * 5000]


@pytest.mark.parametrize(("days_before", "is_warned"), [(60, False), (47, True), (0, True), (-5, True), (-6, False)])
def test_the_heavily_pregnant_are_marked(days_before: int, is_warned: bool) -> None:
    """A goat: 145 to 155 days, so five days either side of the day that is due; six weeks before the earliest."""
    due = date(2026, 4, 1)
    births = {"s": expected(due, Species.GOAT)}
    day = due - timedelta(days=days_before)
    (found,) = handling([head(one) for one in HERD], {"s": ["trim"]}, births, day, str)
    assert ("do not tip" in found.caution) is is_warned


CSV = """number,name,sex,born,group,due,eid,tag
417,Tansy,f,2020-03-01,Milkers,2026-04-01,826012345600417,UK 0 123456 00417
418,Pansy,f,2020-03-01,Milkers,,826012345600418,
419,Sorrel,f,2020-03-01,Dry,,826012345600419,
"""


@pytest.fixture
def store(tmp_path: Path) -> Path:
    (tmp_path / "herd.csv").write_text(CSV)
    path = tmp_path / "herd.db"
    assert run(["--store", str(path), "register", "import", str(tmp_path / "herd.csv")]) == ExitStatus.OK
    return path


def plan(store: Path, capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    capsys.readouterr()
    assert run(["--store", str(store), "plan", "--on", "2026-03-10", "--json", *words]) in (0, ExitStatus.PARTLY)
    return json.loads(capsys.readouterr().out)


def type_lines(store: Path, text: str, monkeypatch: pytest.MonkeyPatch, day: str = "2026-01-05") -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    assert run(["--store", str(store), "type", "--started", f"{day}T09:00:00"]) == ExitStatus.OK


def test_a_plan_says_why_and_who_must_not_be_tipped(store, capsys, monkeypatch) -> None:
    type_lines(store, "826012345600419\nall four trimmed\ncheck her in two weeks\ndone\nfinish\n", monkeypatch)
    told = plan(store, capsys)
    by_name = {row["animal"]: row for row in told["animals"]}
    assert [row["animal"] for row in told["animals"]] == ["Sorrel", "Tansy", "Pansy"]
    assert any("due 2026-01-19" in why for why in by_name["Sorrel"]["why"])
    assert "do not tip" in by_name["Tansy"]["caution"]
    assert by_name["Pansy"]["caution"] == ""
    assert ["Tansy" in pair and "Pansy" in pair for pair in told["alike"]] == [True]


def test_a_group_and_a_mating_give_reasons(store, capsys) -> None:
    told = plan(store, capsys, "--group", "dry", "--mating", "2026-03-20")
    (sorrel,) = told["animals"]
    assert "before mating on 2026-03-20: no trim on record" in sorrel["why"]


def test_a_file_of_codes_picks_the_animals_and_names_strangers(store, tmp_path, capsys) -> None:
    (tmp_path / "wand.txt").write_text("826012345600418\n826012345600999\n")
    told = plan(store, capsys, "--codes", str(tmp_path / "wand.txt"))
    assert [row["animal"] for row in told["animals"]] == ["Pansy"]
    assert "read by the wand" in told["animals"][0]["why"]
    assert "826012345600999" in told["unknown"][0]
    assert ":2:" in told["unknown"][0]


def test_a_plan_is_a_list_to_print(store, capsys) -> None:
    capsys.readouterr()
    assert run(["--store", str(store), "plan", "--on", "2026-03-10", "--pens", "milkers, dry"]) == ExitStatus.OK
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "To handle on 2026-03-10: 3; not to be tipped: 1"
    assert [line.split()[3] for line in lines[2:5]] == ["Tansy", "Pansy", "Sorrel"]
    assert "! heavily pregnant" in lines[2]


def test_those_that_sound_alike_are_listed_before_a_recording_is_heard(store, tmp_path, capsys) -> None:
    soundfile.write(tmp_path / "quiet.flac", np.zeros(16000, np.float32), 16000)
    capsys.readouterr()
    words = ["session", "--from", str(tmp_path / "quiet.flac"), "--listeners", "pocketsphinx"]
    assert run(["--store", str(store), *words]) == ExitStatus.OK
    said = capsys.readouterr().err
    assert "These sound alike" in said
    assert "Tansy (417) and Pansy (418)" in said


@pytest.mark.parametrize("line", ["826012345600418", "826 012345600418", "UK 0 123456 00417", "uk012345600417"])
def test_a_line_from_a_wand_picks_the_animal_in_a_typed_session(store, capsys, monkeypatch, line) -> None:
    type_lines(store, f"{line}\nleft fore overgrown\ndone\nfinish\n", monkeypatch)
    capsys.readouterr()
    run(["--store", str(store), "summary", "--json"])
    (card,) = json.loads(capsys.readouterr().out)["animals"]
    assert card["animal"] == ("Pansy" if line.endswith("418") else "Tansy")
    assert [entry["place"] for entry in card["entries"]] == ["left fore"]


def test_a_session_is_planned_by_a_file_of_codes(store, tmp_path, capsys, monkeypatch) -> None:
    (tmp_path / "wand.txt").write_text("826012345600418\n826012345600999\n")
    words = ["--store", str(store), "type", "--codes", str(tmp_path / "wand.txt")]
    monkeypatch.setattr("sys.stdin", io.StringIO("who is left\nfinish\n"))
    assert run(words) == ExitStatus.OK
    assert "Left: Pansy." in capsys.readouterr().out
    (tmp_path / "wand.txt").write_text("826012345600999\n")
    assert run(words) == ExitStatus.FAILED
    assert "wand.txt" in capsys.readouterr().err


def test_a_code_that_no_animal_has_picks_nobody(store, capsys, monkeypatch) -> None:
    type_lines(store, "826012345600555\nfinish\n", monkeypatch)
    assert "I know no animal 826012345600555" in capsys.readouterr().out
