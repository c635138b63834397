"""Damage in the store, byte by byte: what leaves it is made, or one sentence says why not; never a traceback."""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from assistant.cli.main import ExitStatus, run
from assistant.store.store import Store
from tests.records_stage import filled

COMMANDS = (
    ["report", "--out", "{out}", "--sound"],
    ["calendar", "--out", "{out}/handling.ics"],
    ["tables", "--out", "{out}"],
    ["replay", "--no-sound"],
    ["retain", "--days", "0"],
    ["backup", "{out}/herd.backup"],
)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of three sessions in one file, and a copy as another machine's."""
    folder = tmp_path_factory.mktemp("whole")
    stage = filled(folder)
    stage.store.close()
    with sqlite3.connect(folder / "herd.db") as raw:
        raw.execute("PRAGMA journal_mode = DELETE")
    raw.close()
    shutil.copy(folder / "herd.db", folder / "other.db")
    return folder


def damaged(whole: Path, target: Path, seed: int) -> Path:
    """A copy with some bytes changed."""
    shutil.copytree(whole, target)
    content = bytearray((target / "herd.db").read_bytes())
    chance = random.Random(seed)
    for _ in range(1 + seed % 4):
        content[chance.randrange(100, len(content))] ^= 1 << chance.randrange(8)
    (target / "herd.db").write_bytes(content)
    return target / "herd.db"


@pytest.mark.parametrize("seed", range(10))
def test_flipped_bytes_are_found_or_do_no_harm(whole, tmp_path, capsys, seed) -> None:
    store = damaged(whole, tmp_path / "herd", seed)
    for words in (*COMMANDS, ["merge", str(store.with_name("other.db"))]):
        spelt = [word.format(out=tmp_path / "out") for word in words]
        status = run(["--store", str(store), *spelt])
        said = capsys.readouterr().err
        assert status in (ExitStatus.OK, ExitStatus.FAILED, ExitStatus.PARTLY)
        assert status == ExitStatus.OK or said.startswith("assistant: ")


@pytest.mark.parametrize("table", ["event", "entry", "animal", "remark"])
def test_a_record_that_is_not_what_it_was_is_named(whole, tmp_path, capsys, table) -> None:
    """The file holds together, but a record in it is no record any more."""
    shutil.copytree(whole, tmp_path / "herd")
    store = tmp_path / "herd" / "herd.db"
    column = "flat" if table == "entry" else "payload"
    with sqlite3.connect(store) as raw:
        raw.execute("DROP TRIGGER IF EXISTS event_no_update")
        first = " WHERE rowid = 1" if table in ("event", "entry") else ""
        raw.execute(f"""UPDATE {table} SET {column} = '{{"odd": 1}}'{first}""")
    raw.close()
    statuses = set()
    for words in COMMANDS:
        statuses.add(run(["--store", str(store), *[word.format(out=tmp_path / "out") for word in words]]))
        assert "Traceback" not in capsys.readouterr().err
    assert statuses <= {ExitStatus.OK, ExitStatus.FAILED, ExitStatus.PARTLY}
    with Store.open(store, read_only=True) as held:
        assert held.check()
