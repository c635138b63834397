"""The register by its keys: what is found, added, changed and brought in is in the store."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import date
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from assistant.cli.register_face import register_screen
from assistant.errors import BadRegister
from assistant.records.registering import value_of
from assistant.screens.face import Face
from assistant.screens.lines import Lines
from assistant.screens.register_screen import Previewing, RegisterScreen
from assistant.store.store import Store
from assistant.values import Animal, Sex
from tests.live_stage import ANIMALS, START
from tests.screen_stage import reads, sheet_up

pytestmark = pytest.mark.asyncio


class Kept:
    """The register at a terminal that is not there, and the store behind it."""

    def __init__(self, pilot: Pilot[int], store: Store) -> None:
        self.pilot, self.store = pilot, store

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def write(self, text: str) -> None:
        """Types into the sheet that comes up, in place of what stands there, and presses Enter."""
        await sheet_up(self.pilot)
        self.pilot.app.screen.query_one(Input).value = text
        await self.press("enter")
        await self.pilot.pause()

    def animal(self, label: str) -> Animal:
        return next(one for one in self.store.animals() if one.label == label)

    def text(self, where: str) -> str:
        return reads(self.pilot, where)


@asynccontextmanager
async def register(folder: Path) -> AsyncIterator[Kept]:
    with Store.open(folder / "herd.db") as store:
        store.save_animals(ANIMALS, START)
        app = Face(lambda: register_screen(store))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await pilot.pause()
            yield Kept(pilot, store)


async def test_animals_are_found_and_all_shown_again(tmp_path) -> None:
    async with register(tmp_path) as kept:
        await kept.press("slash", *"423", "enter")
        assert "1 found" in kept.text("#head")
        assert kept.pilot.app.screen.animal.name == "Yarrow"
        await kept.press("escape")
        assert "3 in the herd, 3 in all" in kept.text("#head")
        assert kept.pilot.app.screen.animal.name == "Yarrow", "the cursor stays where it was"


async def test_an_animal_is_added_and_its_particulars_changed(tmp_path) -> None:
    async with register(tmp_path) as kept:
        await kept.press("n")
        await kept.write("Campion")
        assert kept.animal("Campion").status == "in herd"
        for field, text in (("born", "2024-03-14"), ("sex", "female"), ("number", "430"), ("nicknames", "Cam; Campy")):
            await kept.press("e")
            await kept.write(field)
            await kept.write(text)
        campion = kept.animal("Campion")
        assert (campion.born, campion.sex, campion.number) == (date(2024, 3, 14), Sex.FEMALE, "430")
        assert campion.nicknames == ("Cam", "Campy")
        await kept.press("e")
        await kept.write("born")
        await kept.write("")
        assert kept.animal("Campion").born is None


MARKS = [("s", "sold"), ("x", "dead")]


@pytest.mark.parametrize(("key", "status"), MARKS)
async def test_what_became_of_an_animal_is_marked_and_taken_back(tmp_path, key, status) -> None:
    async with register(tmp_path) as kept:
        await kept.press(key)
        assert kept.animal("Tansy").status == status
        assert "2 in the herd, 3 in all" in kept.text("#head")
        await kept.press("h")
        assert kept.animal("Tansy").status == "in herd"


async def test_in_kid_and_in_milk(tmp_path) -> None:
    async with register(tmp_path) as kept:
        await kept.press("k")
        await kept.write("2027-03-14")
        assert kept.animal("Tansy").due == date(2027, 3, 14)
        assert "due 2027-03-14" in kept.text(".happened")
        await kept.press("k")
        await kept.write("")
        assert kept.animal("Tansy").due is None
        await kept.press("m")
        assert kept.animal("Tansy").in_milk
        await kept.press("m")
        assert not kept.animal("Tansy").in_milk


WRONG = [
    ("born", "the day before yesterday"),
    ("electronic", "12345"),
    ("sex", "perhaps"),
    ("species", ""),
    ("status", "no"),
    ("name", "Tan\nsy"),
    ("notes", "lame\x1b[2J"),
]


@pytest.mark.parametrize(("field", "text"), WRONG)
async def test_what_does_not_fit_is_refused(field, text) -> None:
    with pytest.raises(BadRegister):
        value_of(field, text)


async def test_a_dash_for_a_tag_takes_it_away_and_notes_may_have_lines() -> None:
    assert (value_of("tag", "-"), value_of("number", "?"), value_of("markings", "-")) == ("", "", "-")
    assert value_of("notes", "lame\nin autumn ") == "lame\nin autumn"


async def test_words_for_a_status_are_those_of_an_import() -> None:
    assert [value_of("status", text) for text in ("alive", "Sold", "lent to Ann")] == ["in herd", "sold", "lent to Ann"]


async def test_a_tag_belongs_to_one_animal_and_a_name_is_not_given_twice(tmp_path) -> None:
    async with register(tmp_path) as kept:
        await kept.press("e")
        await kept.write("tag")
        await kept.write("UK 0 123456 00417")
        await kept.press("down", "e")
        await kept.write("tag")
        await kept.write("UK 0 123456 00417")
        assert "have the same tag" in kept.text(".happened")
        assert kept.animal("Sorrel").tag == ""
        await kept.press("n")
        await kept.write("tansy")
        assert "in the herd already" in kept.text(".happened")
        assert len(kept.store.animals()) == 3


async def test_a_file_is_brought_in_after_a_preview(tmp_path) -> None:
    file = tmp_path / "herd.csv"
    file.write_text("number,name,group\n417,Tansy,dairy\n440,Teasel,dairy\n441,,\n,,\n", encoding="utf-8")
    async with register(tmp_path) as kept:
        await kept.press("i")
        for odd in (tmp_path / "nothing.csv", "~nobody/herd.csv", "a" * 5000):
            await kept.write(str(odd))
            assert "There is no such file" in kept.text(".problem")
        await kept.write(str(file))
        sheet = kept.pilot.app.screen
        assert isinstance(sheet, Previewing)
        lines = sheet.query_one(Lines)
        rows = [lines.row(n, 200).text for n in range(lines.n_rows())]
        assert any("changed Tansy (417) group: — → dairy" in row for row in rows)
        assert any("new Teasel (440)" in row for row in rows)
        await kept.press("n")
        assert len(kept.store.animals()) == 3
        assert "Nothing was brought in" in kept.text(".happened")
        await kept.press("i")
        await kept.write(str(file))
        await kept.press("y")
        assert kept.animal("Tansy").group == "dairy"
        assert {animal.label for animal in kept.store.animals()} >= {"Teasel", "441"}


async def test_the_empty_register_takes_its_first_animal(tmp_path) -> None:
    with Store.open(tmp_path / "herd.db") as store:
        app = Face(lambda: register_screen(store))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await pilot.pause()
            kept = Kept(pilot, store)
            assert isinstance(pilot.app.screen, RegisterScreen)
            await kept.press("n")
            await kept.write("0417")
            assert [animal.number for animal in store.animals()] == ["0417"]
