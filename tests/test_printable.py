"""Nothing that stands in a store steers the terminal, whatever command prints it."""

from __future__ import annotations

import io
import os
import pty
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.cli.main import run
from assistant.printable import PrintableStream, printable
from assistant.session.events import AnimalCaught, EntryMade, RemarkKept, Said, flat_event
from assistant.store.store import Store
from assistant.values import (
    ActionPart,
    Animal,
    Entry,
    FindingPart,
    FollowUpPart,
    Meaning,
    Part,
    Remark,
    SessionInfo,
    State,
)

NOW = datetime(2026, 9, 1, 6, 0, tzinfo=UTC)
ORDERS = "\x1b[2J\x1b]0;owned\x07\x9b31m\x08\r\x7f"
"""Clear the screen, change its title, ring, write in red, go back, write over the line."""


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Tansy", "Tansy"),
        ("\x1b[31mTansy\x1b[0m", "[31mTansy[0m"),
        ("\x9b31mTansy\x07", "31mTansy"),
        ("two\nlines\tand a tab", "twolinesand a tab"),
        ("\u202eysnaT", "ysnaT"),
        ("草原 é 🐐", "草原 é 🐐"),
    ],
)
def test_no_character_is_an_order_to_the_terminal(text, expected) -> None:
    assert printable(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a table\tof\r\ntwo lines\n", "a table\tof\r\ntwo lines\n"),
        ("Tansy dead\rTansy fine", "Tansy deadTansy fine"),
        (f"Tansy{ORDERS}\u2028\u2066", "Tansy[2J]0;owned31m"),
    ],
)
def test_a_stream_keeps_its_lines_and_nothing_else_that_moves(text, expected) -> None:
    taken = io.StringIO(newline="")
    assert PrintableStream(taken).write(text) == len(text)
    assert taken.getvalue() == expected


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store in which every text that comes from outside holds orders."""
    path = tmp_path_factory.mktemp("hostile") / "herd.db"
    animal = Animal("a1", number=f"417{ORDERS}", name=f"Tansy{ORDERS}", tag=f"UK1{ORDERS}", group=f"pen{ORDERS}")
    facts: tuple[Part, ...] = (
        FindingPart("left hind", f"crack{ORDERS}"),
        ActionPart("left hind", f"trimmed{ORDERS}"),
        FollowUpPart(f"check{ORDERS}", 14),
    )
    remark = Remark("r1", "s1", NOW, f"left hind crack{ORDERS}", Meaning(facts), by=f"Hazel{ORDERS}")
    with Store.open(path) as held:
        held.save_animals([animal], NOW)
        held.begin(SessionInfo("s1", NOW, planned=("a1",)))
        made = [EntryMade(Entry(f"e{n}", "a1", fact, State.HEARD, "r1", "s1", NOW)) for n, fact in enumerate(facts)]
        events = [
            AnimalCaught(NOW, "a1", "r1"),
            Said(remark),
            *made,
            RemarkKept(NOW, "r1", f"odd{ORDERS}", animals=("a1",)),
        ]
        held.append("s1", held.version("s1"), [flat_event(event) for event in events])
    return path


def at_terminal(words: list[str], typed: bytes = b"") -> bytes:
    """What a command writes to a pseudo-terminal."""
    outer, inner = pty.openpty()
    child = subprocess.Popen(
        [sys.executable, "-m", "assistant", *words],
        stdin=inner,
        stdout=inner,
        stderr=inner,
        env={**os.environ, "TERM": "dumb"},
    )
    os.close(inner)
    os.write(outer, typed)
    found = b""
    try:
        while data := os.read(outer, 65536):
            found += data
    except OSError:  # the terminal is gone with its last program
        pass
    os.close(outer)
    child.wait()
    return found


@pytest.mark.parametrize(
    "words",
    [
        "summary --text",
        "review --text --by Hazel",
        "register list",
        "replay --no-sound",
        "due",
        "feet",
        "plan",
        "sql select(name)from(animal)",
        "register nonesuch",
    ],
)
def test_what_is_printed_at_a_terminal_holds_no_orders(store, words) -> None:
    typed = b"show 1\nshow 2\nadd tansy: left hind crack\nquit\n" if "review" in words else b""
    told = at_terminal(["--store", str(store), *words.split()], typed)
    text = told.decode().replace("\r\n", "\n")
    assert words == "register nonesuch" or "Tansy" in text or "crack" in text
    assert not [ch for ch in text if not ch.isprintable() and ch != "\n"]


def test_what_is_said_of_an_error_holds_none_either(store, capsys) -> None:
    assert run(["--store", str(store), "summary", "\x1b[2Jnone"]) == 1
    assert "\x1b" not in capsys.readouterr().err
