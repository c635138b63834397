"""Anything at all may be in a file or on the keyboard: a clear sentence or an answer, never a traceback."""

from __future__ import annotations

import io
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.cli.main import ExitStatus, run
from assistant.errors import AssistantError
from assistant.grammar import Grammar
from assistant.interpreter import Interpreter
from assistant.live.farm import Farm
from assistant.records.held_register import read_register
from assistant.register.reading import animals_from_csv
from assistant.register.register import Register
from assistant.sound.recording import blocks
from assistant.store.store import Store

DEMO = Path(__file__).parent.parent / "demo_audio"
MANY = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
FEW = settings(MANY, max_examples=12)
WORDS = "left right hind fore tansy done no , . ? 417 tag crack both all four between the claws note check in two weeks"


@pytest.fixture(scope="module")
def interpreter() -> Interpreter:
    return Farm(Register(read_register(DEMO / "register.csv").animals)).interpreter


@MANY
@given(st.text(max_size=80))
def test_what_an_unknown_word_means_is_left_over(interpreter: Interpreter, text: str) -> None:
    assert "qzqzqz" in interpreter.typed(f"{text} qzqzqz").unplaced


@MANY
@given(st.lists(st.sampled_from(WORDS.split()), max_size=9).map(" ".join))
def test_words_of_the_trade_in_any_order_have_one_too(interpreter: Interpreter, text: str) -> None:
    assert interpreter.typed(text) == interpreter.typed(text)


def refusal(attempt: Callable[[], object]) -> str | None:
    """What the user is told; None if it went well. Any other error than ours fails the test."""
    try:
        attempt()
    except AssistantError as error:
        return str(error)
    return None


@MANY
@given(st.one_of(st.text(max_size=200), st.text("public <>=;|()[]{}*/\n", max_size=200)))
def test_any_grammar_is_read_or_refused_with_its_place(text: str) -> None:
    told = refusal(lambda: Grammar.load([("own.jsgf", "#JSGF V1.0;\ngrammar own;\n" + text)]))
    assert told is None or "own" in told


@MANY
@given(st.one_of(st.binary(max_size=300), st.text("tag,number\n\"';=+-@\t\r0123", max_size=200).map(str.encode)))
def test_any_table_is_read_or_refused(table: bytes) -> None:
    told = refusal(lambda: animals_from_csv(table, "herd.csv"))
    assert told is None or "herd.csv" in told


@MANY
@given(st.sampled_from([b"", b"RIFF", b"fLaC", b"OggS", b"ID3", b"\xff\xfb"]), st.binary(max_size=400))
def test_any_recording_is_read_or_refused(tmp_path: Path, start: bytes, rest: bytes) -> None:
    file = tmp_path / "a.sound"
    file.write_bytes(start + rest)
    told = refusal(lambda: list(blocks(file)))
    assert told is None or "a.sound" in told


@FEW
@given(st.sampled_from([b"", b"SQLite format 3\x00"]), st.binary(min_size=1, max_size=600))
def test_any_store_is_opened_or_refused_and_left_as_it_is(tmp_path: Path, start: bytes, rest: bytes) -> None:
    file = tmp_path / "herd.db"
    file.write_bytes(start + rest)
    told = refusal(lambda: Store.open(file).close())
    assert told is None or "herd.db" in told
    assert told is None or file.read_bytes() == start + rest


@FEW
@given(st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=30), max_size=8))
def test_a_typed_session_survives_any_lines(lines: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder, patch.object(sys, "stdin", io.StringIO("\n".join(["tansy", *lines]))):
        store = ["--store", str(Path(folder) / "herd.db")]
        assert run([*store, "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
        assert run([*store, "type"]) == ExitStatus.OK
        assert run([*store, "summary"]) == ExitStatus.OK


LONG = "a" * 5000
"""A name that no file can have."""


@pytest.mark.parametrize(
    "words",
    [
        ["summary"],
        ["merge", LONG],
        ["backup", LONG],
        ["restore", LONG],
        ["rehear", "--resume", LONG],
        ["calendar", "--out", LONG],
        ["register", "import", LONG],
        ["plan", "--codes", LONG],
        ["session", "--from", LONG],
        ["models", "add", LONG],
    ],
    ids=lambda words: words[0],
)
def test_a_name_that_no_file_can_have_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    store = ["--store", LONG if words == ["summary"] else str(tmp_path / "herd.db")]
    if words[0] not in ("summary", "restore"):
        assert run([*store, "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
    assert run([*store, *words]) == ExitStatus.FAILED
    told = capsys.readouterr().err
    assert LONG in told
    assert told.startswith("assistant: ")
