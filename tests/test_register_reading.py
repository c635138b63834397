"""Reading tables of animals: what is found out, what is reported, what is refused."""

from __future__ import annotations

import time
from datetime import date

import pytest

from assistant.errors import BadRegister
from assistant.register.reading import ImportReport, Rules, Trouble, animals_from_csv
from assistant.register.register import Register
from assistant.values import Animal, Sex, Species, Tag

HERD = """Ear tag;No.;Name;Sex;DOB;Mother;Father;Pen;Status;Notes
UK 0 123456 00401;401;Tansy;doe;03/04/2021;;Ragwort;Does;in herd;steady
UK 0 123456 00417;417;Sorrel;f;2023-02-11;Tansy;Ragwort;Does;in herd;"kicks; mind the
left hind"
;0062;Müller's Zoë;nanny;5 Mar 22;;;Does;sold;
"""


def read(text: str, known: Register | None = None) -> ImportReport:
    return animals_from_csv(text.encode(), "herd.csv", known)


def test_a_table_as_people_have_it() -> None:
    report = read(HERD)
    tansy, sorrel, zoe = report.animals
    assert not report.problems
    assert (tansy.tag, tansy.number, tansy.name, tansy.sex) == ("UK 0 123456 00401", "401", "Tansy", Sex.FEMALE)
    assert (tansy.born, tansy.sire, tansy.group, tansy.species) == (date(2021, 4, 3), "Ragwort", "Does", Species.GOAT)
    assert (sorrel.born, sorrel.notes, sorrel.dam) == (date(2023, 2, 11), "kicks; mind the\nleft hind", "Tansy")
    assert (zoe.number, zoe.name, zoe.status, zoe.born) == ("0062", "Müller's Zoë", "sold", date(2022, 3, 5))
    assert (report.separator, report.encoding, report.dates) == (";", "UTF-8", "both")
    assert report.headings[:3] == (("Ear tag", "tag"), ("No.", "number"), ("Name", "name"))
    assert report.new == tuple(animal.id for animal in report.animals)
    assert read(HERD).animals == report.animals


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(encoding: str, separator: str, end: str) -> None:
    rows = [["Name", "Number", "Born"], ["Zoë", "041", "2021-04-03"], ["Tansy", "", "2022-01-31"]]
    data = end.join(separator.join(row) for row in rows).encode(encoding)
    report = animals_from_csv(data, "herd.csv")
    assert [(a.name, a.number, a.born) for a in report.animals] == [
        ("Zoë", "041", date(2021, 4, 3)),
        ("Tansy", "", date(2022, 1, 31)),
    ]
    assert report.separator == separator
    assert not report.problems


def test_line_ends_may_be_mixed_and_blank_lines_left() -> None:
    report = read('name,number\r\nTansy,1\n\n\rSorrel,2\r,\nYarrow,x"y\n')
    assert [animal.name for animal in report.animals] == ["Tansy", "Sorrel", "Yarrow"]


