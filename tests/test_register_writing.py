"""A register written as a table is read back without loss, and no spreadsheet takes a cell for a formula."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadRegister
from assistant.register import cell
from assistant.register.reading import animals_from_csv
from assistant.register.register import compact
from assistant.register.writing import to_csv
from assistant.values import Animal, Sex, Species, Tag

LINE = st.one_of(
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Zl", "Zp"]), max_size=8),
    st.text("=+-@'\";,| aé", max_size=6),
    st.sampled_from(["=1+1", "+44 1234", "-5", "@home", "'tis", "''", "=cmd|'/C calc'!A0", " padded "]),
)
TEXT = st.one_of(LINE, st.text("=+-@\t\r\n'\";,| aé\u2028", max_size=6), st.sampled_from(["\tx", "\rx"]))
CODE = LINE.map(lambda text: text if any(map(str.isalnum, text)) else "")
DAY = st.none() | st.dates(date(1950, 1, 1), date(2100, 1, 1))
TAGS = st.builds(Tag, LINE, LINE.filter(bool), DAY, DAY)
ELECTRONIC = st.just("") | st.integers(1, 2**38 - 1).map(lambda number: f"826{number:012}")


def status_of(text: str) -> str:
    """A status that a register can hold: "no" says nothing, "alive" and "yes" are kept as "in herd"."""
    try:
        return cell.status(text)[0] or "in herd"
    except ValueError:
        return "in herd"


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
        status=LINE.map(status_of),
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
