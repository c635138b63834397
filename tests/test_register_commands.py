"""`assistant register` as its users run it: dry runs, profiles, all or nothing, there and back, questions."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from assistant.cli.main import ExitStatus, run

HERD = (
    "tag,number,name,sex,born,dam,sire,group\n"
    "UK 0 123456 00417,417,Tansy,f,12/03/2019,,Bramble,Milkers\n"
    ",418,Pansy,f,2021-03-02,Tansy,Bramble,Milkers\n"
    ",388,Bramble,m,2016-01-01,,,Males\n"
)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "herd.csv").write_text(HERD)
    assert register(tmp_path, "import", "herd.csv") == ExitStatus.OK
    return tmp_path


def register(place: Path, *words: str) -> int:
    files = [str(place / word) if Path(word).suffix in (".csv", ".xlsx", ".txt") else word for word in words]
    return run(["--store", str(place / "herd.db"), "register", *files])


def names(place: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    capsys.readouterr()
    register(place, "list", "--json")
    return [json.loads(line)["name"] for line in capsys.readouterr().out.splitlines()]


def test_a_dry_run_shows_every_row_that_matters_and_changes_nothing(place, capsys) -> None:
    (place / "more.csv").write_text(
        "number,name,born,group\n417,Tansy,04/03/2020,Dry\n418,Pansy,,Dry\n388,,,\n,,,x\n419,Sorrel,31/02/2022,\n420,Yarrow,,\n"
    )
    capsys.readouterr()
    assert register(place, "import", "more.csv", "--dry-run", "--report", "report.txt") == ExitStatus.PARTLY
    out = capsys.readouterr().out
    rows = {line.split()[0]: line.split()[1] for line in out.splitlines() if line[:1].isdigit()}
    assert {line: rows[line] for line in "23567"} == {
        "2": "conflict",
        "3": "changed",
        "5": "error",
        "6": "error",
        "7": "new",
    }
    assert "4" not in rows
    assert "group: Milkers → Dry" in out
    assert "04/03/2020 is 4 March 2020" in out
    assert (place / "report.txt").read_text() in out
    assert names(place, capsys) == ["Tansy", "Pansy", "Bramble"]


def test_all_or_nothing(place, capsys) -> None:
    (place / "more.csv").write_text("number,name,born\n419,Sorrel,31/02/2022\n420,Yarrow,\n")
    assert register(place, "import", "more.csv", "--whole") == ExitStatus.FAILED
    assert "nothing was brought in" in capsys.readouterr().err
    assert names(place, capsys) == ["Tansy", "Pansy", "Bramble"]
    assert register(place, "import", "more.csv") == ExitStatus.PARTLY
    assert names(place, capsys)[3:] == ["Yarrow"]


def test_headings_are_kept_in_a_profile_for_the_next_file(place, capsys) -> None:
    (place / "a.csv").write_text("Rufname;Nr;Stall\nSorrel;419;Dry\n")
    words = ("import", "a.csv", "--map", "Rufname=name", "--map", "Stall=group", "--profile", "stall")
    assert register(place, *words) == ExitStatus.OK
    (place / "b.csv").write_text("Stall;Rufname\nDry;Yarrow\n")
    assert register(place, "import", "b.csv", "--profile", "stall") == ExitStatus.OK
    assert names(place, capsys)[3:] == ["Sorrel", "Yarrow"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("import", "herd.csv", "--profile", "none"), "no profile 'none'"),
        (("import", "herd.csv", "--profile", "../x"), "no name for a profile"),
        (("import", "herd.csv", "--map", "Rufname"), "heading=column"),
        (("import", "herd.csv", "--map", "Rufname=nmae"), "no column 'nmae'"),
        (("export", "herd.txt"), ".csv or .xlsx"),
        (("family", "unheardof"), "No animal is like"),
        (("import", "absent.csv"), "absent.csv"),
    ],
)
def test_wrong_words_are_told(place, capsys, words, says) -> None:
    capsys.readouterr()
    assert register(place, *words) == ExitStatus.FAILED
    assert says in capsys.readouterr().err


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_an_export_makes_the_same_herd_in_another_store(place, capsys, form) -> None:
    (place / "odd.csv").write_text('number,name,notes\n7,\'=Ivy,"two\nlines, and ""quotes"""\n')
    register(place, "import", "odd.csv")
    assert register(place, "export", f"out.{form}") == ExitStatus.OK
    before = whole_register(place, "herd.db", capsys)
    assert run(["--store", str(place / "new.db"), "register", "import", str(place / f"out.{form}")]) == ExitStatus.OK
    assert whole_register(place, "new.db", capsys) == before
    if form == "csv":
        with (place / "out.csv").open(encoding="utf-8-sig", newline="") as file:
            assert not [cell for row in csv.reader(file) for cell in row if cell.startswith(tuple("=+-@\t\r"))]


