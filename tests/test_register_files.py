"""Registers as files: workbooks and text tables there and back, and files that mean harm."""

from __future__ import annotations

import contextlib
import io
import random
import zipfile
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from test_register_writing import herds

from assistant.errors import BadRegister
from assistant.register.heading import fitness
from assistant.register.reading import ImportReport, Rules, Trouble, animals_from_table
from assistant.register.register import Register
from assistant.sheets.reading import herd_table
from assistant.sheets.workbook import MOST_BYTES, to_xlsx
from assistant.values import Animal, Sex, Tag


def read(data: bytes, known: Register | None = None, rules: Rules | None = None, encoding: str = "") -> ImportReport:
    asked = rules or Rules()
    return animals_from_table(
        herd_table(data, "herd.xlsx", fitness(asked.headings), encoding), "herd.xlsx", known, asked
    )


def book(*rows: list[object], title: str = "herd", before: list[list[object]] | None = None) -> bytes:
    made = openpyxl.Workbook()
    if before is not None:
        first = made.active
        for row in before:
            first.append(row)
        sheet = made.create_sheet(title)
    else:
        sheet = made.active
        sheet.title = title
    for row in rows:
        sheet.append(row)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


# ------------------------------------------------------------------------------------------------------- workbooks


@given(herds())
@settings(max_examples=40, deadline=None)
def test_a_workbook_is_read_back_without_loss(animals: list[Animal]) -> None:
    report = read(to_xlsx(animals))
    assert not [problem for problem in report.problems if problem.kind is not Trouble.DOUBT]
    assert list(report.animals) == animals


def test_a_written_workbook_has_text_only() -> None:
    animals = [Animal("1", name="=1+1", notes="@SUM(A1)", markings="+44", tag="-5", past_tags=(Tag("x", "=2"),))]
    sheet = openpyxl.load_workbook(io.BytesIO(to_xlsx(animals))).active
    assert {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value is not None} == {"s"}
    assert sheet["D2"].value == "=1+1"


def test_cells_of_a_workbook_are_read_as_the_sheet_shows_them() -> None:
    made = openpyxl.load_workbook(
        io.BytesIO(
            book(
                ["Number", "Name", "Born", "EID", "In milk", "Notes"],
                [41, "Tansy", datetime(2021, 3, 9), 826012345600001, True, 2.5],
                [417, " Sorrel ", date(2020, 2, 29), "826012345600002", False, "a\nb"],
                [418, "Yarrow", "1/3/2024", None, "no", "+ fat"],
            )
        )
    )
    made.active["A2"].number_format = "0000"
    out = io.BytesIO()
    made.save(out)
    tansy, sorrel, yarrow = read(out.getvalue()).animals
    assert (tansy.number, tansy.born, tansy.electronic) == ("0041", date(2021, 3, 9), "826012345600001")
    assert (tansy.in_milk, tansy.notes) == (True, "2.5")
    assert (sorrel.name, sorrel.born, sorrel.notes) == ("Sorrel", date(2020, 2, 29), "a\nb")
    assert (yarrow.born, yarrow.notes) == (date(2024, 3, 1), "+ fat")


def test_the_sheet_with_the_animals_and_its_headings_are_found() -> None:
    data = book(
        ["Herd of Hazel Bank"], [], ["as of", "1/3/2024"], ["Number", "Name"], [1, "Tansy"], before=[["Milk", "Price"]]
    )
    report = read(data)
    assert [animal.name for animal in report.animals] == ["Tansy"]
    assert report.encoding == "workbook, sheet 'herd'"
    assert [(problem.line, problem.kind) for problem in report.problems] == [(1, "column"), (3, "column")]


def test_a_formula_without_a_saved_value_and_an_error_are_refused_with_their_row() -> None:
    report = read(book(["name", "number"], ["Tansy", "=1+1"], ["Sorrel", "#REF!"], ["Yarrow", 7]))
    assert [animal.name for animal in report.animals] == ["Yarrow"]
    assert [(problem.line, problem.kind) for problem in report.problems] == [(2, "error"), (3, "error")]
    assert "formula" in report.problems[0].message


def test_a_formula_with_its_value_saved_is_that_value() -> None:
    data = book(["name", "number"], ["Tansy", "=400+17"])
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = parts["xl/worksheets/sheet1.xml"].replace(b"<v />", b"<v>417</v>")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    (tansy,) = read(out.getvalue()).animals
    assert tansy.number == "417"


