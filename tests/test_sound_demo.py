"""The tables behind the recordings hold together: meanings are valid, files match the table, animals exist."""

from __future__ import annotations

import csv
import io
import json
from itertools import pairwise
from pathlib import Path

import pytest
import soundfile as sf
from demo_script import LINES, REGISTER
from farm_sentences import SENTENCES, register
from meaning_table import Flats

from assistant.values import part_from

DEMO = Path(__file__).parent.parent / "demo_audio"
SCRIPT = [json.loads(line) for line in (DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines()]


def called(text: str) -> set[str]:
    rows = list(csv.DictReader(io.StringIO(text)))
    return {row["name"] for row in rows} | {row["number"] for row in rows}


@pytest.mark.parametrize(
    ("remarks", "animals"),
    [([(line.say, line.expect) for line in LINES], called(REGISTER)), (SENTENCES, called(register()))],
    ids=["demo", "farm"],
)
def test_every_meaning_is_a_list_of_parts_and_every_animal_is_in_the_register(
    remarks: list[tuple[str, Flats]], animals: set[str]
) -> None:
    for say, expect in remarks:
        assert [part_from(flat).flat() for flat in expect] == expect, say
        assert {flat["animal"] for flat in expect if "animal" in flat} <= animals, say


def test_the_script_is_the_table() -> None:
    assert [(line["voice"], line["animal"], line["expect"]) for line in SCRIPT] == [
        (line.voice, line.table, line.expect) for line in LINES
    ]
    assert (DEMO / "register.csv").read_text(encoding="utf-8") == REGISTER
    assert sum(bool(line["expect"]) for line in SCRIPT) >= 70
    assert sum(not line["expect"] for line in SCRIPT) >= 6


def test_the_recordings_are_as_long_as_the_script_and_small() -> None:
    files = [DEMO / "session.flac", DEMO / "session_noisy.flac"]
    for info in map(sf.info, map(str, files)):
        assert (info.samplerate, info.channels) == (16000, 1)
        assert SCRIPT[-1]["end_s"] < info.duration < SCRIPT[-1]["end_s"] + 5
    assert sum(path.stat().st_size for path in files) < 8_000_000
    for before, after in pairwise(SCRIPT):
        assert 1.25 < after["start_s"] - before["end_s"] < 2.6


def test_farm_sentences_are_many_and_all_different() -> None:
    assert len({say for say, _ in SENTENCES}) == len(SENTENCES) >= 120