def whole_register(place: Path, store: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    capsys.readouterr()
    assert run(["--store", str(place / store), "register", "export", str(place / "whole.csv")]) == ExitStatus.OK
    return (place / "whole.csv").read_text(encoding="utf-8-sig").splitlines()


HOSTILE = {
    "formulas": b"name,notes\n=cmd|'/C calc'!A0,x\n@SUM(A1),x\n",
    "nul": b"name,notes\nSor\x00rel,x\n",
    "no end of a quote": b'name,notes\n"Sorrel,x\nYarrow,y\n',
    "two headings": b"name,Name,number\nSorrel,S,1\n",
    "10 MB in a cell": b"name,notes\nSorrel," + b"x" * 10_000_000 + b"\n",
    "half of UTF-16": b"\xff\xfen\x00a\x00m\x00e\x00\n\x00S",
    "a folder of workbooks": b"PK\x03\x04rest",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_leaves_the_register_as_it_was(place, capsys, name) -> None:
    (place / "bad.csv").write_bytes(HOSTILE[name])
    capsys.readouterr()
    assert register(place, "import", "bad.csv") in (ExitStatus.FAILED, ExitStatus.PARTLY)
    said = capsys.readouterr().err
    assert "bad.csv" in said
    assert len(said) < 1000
    assert names(place, capsys) == ["Tansy", "Pansy", "Bramble"]


@pytest.mark.parametrize("text", ["", "7", "{}", '{"headings": {"Stall": "colour of the barn"}}', "[" * 100_000])
def test_a_profile_that_is_none_is_refused(place, capsys, text) -> None:
    (place / "profiles").mkdir()
    (place / "profiles" / "stall.json").write_text(text, encoding="utf-8")
    assert register(place, "import", "herd.csv", "--profile", "stall") == ExitStatus.FAILED
    told = capsys.readouterr().err
    assert "stall.json is not a profile" in told or "stall.json: There is no column 'colour of the barn'" in told


def test_check_names_the_rule_and_the_pair(place, capsys) -> None:
    (place / "more.csv").write_text("number,eid\n417,826012345600418\n")
    register(place, "import", "more.csv")
    capsys.readouterr()
    assert register(place, "check", "--group", "milkers", "--json") == ExitStatus.PARTLY
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [problem["about"] for problem in told] == ["number", "alike"]
    assert "933/2008" in told[0]["rule"]
    assert "Tansy" in told[1]["message"]


@pytest.mark.parametrize(
    ("mention", "first", "status"),
    [
        ("tansy", "Tansy", ExitStatus.OK),
        ("four one seven", "Tansy", ExitStatus.OK),
        ("UK 0 123456 00417", "Tansy", ExitStatus.OK),
        ("four one something", "Tansy", ExitStatus.PARTLY),
        ("quetzalcoatl", None, ExitStatus.FAILED),
    ],
)
def test_find_says_who_is_meant(place, capsys, mention, first, status) -> None:
    capsys.readouterr()
    assert register(place, "find", "--json", *mention.split()) == status
    found = [json.loads(line)["animal"] for line in capsys.readouterr().out.splitlines()]
    assert found[:1] == ([first] if first else [])


def test_family_shows_siblings_and_common_ancestors(place, capsys) -> None:
    capsys.readouterr()
    assert register(place, "family", "pansy", "--with", "tansy", "--json") == ExitStatus.OK
    told = json.loads(capsys.readouterr().out)
    assert told["dam"] == ["Tansy (417)"]
    assert told["half siblings by the sire"] == ["Tansy (417)"]
    assert [line.split(",")[0] for line in told["common ancestors"]] == ["Tansy (417)", "Bramble (388)"]
