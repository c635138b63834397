"""Freely worded sentences by people who had not seen the grammar: how many are read, and what is taken wrongly.

Nothing is said of sentences that are new: how those do stands in docs/measurements.md, "Freely worded remarks".
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from herd import ANIMALS

from assistant.interpreter import Interpreter
from assistant.live.farm import Farm
from assistant.meaning.canonical import meaning_key
from assistant.register.register import Register

HERE = Path(__file__).parent
ABOUT = ("place", "finding", "action", "command", "animal", "measure", "follow_up", "trait", "tag")
"""What a record is about; its grade, part and days may be told later."""


@cache
def interpreter() -> Interpreter:
    return Farm(Register(ANIMALS)).interpreter


def about(parts: Iterable[Mapping[str, Any]]) -> set[tuple[tuple[str, Any], ...]]:
    told = ({slot: part[slot] for slot in ABOUT if part.get(slot) is not None} for part in parts)
    return {tuple(sorted(one.items())) for one in told if set(one) - {"place"}}


@pytest.mark.parametrize(
    ("file", "least_right", "most_wrong"),
    [("chatty_unseen.jsonl", 90, 6), ("chatty_written.jsonl", 120, 12)],
)
def test_sentences_are_read_and_what_is_not_clear_is_not_taken(file, least_right, most_wrong) -> None:
    lines = [json.loads(line) for line in (HERE / file).read_text(encoding="utf-8").splitlines()]
    right, wrong = 0, []
    for line in lines:
        parts = [part.flat() for part in interpreter().typed(line["words"]).parts]
        same = interpreter().same_animal
        right += meaning_key(parts, same) == meaning_key(line["expect"], same)
        if about(parts) - about(line["expect"]):
            wrong.append(line["words"])
    assert right >= least_right
    assert len(wrong) <= most_wrong, wrong
