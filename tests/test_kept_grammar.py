"""The grammar that is read from a file is the one that was put together; a file that cannot be trusted is not read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from live_stage import ANIMALS

from assistant.grammar import Grammar
from assistant.listening.kept_grammar import MOST_KEPT, KeptGrammar
from assistant.listening.spoken import Spoken, grammar_sources
from assistant.meaning.fills import animal_fills
from assistant.register.register import Register

REMARKS = (
    "tansy",
    "left hind hollow wall cut out spray",
    "four one seven done",
    "give her alamycin",
    "both fores fine",
)


def kept_in(folder: Path, animals=ANIMALS) -> KeptGrammar:
    return KeptGrammar(folder / "kept", grammar_sources(), animal_fills(animals, ("Alamycin",)))


@pytest.fixture(scope="module")
def made() -> Grammar:
    """The grammar with its graph, put together."""
    grammar = Grammar.load(grammar_sources(), animal_fills(ANIMALS, ("Alamycin",)))
    grammar.graph("remark")
    return grammar


@pytest.fixture
def kept(tmp_path: Path, made: Grammar) -> KeptGrammar:
    """The same, written down."""
    kept = kept_in(tmp_path)
    kept.write(made)
    return kept


def test_what_is_read_is_what_was_put_together(kept: KeptGrammar, made: Grammar) -> None:
    """Every rule says the same sentences, with the same tags and costs."""
    read = kept.read()
    assert read is not None
    assert read.is_kept
    assert not made.is_kept
    assert read._graphs == made._graphs
    assert read._linked == made._linked
    for words in REMARKS:
        assert read.readings(words.split()) == made.readings(words.split())
        assert read.cover(("then", *words.split()), "phrase") == made.cover(("then", *words.split()), "phrase")
    assert read.graph("mention") == made.graph("mention"), "another graph than those kept is made of what was read"


@pytest.mark.parametrize(
    "hurt",
    [
        lambda data: data[:-1],
        lambda data: data.replace(b"tansy", b"pansy"),
        lambda data: b"",
        lambda data: b"\xff\xfe\n{}",
        # A right digest over something else.
        lambda data: b"44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a\n{}",
    ],
    ids=["cut short", "changed", "empty", "no text", "something else"],
)
def test_a_damaged_file_is_not_read_and_is_written_anew(kept: KeptGrammar, made: Grammar, hurt) -> None:
    whole = kept.file.read_bytes()
    kept.file.write_bytes(hurt(whole))
    assert kept.read() is None
    kept.write(made)
    assert kept.file.read_bytes() == whole


@pytest.mark.skipif(os.name != "posix", reason="rights of POSIX")
def test_it_is_for_the_owner_alone_and_else_not_read(kept: KeptGrammar) -> None:
    """Nobody else may say what the listeners listen for."""
    assert kept.file.stat().st_mode & 0o777 == 0o600
    assert kept.folder.stat().st_mode & 0o777 == 0o700
    kept.file.chmod(0o620)
    assert kept.read() is None


def test_it_belongs_to_one_register_and_one_wording(kept: KeptGrammar, tmp_path: Path) -> None:
    """With anything that it is made from, the file changes."""
    other = kept_in(tmp_path, ANIMALS[:2])
    assert other.file != kept.file
    assert other.read() is None
    own = ("own.jsgf", "#JSGF V1.0;\ngrammar own;\npublic <r> = a;")
    assert KeptGrammar(kept.folder, [*kept.sources, own], kept.fills).file != kept.file


def test_few_files_are_kept(kept: KeptGrammar, made: Grammar, tmp_path: Path) -> None:
    """The last ones; and what a killed program left half written goes."""
    (kept.folder / "new-half").write_bytes(b"half")
    os.utime(kept.file, (0, 0))
    for n in range(MOST_KEPT):
        KeptGrammar(kept.folder, [(f"{n}", f"{n}")], {}).write(made)
    assert len(list(kept.folder.iterdir())) == MOST_KEPT
    assert not kept.file.exists(), "the oldest went"


def test_where_nothing_can_be_written_it_is_put_together_each_time(tmp_path: Path, made: Grammar) -> None:
    (tmp_path / "kept").write_text("a file where the folder should be", encoding="utf-8")
    kept_in(tmp_path).write(made)
    assert kept_in(tmp_path).read() is None


def test_a_holding_keeps_it_with_the_first_start_and_reads_it_with_the_next(tmp_path: Path) -> None:
    def grammar() -> Grammar:
        spoken = Spoken(Register(ANIMALS), kept=tmp_path)
        grammar = spoken.interpreter.grammar
        grammar.graph("remark")
        spoken.keep_grammar()
        return grammar

    assert not grammar().is_kept
    (file,) = tmp_path.iterdir()
    written = file.stat().st_mtime_ns
    assert grammar().is_kept
    assert file.stat().st_mtime_ns == written, "once is enough"