BAD_ROWS = [
    ("name,born\nTansy,31/02/2024\nSorrel,1/3/2024", 2, "born", "no such day"),
    ("name,born\nTansy,04/25/2024\nSorrel,1/3/2024", 2, "born", "day first"),
    ("name,born\nTansy,spring\nSorrel,1/3/2024", 2, "born", "not a date"),
    ("name,born\nTansy,3 Foo 2024\nSorrel,1/3/2024", 2, "born", "no month"),
    ("name,born\nTansy,2023-02-29\nSorrel,2024-02-29", 2, "born", "no such day"),
    ("name,sex\nTansy,sideways\nSorrel,f", 2, "sex", "no sex"),
    ("name,species\nTansy,alpaca\nSorrel,goat", 2, "species", "no species"),
    ("name,in milk\nTansy,often\nSorrel,no", 2, "in milk", "neither yes nor no"),
    ("name,eid\nTansy,82601234560001\nSorrel,826012345600001", 2, "electronic", "14 digits"),
    ("name,alive\nTansy,no\nSorrel,yes", 2, "status", "'no' does not say what became"),
    ("name,notes\nTansy,=1+1\nSorrel,fine", 2, "notes", "formula"),
    ("name,notes\nTansy,@SUM(A1)\nSorrel,- fine", 2, "notes", "formula"),
    ('name,notes\nTansy,"fi"ne\nSorrel,fine', 2, "", "quotation mark"),
    ("name,notes\nTansy,well, fed\nSorrel,fine", 2, "", "3 cells under 2 headings"),
    ("name,notes\n,nobody\nSorrel,fine", 2, "", "no tag, number or name"),
    ("name,tag\nSorrel,X1\nTansy,x 1", 3, "tag", "line 2"),
    ("name,eid\nSorrel,826012345600001\nTansy,826 012345600001", 3, "electronic", "line 2"),
    ("id,name\n7,Sorrel\n7,Tansy", 3, "id", "line 2"),
    ('name,notes\nSorrel,fine\nTansy,"not closed\nYarrow,fine\n', 3, "", "up to line 4"),
    ("name,old tags\nTansy,a|b\nSorrel,X9", 2, "past tags", "past tag"),
    ('name\n"Tan\nsy"\nSorrel', 2, "name", "'Tan\\nsy' has a line break in it. Write it on one line."),
    ('name,group\nTansy,"Does\r2"\nSorrel,Does', 2, "group", "has a line break"),
    ("name,dam\nTansy,Moth\u2028er\nSorrel,Mother", 2, "dam", "has a line break"),
    ("name,number\nTansy,4\t1\nSorrel,41", 2, "number", "the code 9 in it"),
    ("name,also called\nTansy,Tan\u009bs\nSorrel,Sorry", 2, "nicknames", "the code 155 in it"),
    ("name,notes\nTansy," + "x" * 10_000_000 + "\nSorrel,fine", 2, "", "longer than"),
]


@pytest.mark.parametrize(("text", "line", "column", "words"), BAD_ROWS, ids=[row[3] for row in BAD_ROWS])
def test_a_bad_row_is_reported_with_its_line_and_good_rows_are_kept(
    text: str, line: int, column: str, words: str
) -> None:
    report = read(text)
    assert [animal.name for animal in report.animals] == ["Sorrel"]
    (problem,) = report.problems
    assert (problem.line, problem.column) == (line, column)
    assert words in problem.message
    assert len(problem.value) <= 80


BAD_FILES = [
    (b"", "empty"),
    (b"\xef\xbb\xbf", "empty"),
    (b" \r\n \r\n", "empty"),
    (b"PK\x03\x04 rest", "workbook"),
    (b"RIFF\x00\x00", "sound file"),
    (b"name,number\nTan\x00sy,1\n", "line 2.*code 0"),
    (bytes(range(256)) * 4, "Windows-1252"),
    (bytes(range(128)) * 4, "code 0"),
    (b"name\n\x81\x8d", "Windows-1252"),
    (b"\xff\xfen\x00a", "UTF-16"),
    (b"name,Name,number\nTansy,T,1", "'name' and 'Name' both mean 'name'"),
    (b"mother,Dam,number\nTansy,T,1", "both mean 'dam'"),
    (b"colour,pen\nbrown,1", "no heading is tag, number or name"),
    (b"nmae,pen\nTansy,1", "Was 'name' meant"),
    (b"Dear all, please find attached\nthe animals", "no heading"),
    (b'name,"notes\nTansy,x', "line 1: A quotation mark is not closed"),
]


@pytest.mark.parametrize(("data", "words"), BAD_FILES)
def test_a_file_that_cannot_be_used_is_refused_with_its_name(data: bytes, words: str) -> None:
    with pytest.raises(BadRegister, match=words) as error:
        animals_from_csv(data, "herd.csv")
    assert "herd.csv" in str(error.value)


def test_an_unknown_heading_is_reported_with_a_suggestion_and_left_out() -> None:
    report = read("name,Brth date,shoe size\nTansy,2021-01-01,4\n")
    assert [animal.born for animal in report.animals] == [None]
    first, second = report.problems
    assert "'born'" in first.message
    assert "rename" not in second.message
    assert (first.line, second.column) == (1, "shoe size")


def test_headings_only_are_an_empty_register() -> None:
    assert read("tag,number,name\n").animals == ()


def test_a_doubtful_tag_is_kept_and_reported() -> None:
    report = read(
        "tag,name\nUK 123456 00001,Tansy\nUK 123456,Sorrel\nUK 12,Yarrow\nGB7,Teasel\nUK 0 123456 00001,Ivy\n"
    )
    assert len(report.animals) == 5
    assert [problem.line for problem in report.problems] == [2, 3, 4]
    assert "Is it UK 0 123456 00001?" in report.problems[0].message


