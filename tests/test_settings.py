"""Where data lives and what the keeper's settings file may say."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from assistant.errors import BadSetting
from assistant.session.state import Policy
from assistant.settings import LAMENESS_SCALES, Aloud, Settings, places, settings
from assistant.values import Species


def told(folder: Path, text: str) -> Settings:
    file = folder / "settings.toml"
    file.write_text(text, encoding="utf-8")
    return settings(file)


def test_without_option_or_variable_data_is_in_the_users_own_folder() -> None:
    found = places(environ={})
    assert found.folder.is_absolute()
    assert found.folder.name == "handling-assistant"
    assert (found.store.name, found.grammars.name, found.settings.name) == ("herd.db", "grammars", "settings.toml")


def test_the_variable_moves_everything_and_the_option_wins(tmp_path: Path) -> None:
    environ = {"ASSISTANT_DATA": str(tmp_path / "moved")}
    assert places(environ=environ).store == tmp_path / "moved" / "herd.db"
    found = places(tmp_path / "goats.db", environ)
    assert found.store == tmp_path / "goats.db"
    assert found.grammars == tmp_path / "grammars"
    assert places(environ={"ASSISTANT_DATA": ""}) == places(environ={})
    assert "~" not in str(places(environ={"ASSISTANT_DATA": "~/herd"}).store)


def test_a_home_that_is_not_there_is_told() -> None:
    for store, environ in (
        (Path("~nobody-of-that-name/herd.db"), {}),
        (None, {"ASSISTANT_DATA": "~nobody-of-that-name"}),
    ):
        with pytest.raises(BadSetting, match=r"~nobody-of-that-name.* cannot be found"):
            places(store, environ)


def test_the_programs_own_environment_is_used_by_default(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(os.environ, "ASSISTANT_DATA", str(tmp_path))
    assert places().folder == tmp_path


def test_no_file_and_an_empty_file_leave_the_usual(tmp_path: Path) -> None:
    usual = settings(tmp_path / "missing.toml")
    assert usual == told(tmp_path, "") == Settings()
    assert usual.policy is Policy.NORMAL
    assert usual.trim_days == {Species.GOAT: 56, Species.SHEEP: 0}
    assert {species: scale.name for species, scale in usual.lameness.items()} == {
        Species.GOAT: "1-5",
        Species.SHEEP: "0-6",
    }


def test_every_setting_is_read(tmp_path: Path) -> None:
    got = told(
        tmp_path,
        '\ufeffholding = "Hédgerow Bank"\npolicy = "careful"\n[lameness]\ngoats = "1-4"\n[trim_days]\nsheep = 120\n',
    )
    assert (got.holding, got.policy) == ("Hédgerow Bank", Policy.CAREFUL)
    assert got.lameness[Species.GOAT] == LAMENESS_SCALES[Species.GOAT]["1-4"]
    assert got.lameness[Species.SHEEP].high == 6
    assert got.trim_days == {Species.GOAT: 56, Species.SHEEP: 120}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("policy = 'loud'", ["policy", "'loud'", '"careful", "normal", "quick"']),
        ("policy = 3", ["policy", "3", '"careful"']),
        ("policy = ['normal']", ["policy", '"careful"']),
        ("holding = 7", ["holding", "7", "text"]),
        ("farm = 'x'", ["'farm'", '"holding", "policy", "lameness", "trim_days"']),
        ("lameness = '1-5'", ["lameness", "[lameness]"]),
        ("[lameness]\ngoats = '0-6'", ["lameness.goats", "'0-6'", '"1-5", "1-4"']),
        ("[lameness]\nsheep = [1]", ["lameness.sheep", '"0-6", "0-3"']),
        ("[lameness]\ncows = '1-5'", ["'lameness.cows'", '"goats", "sheep"']),
        ("[trim_days]\ngoats = -1", ["trim_days.goats", "-1", "730"]),
        ("[trim_days]\ngoats = 731", ["trim_days.goats", "731"]),
        ("[trim_days]\ngoats = true", ["trim_days.goats", "True"]),
        ("[trim_days]\nsheep = 60.5", ["trim_days.sheep", "60.5", "whole number"]),
        ("policy = \n", ["TOML", "line 1"]),
        ("policy = " + "[" * 5000, ["TOML"]),
        ("keep_sound_days = " + "9" * 5000, ["TOML"]),
        ("keep_sound_days = 99999999", ["keep_sound_days", "99999999", "36525"]),
        ("keep_sound_days = -1", ["keep_sound_days", "-1", "0 to 36525"]),
        ('holding = "Hedge\\nrow"', ["holding", "line break"]),
        ('holding = "\\u001b[2J"', ["holding", "code 27"]),
        ("sound = 'loud'", ["sound", "[sound]"]),
        ("[sound]\nbass = 1", ["'sound.bass'", '"volume"']),
        ("[sound]\nsay = 'all'", ["sound.say", "'all'", '"voice", "tones", "nothing"']),
        ("[sound]\nvolume = 1.5", ["sound.volume", "1.5", "0 to 1"]),
        ("[sound]\nvolume = true", ["sound.volume", "True", "number"]),
        ("[sound]\nvolume = nan", ["sound.volume", "nan"]),
        ("[sound]\nrate = 3", ["sound.rate", "3", "0.5 to 2"]),
        ("[sound]\npause_s = 0.1", ["sound.pause_s", "0.1", "0.3 to 2"]),
        ("[sound]\npause_s = nan", ["sound.pause_s", "nan", "0.3 to 2"]),
        ("[sound]\nmicrophone = 2", ["sound.microphone", "2", "text"]),
        ("[sound]\nheadset = 1", ["sound.headset", "true or false"]),
    ],
)
def test_what_is_not_allowed_is_refused_with_file_key_and_choice(tmp_path: Path, text: str, said: list[str]) -> None:
    with pytest.raises(BadSetting) as refused:
        told(tmp_path, text)
    for words in [str(tmp_path / "settings.toml"), *said]:
        assert words in str(refused.value)


def test_a_file_that_is_no_text_or_no_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_bytes(b"holding = '\xff'")
    with pytest.raises(BadSetting, match="UTF-8"):
        settings(tmp_path / "settings.toml")
    with pytest.raises(BadSetting, match="cannot be read"):
        settings(tmp_path)


def test_the_table_of_sound_says_what_is_heard_and_said(tmp_path: Path) -> None:
    got = told(
        tmp_path, '[sound]\nmicrophone = "lapel"\nsay = "tones"\nvolume = 1\nrate = 1.5\nheadset = true\npause_s = 1\n'
    ).aloud
    assert got == Aloud("lapel", "", "tones", 1, 1.5, True, 1)
    assert told(tmp_path, "").aloud == Aloud()
