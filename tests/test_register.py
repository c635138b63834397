"""The register: lookups, families, and what it refuses."""

from __future__ import annotations

import pytest

from assistant.errors import BadRegister
from assistant.register.register import Register
from assistant.values import Animal, Sex, Tag

TANSY = Animal("t", number="401", name="Tansy", tag="UK 0 123456 00401", sex=Sex.FEMALE)
RAGWORT = Animal("r", name="Ragwort", sex=Sex.MALE, tag="UK 0 123456 00002")
SORREL = Animal("s", number="417", name="Sorrel", dam="Tansy", sire="UK012345600002", sex=Sex.FEMALE)
TEASEL = Animal("e", number="418", name="Teasel", dam="401", sire="r", sex=Sex.MALE)
YARROW = Animal("y", number="419", name="Yarrow", dam="somebody sold", sire="ragwort", sex=Sex.FEMALE)
OLD_TAG = Animal("o", name="Bryony", tag="X2", past_tags=(Tag("official", "X1"),), electronic="826012345600001")
HERD = Register([TANSY, RAGWORT, SORREL, TEASEL, YARROW, OLD_TAG])


def ids(animals: tuple[Animal, ...]) -> list[str]:
    return [animal.id for animal in animals]


def test_lookups() -> None:
    assert HERD.animal("t") is TANSY
    assert HERD.animal("nobody") is None
    assert ids(HERD.named("  tANSY ")) == ["t"]
    assert ids(HERD.numbered("417")) == ["s"]
    assert ids(HERD.numbered("0417")) == []
    assert ids(HERD.tagged("uk 0-123456-00401")) == ["t"]
    assert ids(HERD.tagged("x1")) == ["o"]
    assert HERD.electronic("826 0 123456 00001") is OLD_TAG
    assert [animal.id for animal in HERD] == ["t", "r", "s", "e", "y", "o"]
    assert "t" in HERD
    assert len(HERD) == 6


def test_nobody_is_found_by_nothing() -> None:
    herd = Register([Animal("a", name="Dock", tag="-", number="-", past_tags=(Tag("official", "."), Tag("x", "")))])
    assert [herd.tagged(text) for text in ("", "-", ".")] == [(), (), ()]
    assert [herd.numbered(text) for text in ("", "-")] == [(), ()]
    assert herd.named(" ") == ()


def test_families() -> None:
    assert HERD.dam(SORREL) is TANSY
    assert HERD.sire(SORREL) is RAGWORT
    assert HERD.dam(YARROW) is None
    assert ids(HERD.offspring("r")) == ["s", "e", "y"]


def test_of_two_with_the_name_of_a_parent_the_fitting_sex_counts() -> None:
    doe, buck = Animal("d", name="Dock", sex=Sex.FEMALE), Animal("b", name="Dock", sex=Sex.MALE)
    kid = Animal("k", name="Clover", dam="Dock", sire="Dock")
    herd = Register([doe, buck, kid])
    assert herd.dam(kid) is doe
    assert herd.sire(kid) is buck
    assert Register([doe, Animal("d2", name="Dock", sex=Sex.FEMALE), kid]).dam(kid) is None


def test_with_animal_adds_and_replaces_without_touching_the_old_register() -> None:
    renamed = Animal("t", name="Tansy the Elder")
    after = HERD.with_animal(renamed).with_animal(Animal("n", number="9"))
    assert after.animal("t") is renamed
    assert [animal.id for animal in after] == ["t", "r", "s", "e", "y", "o", "n"]
    assert HERD.animal("t") is TANSY


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (Animal("n", name="Nettle", tag="uk0 123456-00401"), ("Tansy", "Nettle", "same tag")),
        (Animal("n", name="Nettle", electronic="826 012345600001"), ("Bryony", "Nettle", "same electronic code")),
        (Animal("t", name="Nettle"), ("Tansy", "Nettle", "same id")),
        (Animal("n"), ("'n'", "no tag, number or name")),
    ],
)
def test_contradictions_are_refused_naming_both(other: Animal, words: tuple[str, ...]) -> None:
    with pytest.raises(BadRegister) as error:
        Register([*HERD, other])
    assert all(word in str(error.value) for word in words)


def test_two_animals_may_share_a_name() -> None:
    assert ids(Register([Animal("a", name="Burdock"), Animal("b", name="burdock")]).named("Burdock")) == ["a", "b"]