def test_words_for_a_sex_tell_the_species_unless_a_column_does() -> None:
    report = read("name,sex,species\nTansy,ewe,\nSorrel,doe,\nYarrow,ewe,goat\nIvy,f,sheep\n")
    goat, sheep = Species.GOAT, Species.SHEEP
    assert [animal.species for animal in report.animals] == [sheep, goat, goat, sheep]


STATUSES = [
    ("alive", "in herd", False),
    ("In Kid", "in herd", False),
    ("in  milk", "in herd", True),
    ("Sold", "sold", False),
    ("DEAD", "dead", False),
    ("lent to Ann", "lent to Ann", False),
    ("Yes", "in herd", False),
    ("x", "in herd", False),
    ("", "in herd", False),
]


@pytest.mark.parametrize(("text", "status", "is_in_milk"), STATUSES)
def test_words_for_a_status_say_who_is_in_the_herd(text: str, status: str, is_in_milk: bool) -> None:
    (tansy,) = read(f"name,status\nTansy,{text}\n").animals
    assert (tansy.status, tansy.in_milk) == (status, is_in_milk)
    (dry,) = read(f"name,status,in milk\nTansy,{text},no\n").animals
    assert dry.in_milk is False


def test_a_title_with_other_separators_may_stand_above_the_headings() -> None:
    report = read("Herd of Hazel Bank, spring 2024\nName;Number;Notes\nTansy;1;fine, and well\nSorrel;2;\n")
    assert [(animal.name, animal.notes) for animal in report.animals] == [("Tansy", "fine, and well"), ("Sorrel", "")]


def test_a_month_that_is_none_is_read_day_first_only_where_the_day_comes_first() -> None:
    first, second = read("name,born\nTansy,2024-13-01\nSorrel,01/13/2024\n").problems
    assert "day first" not in first.message
    assert "day first" in second.message


def test_ids_are_the_same_on_every_machine_and_in_every_order_of_rows() -> None:
    """Else stores of two machines that imported the same list could not be merged; so they never change."""
    report = read("number,name,tag\n1,Tansy,\n2,Sorrel,\n,,UK 0 123456 00007\n")
    assert report.new == (
        "4d9fa502-f1b9-5c35-b5bf-c0d4443ae465",
        "20eae5cb-3570-5a7f-84c6-b65f23697059",
        "a593751a-0bf9-5301-ab97-2fd1865e8668",
    )
    other = read("tag,name,number\nuk0123456-00007,Yarrow,\n,sorrel,2\n,tansy,1\n")
    assert other.new == report.new[::-1]


def test_a_thousand_animals_of_one_name_get_ids_in_turn() -> None:
    text = "name\n" + "Ewe\n" * 1000
    began = time.process_time()
    report = read(text)
    assert time.process_time() - began < 2.0
    assert len(set(report.new)) == 1000
    assert report.new[:3] == (
        "9dd9ebdc-45a7-5c2c-b61e-664d4e083f90",
        "c5971d2e-68c9-5545-ad09-6744a5adef55",
        "b4947223-fb14-54a1-963b-bf29d05b5a12",
    )


def test_a_dash_for_a_tag_number_or_code_is_none() -> None:
    known = Register([Animal("a", name="Dock", tag="X5"), Animal("b", name="Ivy", past_tags=(Tag("official", "-"),))])
    report = read("number,tag,name,eid\n1,–,Nettle,-\n2,?,Clover,.\n-,,Ivy,\n,-,Dock,-\n", known)
    assert not report.problems
    assert [(animal.number, animal.tag) for animal in report.animals] == [("1", ""), ("2", ""), ("", ""), ("", "X5")]
    assert [animal.id for animal in report.animals[2:]] == ["b", "a"]
    (problem,) = read("tag,name\n-,\n").problems
    assert "no tag, number or name" in problem.message


def test_a_birth_that_is_yet_to_come_is_doubted() -> None:
    text = "name,born\nTansy,2042-03-01\nSorrel,2024-03-02\nYarrow,2024-03-01\n"
    report = animals_from_csv(text.encode(), "herd.csv", None, Rules(day=date(2024, 3, 1)))
    assert [(problem.line, problem.kind, problem.message) for problem in report.problems] == [
        (2, Trouble.DOUBT, "2042-03-01 is yet to come."),
        (3, Trouble.DOUBT, "2024-03-02 is yet to come."),
    ]
    assert len(report.animals) == 3
    assert not read(text).problems


