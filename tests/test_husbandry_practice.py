"""What a holding's settings file may say of intervals, rules, ranges and medicines."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.errors import BadSetting
from assistant.husbandry.practice import Medicine, Practice, Recheck
from assistant.settings import settings
from assistant.values import Grade, Species

FULL = """
minutes = 5
overgrown_days = 10
ready_days = 42
kinship_limit = 0.03
heritable = ["extra teat", "horn bud"]
[trim_days]
goats = 42
[group_trim_days]
"Young Stock" = 84
[condition]
goats = [2.5, 3.5]
[[recheck]]
findings = ["scald", "foot rot"]
days = 7
[[recheck]]
findings = ["overgrown"]
grade = "severe"
days = 21
what = "re-trim"
[[medicine]]
name = "Blue  Spray"
meat_days = 0
milk_hours = 84
[[medicine]]
name = "Hedge Drench"
meat_days = 28
milk_days = 7
from = "vet"
for_food_animals = false
"""


def told(folder: Path, text: str) -> Practice:
    file = folder / "settings.toml"
    file.write_text(text, encoding="utf-8")
    return settings(file).practice


def test_every_setting_is_read(tmp_path: Path) -> None:
    got = told(tmp_path, FULL)
    assert (got.minutes, got.overgrown_days, got.ready_days, got.kinship_limit) == (5, 10, 42, 0.03)
    assert got.heritable == ("extra teat", "horn bud")
    assert told(tmp_path, "heritable = []").heritable == ()
    got = told(tmp_path, FULL)
    assert got.trim_interval(Species.GOAT, "milkers") == 42
    assert got.trim_interval(Species.SHEEP, "") == 0
    assert got.trim_interval(Species.SHEEP, "young stock") == 84
    assert got.condition == {Species.GOAT: (2.5, 3.5), Species.SHEEP: (2.5, 3.5)}
    assert got.rules == (
        Recheck(("scald", "foot rot"), 7),
        Recheck(("overgrown",), 21, Grade.SEVERE, "re-trim"),
    )
    assert got.medicine("blue spray") == Medicine("Blue Spray", 0, 84)
    assert got.medicine("HEDGE DRENCH") == Medicine("Hedge Drench", 28, 168, "vet", is_label_for_food=False)
    assert got.medicine("unknown") == Medicine("unknown", None, None)
    assert told(tmp_path, "") == Practice()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("heritable = 'x'", ["heritable", "list"]),
        ("minutes = 0", ["minutes", "0", "0.1 to 600"]),
        ("minutes = true", ["minutes", "True"]),
        ("minutes = nan", ["minutes", "nan"]),
        ("ready_days = -1", ["ready_days", "-1", "0 to 730"]),
        ("kinship_limit = 6.25", ["kinship_limit", "0 to 1"]),
        ("group_trim_days = 3", ["group_trim_days", "[group_trim_days]"]),
        ("[group_trim_days]\nx = 1.5", ["group_trim_days.x", "1.5"]),
        ("[condition]\ncows = [1, 2]", ["'condition.cows'", "goats, sheep"]),
        ("[condition]\ngoats = [4, 2]", ["condition.goats", "lowest score first"]),
        ("[condition]\ngoats = 3", ["condition.goats", "[2.5, 4.0]"]),
        ("recheck = 3", ["recheck", "[[recheck]]"]),
        ("[[recheck]]\ndays = 3", ["recheck 1", "'findings'"]),
        ("[[recheck]]\nfindings = []\ndays = 3", ["recheck 1, findings"]),
        ('[[recheck]]\nfindings = ["scald"]\ndays = 3\ngrade = "awful"', ["grade", "'awful'", "slight"]),
        ('[[recheck]]\nfindings = ["scald"]\ndays = 3\nday = 3', ["'recheck 1.day'"]),
        ("[[medicine]]\nmeat_days = 3", ["medicine 1", "'name'"]),
        ('[[medicine]]\nname = ""', ["medicine 1, name", "text"]),
        ('[[medicine]]\nname = "a"\nmilk_days = 1\nmilk_hours = 24', ["milk_days and milk_hours"]),
        ('[[medicine]]\nname = "a"\nfrom = "neighbour"', ["medicine 1, from", "label"]),
        ('[[medicine]]\nname = "a"\nfor_food_animals = 1', ["for_food_animals", "true or false"]),
        ('[[medicine]]\nname = "a"\n[[medicine]]\nname = "A"', ["twice"]),
    ],
)
def test_what_cannot_be_is_said_with_its_key(tmp_path: Path, text: str, said: list[str]) -> None:
    with pytest.raises(BadSetting) as refused:
        told(tmp_path, text)
    assert all(part in str(refused.value) for part in [*said, "settings.toml"]), str(refused.value)
