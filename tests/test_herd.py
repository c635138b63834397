"""The herd as a session sees it: the register, what earlier sessions left in the store, the holding's scale."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from live_stage import ANIMALS, Stage, farm, told

from assistant.errors import BadSetting
from assistant.live.farm import Farm
from assistant.live.herd import Herd
from assistant.session.scale import LAMENESS
from assistant.settings import places
from assistant.store.store import Store
from assistant.values import ActionPart, FindingPart, Species

DAY = date(2026, 5, 26)


@pytest.fixture
def stage(tmp_path):
    stage = Stage(tmp_path)
    yield stage
    stage.store.close()


def herd(stage: Stage, session: str = "s9") -> Herd:
    return Herd({animal.id: animal for animal in ANIMALS}, stage.store, session)


def test_animals_are_those_of_the_register(stage) -> None:
    assert herd(stage).animal("a1") == ANIMALS[0]
    assert herd(stage).animal("a9") is None


def test_what_is_known_is_from_earlier_sessions_only(stage) -> None:
    stage.type("tansy")
    stage.type("left hind crack trimmed")
    assert herd(stage, "s1").last_visit("a1") is None
    stage.session("s2")
    last = herd(stage, "s2").last_visit("a1")
    assert last is not None
    assert (last.trimmed, last.parts) == (DAY, (FindingPart("left hind", "crack"), ActionPart("left hind", "trimmed")))
    assert herd(stage, "s2").last_visit("a2") is None


def test_the_last_visit_is_the_last_that_recorded_anything_and_the_trim_may_be_older(stage) -> None:
    stage.type("tansy")
    stage.type("left hind trimmed")
    stage.now += timedelta(days=30)
    stage.session("s2")
    stage.type("tansy")
    stage.type("right fore fine")
    stage.session("s3")
    stage.type("tansy")
    stage.session("s4")
    last = herd(stage, "s4").last_visit("a1")
    assert last is not None
    assert (last.trimmed, last.parts) == (DAY, (FindingPart("right fore", "sound"),))
    stage.now += timedelta(days=14)
    assert told(stage.type("tansy")) == "Tansy. Last trimmed six weeks ago."


def test_what_is_due(stage) -> None:
    stage.type("tansy")
    stage.type("check her in two weeks")
    stage.type("sorrel")
    stage.type("check her in ten days")
    stage.type("vet to look")
    due = herd(stage).due(DAY + timedelta(days=20))
    assert [(item.animal, item.what, (item.day - DAY).days) for item in due] == [
        ("a2", "re-check", 10),
        ("a1", "re-check", 14),
    ]
    assert herd(stage).due(DAY) == ()


def test_the_usual_scale_and_the_holdings_own(stage) -> None:
    assert herd(stage).lameness(Species.SHEEP) == LAMENESS[Species.SHEEP] == (0, 6)
    own = Herd({}, stage.store, "s9", {Species.SHEEP: (0, 3)})
    assert own.lameness(Species.SHEEP) == (0, 3)
    assert own.lameness(Species.GOAT) == (1, 5)


def test_a_score_off_the_scale_in_the_settings_is_asked(tmp_path) -> None:
    (tmp_path / "settings.toml").write_text('[lameness]\nsheep = "0-3"\n', encoding="utf-8")
    stage = Stage(tmp_path)
    held = stage.store
    handling = Farm.of(held, places(held.path)).handling(held, "s1", None)
    handling.reopen("s1")
    handling.type("yarrow", stage.now)
    outcome = handling.type("lame score five", stage.now)
    assert told(outcome) == "Lameness of sheep goes from nought to three. Say it again?"
    assert [entry.part.value for entry in handling.type("lame score two", stage.now).entries] == [2]
    held.close()


def test_settings_with_a_mistake_are_said(tmp_path) -> None:
    (tmp_path / "settings.toml").write_text('[lameness]\nsheep = "0-9"\n', encoding="utf-8")
    with Store.open(tmp_path / "herd.db") as held, pytest.raises(BadSetting, match=r"lameness\.sheep"):
        Farm.of(held, places(held.path))


def test_the_stages_animals_are_the_farms() -> None:
    assert tuple(farm().register) == ANIMALS
