"""The register changed by hand while another program changes it too: nothing is undone, no tag is given twice."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.errors import BadRegister
from assistant.records.held_register import read_register
from assistant.records.registering import Registering, shown, value_of
from assistant.store.store import Store
from assistant.values import Animal
from tests.store_stage import START


@pytest.fixture
def two(tmp_path: Path) -> Iterator[tuple[Registering, Registering]]:
    """The same register open in two programs."""
    with Store.open(tmp_path / "herd.db") as one, Store.open(tmp_path / "herd.db") as other:
        one.save_animals([Animal("t", name="Tansy"), Animal("s", name="Sorrel")], START)
        yield Registering(one, read_register, lambda: START), Registering(other, read_register, lambda: START)


def animal(registering: Registering, key: str) -> Animal:
    found = registering.register.animal(key)
    assert found is not None
    return found


def test_a_change_leaves_what_another_program_changed(two) -> None:
    one, other = two
    seen = animal(other, "t")
    one.change(animal(one, "t"), "group", "milkers")
    other.change(seen, "status", "sold")
    assert (animal(other, "t").group, animal(other, "t").status) == ("milkers", "sold")


def test_a_tag_that_another_program_gave_is_not_given_again(two) -> None:
    one, other = two
    one.change(animal(one, "t"), "tag", "UK 0 123456 00001")
    with pytest.raises(BadRegister, match=r"Tansy .* and Sorrel .* have the same tag"):
        other.change(animal(other, "s"), "tag", "UK0 123456-00001")
    assert animal(other, "s").tag == ""


def test_an_animal_that_another_program_added_is_not_added_again(two) -> None:
    one, other = two
    one.add("Yarrow")
    with pytest.raises(BadRegister, match="There is Yarrow in the herd already"):
        other.add("yarrow")


def test_a_file_is_looked_at_again_if_the_register_has_changed_since(two, tmp_path: Path) -> None:
    one, other = two
    file = tmp_path / "herd.csv"
    file.write_text("name,group\nTansy,milkers\n", encoding="utf-8")
    preview = other.preview(file)
    one.change(animal(one, "t"), "notes", "steady")
    with pytest.raises(BadRegister, match="Look at the file once more"):
        other.take(preview)
    assert other.take(other.preview(file)) == 1
    assert (animal(other, "t").notes, animal(other, "t").group) == ("steady", "milkers")


@pytest.mark.parametrize(
    "names", [(), ("Tans",), ("Big Red", "Nellie"), ('the "Queen"; of all', "a|b", " padded "), ("",)]
)
def test_nicknames_are_shown_as_they_would_be_typed(names) -> None:
    typed = shown(Animal("t", name="Tansy", nicknames=names), "nicknames")
    assert value_of("nicknames", typed) == names


def test_a_birth_that_is_yet_to_come_is_told(two) -> None:
    one, _ = two
    assert "Tansy: the birth, 2099-03-01, is yet to come." in one.change(animal(one, "t"), "born", "1 Mar 2099")
    assert one.change(animal(one, "t"), "born", "1 Mar 2021") == ""
