"""A register written as a table is read back without loss, and no spreadsheet takes a cell for a formula."""

from __future__ import annotations

import csv
import io
import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadRegister
from assistant.register.reading import animals_from_csv
from assistant.register.register import compact
from assistant.register.writing import to_csv
from assistant.values import Animal, Sex, Species, Tag

TEXT = st.one_of(
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc"]), max_size=8),
    st.text("=+-@\t\r\n'\";,| aé", max_size=6),
    st.sampled_from(["=1+1", "+44 1234", "-5", "@home", "'tis", "''", "\tx", "\rx", "=cmd|'/C calc'!A0", " padded "]),
)
LINE = TEXT.filter(lambda text: not re.search("[\t\r\n\x7f-\x9f\u2028\u2029]", text))
CODE = LINE.filter(lambda text: not text or any(map(str.isalnum, text)))
DAY = st.none() | st.dates(date(1950, 1, 1), date(2100, 1, 1))
TAGS = st.builds(Tag, LINE, LINE.filter(bool), DAY, DAY)
ELECTRONIC = st.just("") | st.integers(1, 2**38 - 1).map(lambda number: f"826{number:012}")


@st.composite
def herds(draw: st.DrawFn) -> list[Animal]:
    """Animals with any text that an import takes, each with an id, tag and code of its own."""
    rows = st.builds(
        Animal,
        id=LINE.filter(bool),
        tag=CODE,
        number=CODE,
        name=LINE.filter(bool),
        sex=st.sampled_from(Sex),
        born=DAY,
        dam=LINE,
        sire=LINE,
        group=LINE,
        status=LINE.filter(bool),
        notes=TEXT,
        species=st.sampled_from(Species),
        breed=LINE,
        electronic=ELECTRONIC,
        markings=LINE,
        nicknames=st.lists(LINE, max_size=3).map(tuple),
        due=DAY,
        in_milk=st.booleans(),
        past_tags=st.lists(TAGS, max_size=2).map(tuple),
    )
    found = draw(st.lists(rows, max_size=4))
    taken: set[tuple[str, str]] = set()
    for animal in found:
        own = {("id", animal.id), ("tag", compact(animal.tag)), ("electronic", animal.electronic)}
        own = {(name, code) for name, code in own if code}
        if own & taken:
            return []
        taken |= own
    return found


@given(herds())
def test_nothing_is_lost(herd: list[Animal]) -> None:
    report = animals_from_csv(to_csv(herd), "herd.csv")
    assert list(report.animals) == herd


@given(herds())
def test_no_cell_begins_like_a_formula(herd: list[Animal]) -> None:
    rows = csv.reader(io.StringIO(to_csv(herd).decode("utf-8-sig"), newline=""))
    assert not [cell for row in rows for cell in row if cell.startswith(tuple("=+-@\t\r"))]


def test_the_file_is_plain_rfc_4180() -> None:
    data = to_csv([Animal("a", name='Tansy "T", the elder', number="041")])
    assert data.startswith(b"\xef\xbb\xbfid,tag,number,name,")
    assert data.endswith(b"\r\n")
    assert b',041,"Tansy ""T"", the elder",' in data


@pytest.mark.parametrize("text", ["a\x00b", "\x1f", "\ud800"])
def test_text_that_no_table_can_hold_is_refused(text: str) -> None:
    with pytest.raises(BadRegister, match=r"Tansy: notes has a character"):
        to_csv([Animal("a", name="Tansy", notes=text)])