def test_the_same_dam_in_other_letters_is_no_contradiction() -> None:
    known = Register([Animal("t", name="Tansy", dam="Bryony", sire="UK 0 123456 00002")])
    report = read("name,dam,sire\nTansy,BRYONY,uk0-123456-00002\n", known)
    assert not report.problems
    (problem,) = read("name,dam\nTansy,Bryony 2\n", known).problems
    assert problem.kind is Trouble.CONFLICT


@pytest.mark.parametrize(
    ("text", "is_in_milk"),
    [
        *((text, True) for text in ("yes", "Y", "TRUE", "1", "x")),
        *((text, False) for text in ("no", "N", "False", "0", "")),
    ],
)
def test_words_for_yes_and_no(text: str, is_in_milk: bool) -> None:
    (tansy,) = read(f"name,in milk\nTansy,{text}\n").animals
    assert tansy.in_milk is is_in_milk


def test_an_apostrophe_that_guards_nothing_is_part_of_the_name() -> None:
    assert [animal.name for animal in read("name\n'tis\n'=Ivy\n'\n").animals] == ["'tis", "=Ivy", "'"]


def test_fewer_cells_than_headings_are_empty_cells() -> None:
    (animal,) = read("name,number,notes\nTansy,1\n").animals
    assert animal.notes == ""


KNOWN = Register(
    [
        Animal("t", name="Tansy", number="401", tag="X1", notes="old notes", past_tags=(Tag("official", "X0"),)),
        Animal("s", name="Sorrel", number="417"),
        Animal("b1", name="Burdock", number="503"),
        Animal("b2", name="Burdock", number="504"),
    ]
)


def test_known_animals_are_found_again_and_keep_what_the_file_does_not_say() -> None:
    report = read("tag,number,name,notes\nx1,,,new notes\n,417,Sorrel,\n,999,Ivy,\n,504,,fat\n", KNOWN)
    tansy, sorrel, ivy, burdock = report.animals
    assert (tansy.id, tansy.name, tansy.number, tansy.notes) == ("t", "Tansy", "401", "new notes")
    assert sorrel == KNOWN.animal("s")
    assert burdock.id == "b2"
    assert report.changed == ("t", "b2")
    assert report.new == (ivy.id,)
    assert not report.problems


@pytest.mark.parametrize(
    ("held", "told", "is_conflict"),
    [
        ("female", "male", True),
        ("female", "wether", True),
        ("castrated", "male", True),
        ("male", "wether", False),
        ("unknown", "female", False),
        ("female", "?", False),
        ("female", "doe", False),
    ],
)
def test_another_sex_is_a_contradiction_unless_it_was_not_known_or_cut(held: str, told: str, is_conflict: bool) -> None:
    known = Register([Animal("d", name="Dock", sex=Sex(held))])
    problems = read(f"name,sex\nDock,{told}\n", known).problems
    assert [problem.kind for problem in problems] == ([Trouble.CONFLICT] if is_conflict else [])


def test_a_tag_is_free_once_its_animal_has_another() -> None:
    report = read("id,tag,name\nt,X9,\nnew,X1,Ivy\n", KNOWN)
    assert not report.problems
    assert [(animal.name, animal.tag) for animal in report.animals] == [("Tansy", "X9"), ("Ivy", "X1")]
    (problem,) = read("id,tag,name\nnew,X1,Ivy\nt,X9,\n", KNOWN).problems
    assert "Tansy (401) of the register has this tag" in problem.message


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name,notes\nBurdock,fat", "Burdock (503) and Burdock (504)"),
        ("tag,notes\nX0,fat", "former tag of Tansy"),
        ("id,name,tag\nnew,Ivy,X1", "Tansy (401) of the register has this tag"),
    ],
)
def test_a_row_that_contradicts_the_register_is_reported(text: str, words: str) -> None:
    report = read(text, KNOWN)
    assert report.animals == ()
    assert words in report.problems[0].message


def test_animals_read_make_a_register_with_those_known() -> None:
    report = read("tag,number,name\nX1,,\nX7,401,Tansy\n,5,Ivy\n,5,Ivy\n", KNOWN)
    merged = {animal.id: animal for animal in [*KNOWN, *report.animals]}
    assert len(Register(merged.values())) == 7
