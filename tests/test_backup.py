"""One file with everything, checked on both ways; damage of every kind is found and said, and the rest is usable."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.cli.main import ExitStatus, run
from assistant.errors import BadStore
from assistant.store.backup import LIST, STORE, restore
from assistant.store.store import Store
from tests.store_stage import START, entry, made, session_info, tone


@pytest.fixture
def store(tmp_path) -> Path:
    """A store with one session, one entry and three sounds, with settings and a grammar beside it."""
    folder = tmp_path / "old"
    with Store.open(folder / "herd.db") as held:
        held.begin(session_info())
        held.append("s1", 1, [made(entry("e1"))])
        for n in range(3):
            held.keep_sound("s1", tone(seed=n), START, "Rowan")
    (folder / "settings.toml").write_text('holding = "Hedge End"\n')
    (folder / "grammars").mkdir()
    (folder / "grammars" / "own.jsgf").write_text("#JSGF V1.0;\n")
    return folder / "herd.db"


@pytest.fixture
def backup(store, tmp_path) -> Path:
    file = tmp_path / "disk" / "herd.backup"
    assert run(["--store", str(store), "backup", str(file)]) == ExitStatus.OK
    return file


def test_everything_comes_back_on_another_machine(store, backup, tmp_path, capsys) -> None:
    new = tmp_path / "new" / "goats.db"
    assert run(["--store", str(new), "restore", str(backup)]) == ExitStatus.OK
    assert "restored; sounds: 3." in capsys.readouterr().out
    with Store.open(store, read_only=True) as before, Store.open(new) as after:
        assert after.check() == ()
        assert list(after.events("s1")) == list(before.events("s1"))
        assert [one.remark for one in after.pending()] == [one.remark for one in before.pending()]
        after.sound(after.pending()[0].remark)
    assert (new.parent / "settings.toml").read_text() == 'holding = "Hedge End"\n'
    assert (new.parent / "grammars" / "own.jsgf").is_file()
    assert [path.name for path in backup.parent.iterdir()] == ["herd.backup"]


def test_a_backup_is_whole_while_a_session_goes_on(store, tmp_path) -> None:
    with Store.open(store) as held:
        held.append("s1", 2, [made(entry("e2"))])  # still in the write-ahead log
        held.back_up(tmp_path / "b", {})
        held.append("s1", 3, [made(entry("e3"))])
    restore(tmp_path / "b", tmp_path / "new.db")
    with Store.open(tmp_path / "new.db") as after:
        assert [one.id for one in after.entries()] == ["e1", "e2"]


def test_nothing_is_put_onto_a_store_that_is_there(store, backup, capsys) -> None:
    before = store.read_bytes()
    assert run(["--store", str(store), "restore", str(backup)]) == ExitStatus.FAILED
    assert "already" in capsys.readouterr().err
    assert store.read_bytes() == before


def cut(backup: Path) -> None:
    backup.write_bytes(backup.read_bytes()[: backup.stat().st_size * 2 // 3])


def empty(backup: Path) -> None:
    backup.write_bytes(b"")


def other_zip(backup: Path) -> None:
    with zipfile.ZipFile(backup, "w") as archive:
        archive.writestr("a.txt", "a")


def rewritten(backup: Path, change: Callable[[dict[str, bytes]], None]) -> None:
    """The backup with other content under the same list."""
    with zipfile.ZipFile(backup) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    with zipfile.ZipFile(backup, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)


def no_store(backup: Path) -> None:
    rewritten(backup, lambda files: files.pop(STORE))


def flipped_store(backup: Path) -> None:
    rewritten(backup, lambda files: files.update({STORE: files[STORE][:500] + b"\xff" + files[STORE][501:]}))


def way_out(backup: Path) -> None:
    with zipfile.ZipFile(backup) as archive:
        told = json.loads(archive.read(LIST))
    told["sha256"]["sound/../../out.flac"] = "0"
    rewritten(backup, lambda files: files.update({LIST: json.dumps(told).encode(), "sound/../../out.flac": b"x"}))


@pytest.mark.parametrize("damage", [cut, empty, other_zip, no_store, flipped_store, way_out, Path.unlink])
def test_what_is_no_whole_backup_is_refused_and_leaves_nothing(backup, tmp_path, damage, capsys) -> None:
    damage(backup)
    new = tmp_path / "new"
    assert run(["--store", str(new / "h.db"), "restore", str(backup)]) == ExitStatus.FAILED
    said = capsys.readouterr().err
    assert backup.name in said
    assert "Traceback" not in said
    assert not new.exists() or list(new.iterdir()) == []


def test_a_damaged_sound_in_a_backup_is_named_and_the_rest_comes_back(backup, tmp_path, capsys) -> None:
    with zipfile.ZipFile(backup) as archive:
        name = next(name for name in archive.namelist() if name.startswith("sound/"))
    content = bytearray(backup.read_bytes())
    content[content.index(b"fLaC") + 200] ^= 1
    backup.write_bytes(content)
    assert run(["--store", str(tmp_path / "new.db"), "restore", str(backup)]) == ExitStatus.PARTLY
    assert name in capsys.readouterr().err
    with Store.open(tmp_path / "new.db") as after:
        assert [one.id for one in after.entries()] == ["e1"]
        assert len(after.check()) == 1


def test_sounds_that_are_missing_or_changed_are_named_and_the_rest_is_backed_up(store, tmp_path, capsys) -> None:
    lost, torn, _ = sorted((store.parent / "herd_sound").iterdir())
    lost.unlink()
    torn.write_bytes(b"fLaC")
    assert run(["--store", str(store), "backup", str(tmp_path / "b")]) == ExitStatus.PARTLY
    said = capsys.readouterr()
    assert lost.name in said.err
    assert torn.name in said.err
    assert "sounds: 1." in said.out
    assert restore(tmp_path / "b", tmp_path / "new.db").sounds == 1


def test_a_sound_that_names_another_file_spoils_no_backup(store, tmp_path, capsys) -> None:
    letter = store.parent / "letter"
    letter.write_text("of the keeper")
    with sqlite3.connect(store) as raw:
        raw.execute("DROP TRIGGER sound_no_update")
        row = ("../letter", hashlib.sha256(letter.read_bytes()).hexdigest())
        raw.execute("UPDATE sound SET file = ?, sha256 = ? WHERE number = 1", row)
    raw.close()
    assert run(["--store", str(store), "backup", str(tmp_path / "b")]) == ExitStatus.PARTLY
    assert "../letter is not called as its remark is" in capsys.readouterr().err
    assert restore(tmp_path / "b", tmp_path / "new.db").sounds == 2


def test_a_backup_that_cannot_be_finished_leaves_the_last_one(store, backup, monkeypatch) -> None:
    before = backup.read_bytes()

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("assistant.store.backup._write", broken)
    with Store.open(store) as held, pytest.raises(BadStore, match="no room"):
        held.back_up(backup, {})
    assert backup.read_bytes() == before
    assert [path.name for path in backup.parent.iterdir()] == ["herd.backup"]


def test_a_damaged_store_is_not_backed_up_in_silence(store, tmp_path) -> None:
    """Rows that no longer agree with their index: SQLite opens such a file, and only looking through finds it."""
    with sqlite3.connect(store) as raw:
        raw.execute("PRAGMA writable_schema = ON")
        raw.execute(
            "UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM sqlite_schema WHERE name = 'entry_due') "
            "WHERE name = 'entry_last'"
        )
    raw.close()
    with pytest.raises(BadStore, match="damaged"), Store.open(store, read_only=True) as held:
        held.back_up(tmp_path / "b", {})
    assert not (tmp_path / "b").exists()


@pytest.mark.parametrize("place", ["itself", "folder"])
def test_a_backup_does_not_go_onto_the_store_or_a_folder(store, tmp_path, place) -> None:
    target = store if place == "itself" else tmp_path
    before = shutil.copy(store, tmp_path / "before")
    with Store.open(store, read_only=True) as held, pytest.raises(BadStore, match="no place"):
        held.back_up(target, {})
    assert store.read_bytes() == before.read_bytes()
