"""Lists of recordings with known meanings: what a line may be, and which line is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.errors import BadManifest
from assistant.measuring.manifest import cases


def written(folder: Path, *lines: str) -> Path:
    file = folder / "m.jsonl"
    file.write_text("\n".join(lines), encoding="utf-8")
    return file


def test_every_kind_of_expectation_is_read(tmp_path: Path) -> None:
    file = written(
        tmp_path,
        '\ufeff{"audio": "1.flac", "slots": {"size": "large"}}',
        '{"audio": "2.flac", "expect": [{"command": "done"}], "voice": "a"}',
        "",
        '{"audio": "3.flac", "words": "left hind"}',
        '{"audio": "4.flac", "animal": 417}',
    )
    assert [(case.audio, case.kind, case.expected) for case in cases(file)] == [
        ("1.flac", "slots", {"size": "large"}),
        ("2.flac", "expect", [{"command": "done"}]),
        ("3.flac", "words", "left hind"),
        ("4.flac", "animal", "417"),
    ]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("audio: 1.flac", "not JSON"),
        ("[" * 100_000, "not JSON"),
        ("7", "needs `audio`"),
        ('{"audio": "1.flac"}', "one of slots, expect, words, animal"),
        ('{"audio": 1, "words": "a"}', "needs `audio`"),
        ('{"audio": "1.flac", "expect": {"command": "done"}}', "expect is"),
        ('{"audio": "1.flac", "expect": [5]}', "expect is"),
        ('{"audio": "1.flac", "slots": {"size": ["large"]}}', "slots is"),
        ('{"audio": "1.flac", "words": 3}', "words is"),
    ],
)
def test_a_line_that_cannot_be_used_is_named(tmp_path: Path, line: str, told: str) -> None:
    with pytest.raises(BadManifest, match=rf"m\.jsonl:2: .*{told}"):
        cases(written(tmp_path, '{"audio": "1.flac", "words": "done"}', line))


def test_a_list_without_a_line_or_that_is_no_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadManifest, match="has no line"):
        cases(written(tmp_path, "", " "))
    (tmp_path / "m.jsonl").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadManifest, match="cannot be read"):
        cases(tmp_path / "m.jsonl")
