"""The tables: read back by the standard library, openpyxl and pyarrow; true to the store; no formula from a name."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import openpyxl
import pytest
from pyarrow import parquet

from assistant.cli.main import ExitStatus, run
from assistant.cli.tables import FORMATS as OFFERED_FORMATS
from assistant.cli.tables import NAMES
from assistant.errors import BadOutput, BadStore
from assistant.records.tables_out import table_rows
from assistant.register.cell import plain_text
from assistant.report.columns import TABLES, Kind, dictionary
from assistant.report.table_file import FORMATS, write_tables
from assistant.store.asking import answer
from tests.live_stage import ANIMALS, Stage
from tests.records_stage import filled

DOCS = Path(__file__).parent.parent / "docs"
HOSTILE = '=HYPERLINK("x"),\r\n"Tansy"'


@pytest.fixture(scope="module")
def stage(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stage]:
    made = filled(tmp_path_factory.mktemp("herd"))
    made.store.save_animals([replace(ANIMALS[2], notes=HOSTILE, number="0423", born=date(2021, 3, 12))])
    yield made
    made.store.close()


@pytest.fixture(scope="module")
def rows(stage) -> dict[str, list[dict]]:
    return {name: table_rows(stage.store, name) for name in TABLES}


def test_the_dictionary_in_the_documents_is_that_of_the_files() -> None:
    assert dictionary() in (DOCS / "tables.md").read_text(encoding="utf-8")


def test_the_command_offers_what_there_is() -> None:
    assert (tuple(TABLES), FORMATS) == (NAMES, OFFERED_FORMATS)


def test_every_row_has_the_columns_and_kinds_of_the_dictionary(rows) -> None:
    types = {
        Kind.TEXT: str,
        Kind.WHOLE: int,
        Kind.NUMBER: float,
        Kind.DAY: date,
        Kind.MOMENT: datetime,
        Kind.YES_NO: bool,
    }
    for name, columns in TABLES.items():
        for row in rows[name]:
            for column in columns:
                assert row[column.name] is None or type(row[column.name]) is types[column.kind], (name, column.name)


def test_the_entries_agree_with_the_store(stage, rows) -> None:
    columns, found = answer(stage.store.path, "SELECT id, day, what, place, value, due, is_live FROM entry")
    assert columns[0] == "id"
    told = {
        (row["entry"], str(row["day"]), row["what"], row["place"], row["value"], str(row["due"]), int(row["holds"]))
        for row in rows["entries"]
    }
    assert told == {(*row[:5], str(row[5]), row[6]) for row in found}
    assert {row["holds"] for row in rows["entries"]} == {True, False}


def test_csv_is_read_back_by_the_standard_library(rows, tmp_path) -> None:
    write_tables(tmp_path, "csv", rows)
    for name, columns in TABLES.items():
        with (tmp_path / f"{name}.csv").open(encoding="utf-8-sig", newline="") as file:
            read = list(csv.DictReader(file))
        assert len(read) == len(rows[name])
        for line, row in zip(read, rows[name], strict=True):
            assert list(line) == [column.name for column in columns]
            for column in columns:
                value = row[column.name]
                if column.kind is Kind.TEXT:
                    assert plain_text(line[column.name]) == (value or "")
                elif isinstance(value, date):
                    assert type(value).fromisoformat(line[column.name]) == value
    content = (tmp_path / "animals.csv").read_bytes()
    assert content.count(b"\r\n") == len(rows["animals"]) + 2  # the heading, and the line break within a note


def test_json_lines_are_read_back(rows, tmp_path) -> None:
    write_tables(tmp_path, "jsonl", rows)
    lines = (tmp_path / "animals.jsonl").read_text(encoding="utf-8").splitlines()
    read = [json.loads(line) for line in lines]
    assert read[2]["notes"] == HOSTILE
    assert read[2]["number"] == "0423"
    assert read[2]["born"] == "2021-03-12"


def test_a_workbook_is_read_back_by_openpyxl(rows, tmp_path) -> None:
    (path,) = write_tables(tmp_path, "xlsx", rows)
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == [*TABLES, "columns"]
    head, *body = book["animals"].iter_rows()
    at = {cell.value: n for n, cell in enumerate(head)}
    assert len(body) == len(rows["animals"])
    note = body[2][at["notes"]]
    assert (note.data_type, note.value.replace("_x000D_", "\r")) in (("s", HOSTILE), ("s", HOSTILE.replace("\r", "")))
    assert body[2][at["number"]].value == "0423"
    assert body[2][at["born"]].value == datetime(2021, 3, 12)


def test_parquet_keeps_the_kinds(rows, tmp_path) -> None:
    write_tables(tmp_path, "parquet", rows)
    read = parquet.read_table(tmp_path / "entries.parquet")
    assert read.num_rows == len(rows["entries"])
    assert str(read.schema.field("due").type) == "date32[day]"
    assert read.schema.field("due").metadata[b"about"]
    times = read.column("time").to_pylist()
    assert times[0].astimezone(UTC) == rows["entries"][0]["time"]
    animals = parquet.read_table(tmp_path / "animals.parquet").to_pylist()
    assert animals[2]["notes"] == HOSTILE


@pytest.mark.parametrize("form", FORMATS)
def test_tables_without_rows_and_with_odd_letters_are_written(form, rows, tmp_path) -> None:
    odd = rows["animals"][2] | {"name": "\ud800Tansy\x07"}
    assert write_tables(tmp_path, form, {"animals": [odd], "entries": []})


def test_a_table_that_cannot_be_written_leaves_what_was_there(rows, tmp_path) -> None:
    (tmp_path / "animals.csv").write_text("before")
    with pytest.raises(KeyError):
        write_tables(tmp_path, "csv", {"animals": [{"animal": "a1"}]})
    assert [path.name for path in tmp_path.iterdir()] == ["animals.csv"]
    assert (tmp_path / "animals.csv").read_text() == "before"
    (tmp_path / "sessions.csv").mkdir()
    with pytest.raises(BadOutput, match=r"sessions\.csv is a folder"):
        write_tables(tmp_path, "csv", {"sessions": rows["sessions"]})


@pytest.mark.parametrize("form", FORMATS)
def test_the_command_writes_every_format(stage, form, tmp_path, capsys) -> None:
    words = ["--store", str(stage.store.path), "tables", "entries", "sessions", "--format", form, "--out"]
    assert run([*words, str(tmp_path)]) == ExitStatus.OK
    assert all(Path(line).is_file() for line in capsys.readouterr().out.splitlines())


# ------------------------------------------------------------------------------------------------------------- SQL


@pytest.mark.parametrize(
    "sql",
    [
        "DELETE FROM entry",
        "UPDATE animal SET name = 'x'",
        "CREATE TEMP TABLE x (a)",
        "ATTACH 'other.db' AS other",
        "SELECT load_extension('x')",
        "PRAGMA journal_mode = delete",
        "SELECT 1; SELECT 2",
        "SELECT * FROM nothing",
        "-- no question",
    ],
)
def test_only_a_question_is_answered(stage, sql) -> None:
    before = stage.store.path.read_bytes()
    with pytest.raises(BadStore):
        answer(stage.store.path, sql)
    assert stage.store.path.read_bytes() == before


@pytest.mark.parametrize("option", [[], ["--csv"], ["--json"]])
def test_the_command_answers(stage, option, capsys) -> None:
    sql = "SELECT what, count(*) AS n FROM entry WHERE kind = 'measure' GROUP BY what ORDER BY n DESC"
    assert run(["--store", str(stage.store.path), "sql", sql, *option]) == ExitStatus.OK
    out = capsys.readouterr().out
    assert "condition" in out
    if option == ["--json"]:
        assert [json.loads(line)["what"] for line in out.splitlines()] == ["condition", "weight"]