# --------------------------------------------------------------------------------------------------- hostile files


def zipped(*parts: tuple[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts:
            archive.writestr(name, content)
    return out.getvalue()


def bomb() -> bytes:
    """Half a megabyte that grows to more than is allowed."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive,
        archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part,
    ):
        for _ in range(MOST_BYTES // 10_000_000 + 1):
            part.write(bytes(10_000_000))
    return out.getvalue()


def laughing() -> bytes:
    """A workbook with a cell of entities that grow when they are taken apart."""
    entities = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
    doctype = f'<!DOCTYPE worksheet [<!ENTITY e0 "lol">{entities}]><worksheet'.encode()
    with zipfile.ZipFile(io.BytesIO(book(["name"], ["Tansy"]))) as archive:
        parts = [(name, archive.read(name)) for name in archive.namelist()]
    grown = [(name, text.replace(b"<worksheet", doctype, 1).replace(b"Tansy", b"&e9;")) for name, text in parts]
    return zipped(*grown)


BAD_WORKBOOKS = {
    "not whole": lambda: book(["name"], ["Tansy"])[:-100],
    "only the sign": lambda: b"PK\x03\x04",
    "another archive": lambda: zipped(("notes.txt", b"hello")),
    "bomb": bomb,
    "entities": laughing,
    "no sheet": lambda: zipped(("[Content_Types].xml", b"<Types/>"), ("xl/workbook.xml", b"<workbook/>")),
    "no headings": lambda: book(["colour", "pen"], ["brown", 1]),
    "nothing in it": book,
    "two headings": lambda: book(["name", "Name", "number"], ["Tansy", "T", 1]),
}


@pytest.mark.parametrize("make", BAD_WORKBOOKS.values(), ids=BAD_WORKBOOKS)
def test_a_workbook_that_means_harm_is_refused_with_its_name(make) -> None:
    with pytest.raises(BadRegister, match=r"herd\.xlsx"):
        read(make())


def test_a_damaged_workbook_is_refused_or_read_but_never_breaks() -> None:
    whole = bytearray(book(["name", "number"], *[[f"Tansy {n}", n] for n in range(30)]))
    rng = random.Random(4)
    for _ in range(150):
        data = bytearray(whole)
        for _ in range(rng.randrange(1, 6)):
            data[rng.randrange(4, len(data))] = rng.randrange(256)
        try:
            animals = read(bytes(data)).animals
        except BadRegister:
            continue
        assert len(animals) <= 30


@given(st.one_of(st.binary(max_size=200), st.text("name,;|\t\"'=\r\n1é\ufeff", max_size=60).map(str.encode)))
@example(b"name\n\xff\xfe")
@settings(max_examples=150, deadline=None)
def test_any_bytes_are_animals_or_refused_in_one_sentence(data: bytes) -> None:
    for content in (data, b"name,number\nTansy,1\n" + data):
        with contextlib.suppress(BadRegister):
            assert all(animal.label for animal in read(content).animals)


def test_very_wide_and_very_long_cells_cost_their_row_only() -> None:
    wide = ["Sorrel", *[None] * 600, "x"]
    report = read(book(["name", "notes"], ["Tansy", "fine"], wide, ["Yarrow", "fine"]))
    assert [animal.name for animal in report.animals] == ["Tansy", "Yarrow"]
    long = book(["name", "notes"], ["Tansy", "x"], ["Yarrow", "fine"])
    with zipfile.ZipFile(io.BytesIO(long)) as archive:
        parts = [(name, archive.read(name)) for name in archive.namelist()]
    grown = [(name, content.replace(b"<t>x</t>", b"<t>" + b"x" * 10_000_000 + b"</t>")) for name, content in parts]
    report = read(zipped(*grown))
    assert [animal.name for animal in report.animals] == ["Yarrow"]
    assert "longer" in report.problems[0].message


def test_a_line_break_in_a_cell_costs_its_row_but_not_in_notes_and_headings() -> None:
    report = read(
        book(
            ["Management\nnumber", "name", "notes"],
            [1, "Tan\nsy", "fine"],
            [2, "Sorrel\n", "lame\nin autumn"],
            [3, "Yar_x0007_row", ""],
            [4, "Ivy", "x_x0000_"],
            [5, "Dock_xD800_", ""],
        )
    )
    assert [(animal.name, animal.notes) for animal in report.animals] == [
        ("Sorrel", "lame\nin autumn"),
        ("Dock_xD800_", ""),
    ]
    assert [(problem.line, problem.column) for problem in report.problems] == [(2, "name"), (4, "name"), (5, "notes")]


def test_rows_that_are_all_gaps_are_not_read_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.sheets.workbook.MOST_CELLS", 10_000)
    with pytest.raises(BadRegister, match=r"herd\.xlsx has more than 10000 cells up to line 5"):
        read(book(["name"], *([*[None] * 3000, "x"] for _ in range(9))))


def test_mixed_line_ends_and_utf_16_are_one_table() -> None:
    text = "name;number\r\nTansy;1\nSorrel;2\rYarrow;3\r\n"
    for codec in ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"):
        assert [animal.name for animal in read(text.encode(codec)).animals] == ["Tansy", "Sorrel", "Yarrow"]


# ------------------------------------------------------------------------------------------------ headings, encodings


def test_an_encoding_that_is_not_unicode_is_told_or_taken_from_the_keeper() -> None:
    german = "number,name,notes\n1,Öhrchen,lahm hinten für Wochen, schön\n".replace("n, s", "n. s")
    assert read(german.encode("cp1252")).animals[0].name == "Öhrchen"
    chinese = "number,name,notes\n1,小花,左后蹄过长已修\n2,白山羊,右前蹄有裂缝\n"
    assert [animal.name for animal in read(chinese.encode("gb18030")).animals] == ["小花", "白山羊"]
    czech = "number,name\n1,Žížala\n"
    assert read(czech.encode("cp1250"), encoding="cp1250").animals[0].name == "Žížala"
    for name in ("klingon", "undefined", "hex"):
        with pytest.raises(BadRegister, match=f"no encoding '{name}'"):
            read(b"name\nTansy\n", encoding=name)


def test_the_keepers_headings_go_before_what_is_known() -> None:
    rules = Rules({"Ohrmarke": "tag", "Name": "nicknames", "Rufname": "name", "Preis": ""})
    report = read(b"Ohrmarke|Rufname|Name|Preis\nHB 1|Tansy|Tans|90\n", rules=rules)
    (tansy,) = report.animals
    assert (tansy.tag, tansy.name, tansy.nicknames) == ("HB 1", "Tansy", ("Tans",))
    assert not report.problems
    assert report.separator == "|"


KNOWN = Register([Animal("t", name="Tansy", number="401", born=date(2020, 3, 1), sex=Sex.FEMALE)])


def test_what_an_animal_keeps_for_life_is_changed_only_by_a_file_that_corrects() -> None:
    data = b"number,name,born,sex\n401,Tansy,04/03/2020,male\n"
    report = read(data, KNOWN)
    (problem,) = report.problems
    assert (problem.kind, report.is_whole) == (Trouble.CONFLICT, False)
    assert "2020-03-01" in problem.message
    assert report.date_shown == "04/03/2020 is 4 March 2020"
    corrected = read(data, KNOWN, Rules(is_correction=True))
    assert corrected.animals[0].born == date(2020, 3, 4)
    wether = Register([Animal("w", name="Teasel", number="402", sex=Sex.MALE)])
    assert read(b"number,sex\n402,wether\n", wether).is_whole


def test_a_tag_that_a_file_replaces_becomes_a_past_tag() -> None:
    known = Register([Animal("t", name="Tansy", tag="HB 1", electronic="826012345600001")])
    rules = Rules(day=date(2026, 5, 1))
    (tansy,) = read(b"tag,eid\nHB 9,826012345600001\n", known, rules).animals
    assert (tansy.tag, tansy.past_tags) == ("HB 9", (Tag("official", "HB 1", None, date(2026, 5, 1)),))
    (tansy,) = read(b"tag,eid\nhb-1,826012345600002\n", known, rules).animals
    assert tansy.past_tags == (Tag("electronic", "826012345600001", None, date(2026, 5, 1)),)


@pytest.mark.parametrize("cell", ["8.26012E+14", "8,26E14", "826e+12"])
def test_a_code_that_a_spreadsheet_shortened_is_refused(cell: str) -> None:
    (problem,) = read(f'name,eid\nTansy,"{cell}"\n'.encode()).problems
    assert "shortened" in problem.message


def test_a_workbook_of_the_demonstration_herd_is_the_same_herd() -> None:
    data = (Path(__file__).parent.parent / "demo_audio" / "register.csv").read_bytes()
    animals = read(data).animals
    assert read(to_xlsx(animals)).animals == animals
