"""Builds the parts that a command needs: the only place that knows every edge."""

from __future__ import annotations

import json
from collections.abc import Hashable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from assistant.errors import BadGrammar, BadManifest
from assistant.evaluate import KINDS, Case, Examiner
from assistant.grammar import Grammar
from assistant.grammar.jsgf import parse
from assistant.hearing.pocketsphinx_listener import PocketSphinxListener
from assistant.hearing.pronunciation import Lexicon
from assistant.sound.endpoint import trimmed
from assistant.sound.noise import mixed
from assistant.sound.recording import read
from assistant.values import Decision, Sound, Verdict


def cases(manifest: Path) -> tuple[Case, ...]:
    """The lines of a manifest.

    Raises:
        BadManifest: it cannot be read, or a line is not an object with `audio` and one of the kinds of expectation.
    """
    try:
        lines = manifest.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise BadManifest(f"{manifest}: cannot be read ({error}); give a text file of JSON lines.") from error
    return tuple(_case(manifest, number, line) for number, line in enumerate(lines, 1) if line.strip())


def _case(manifest: Path, number: int, line: str) -> Case:
    try:
        flat = json.loads(line)
    except json.JSONDecodeError as error:
        raise BadManifest(f"{manifest}:{number}: not JSON ({error.msg}); one object a line.") from error
    kinds = [kind for kind in KINDS if isinstance(flat, dict) and kind in flat]
    if not kinds or not isinstance(flat.get("audio"), str):
        raise BadManifest(f"{manifest}:{number}: needs `audio` and one of {', '.join(KINDS)}.")
    return Case(flat["audio"], kinds[0], flat[kinds[0]])


def sounds(
    manifest: Path, wanted: tuple[Case, ...], noise: Sound | None, snr_db: float
) -> Iterator[tuple[Case, Sound]]:
    """Each case with its sound, in noise if one is given; the noise's offsets come from a fixed seed."""
    rng = np.random.default_rng(0)
    for case in wanted:
        sound = read(manifest.parent / case.audio)
        yield case, mixed(sound, noise, snr_db, rng) if noise is not None else sound


def slot_examiner(grammar_file: Path) -> Examiner:
    """What hears sentences of one grammar with PocketSphinx and reads their slots.

    One listener alone never accepts: its first guess is there, as a question.

    Raises:
        BadGrammar: the file cannot be read, has a mistake, or no public rule.
    """
    try:
        text = grammar_file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadGrammar(f"{grammar_file}: cannot be read ({error}); give a JSGF file in UTF-8.") from error
    public = [rule.name for rule in parse(text, str(grammar_file)).rules if rule.public]
    if not public:
        raise BadGrammar(f"{grammar_file}: no public rule; put `public` before the rule that holds whole sentences.")
    grammar = Grammar.load([(str(grammar_file), text)])
    listener = PocketSphinxListener(grammar.graph(public[0]), Lexicon())

    def judge(sound: Sound) -> Verdict:
        hearing = listener.hear(trimmed(sound))
        choices = tuple(reading.text for reading in hearing.readings)
        if not choices:
            return Verdict(Decision.UNHEARD, "no sentence of the grammar was heard", (), (hearing,))
        return Verdict(Decision.ASK, "only one listener is on", choices, (hearing,))

    def guess(kind: str, words: str) -> Any:
        if kind != "slots":
            return words
        readings = grammar.readings(words.split(), public[0])
        return readings[0].slots if readings else None

    def key(kind: str, value: Any) -> Hashable:
        return frozenset(value.items()) if kind == "slots" and isinstance(value, dict) else str(value).casefold()

    return Examiner(judge, guess, key)
