"""Who hears the recordings of a list and judges what was heard: sentences of one grammar, or remarks of the trade."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from pathlib import Path
from typing import Any

from assistant.errors import BadGrammar
from assistant.grammar import Grammar
from assistant.grammar.jsgf import parse
from assistant.listening.apart import asides_apart
from assistant.listening.ears import no_remark
from assistant.listening.spoken import ears, lexicon, source_text
from assistant.live.farm import Farm
from assistant.meaning.canonical import meaning_key
from assistant.measuring.evaluate import Case, Examiner
from assistant.register.register import Register
from assistant.session.in_part import agreed_facts
from assistant.sound.endpoint import pauses, trimmed
from assistant.values import Animal, Verdict


def slot_examiner(grammar_file: Path, names: Sequence[str] | None = None) -> Examiner:
    """What hears the sentences of one grammar file and reads their slots.

    Raises:
        BadGrammar: the file cannot be read, has a mistake, or no public rule.
    """
    file, text = source_text(grammar_file)
    public = [rule.name for rule in parse(text, file).rules if rule.public]
    if not public:
        raise BadGrammar(f"{file}: no public rule; put `public` before the rule that holds whole sentences.")
    grammar = Grammar.load([(file, text)])

    def slots(words: str) -> dict[str, str] | None:
        readings = grammar.readings(words.split(), public[0])
        return dict(readings[0].slots) if readings else None

    def meaning_of(words: str) -> Hashable | None:
        found = slots(words)
        return None if found is None else frozenset(found.items()) or words

    def guess(case: Case, words: str) -> Any:
        return slots(words) if case.kind == "slots" else words

    def key(kind: str, value: Any) -> Hashable:
        return frozenset(value.items()) if kind == "slots" and isinstance(value, dict) else str(value).casefold()

    listeners = ears(grammar.graph(public[0]), lexicon(), names)
    return Examiner(lambda sound: listeners.judge(sound, meaning_of), guess, key, meaning_of=meaning_of, cut=trimmed)


def farm_examiner(animals: Iterable[Animal], names: Sequence[str] | None = None, rule: str = "remark") -> Examiner:
    """What hears remarks of the trade, each on its own, with no place open before it.

    Args:
        animals: the register.
        names: listeners.
        rule: "remark", or "mention" where each recording is known to name an animal and nothing else.
    """
    holding = Farm(Register(animals))
    interpreter = holding.interpreter

    def guess(case: Case, words: str) -> Any:
        parts = interpreter.heard(words).parts
        if case.kind == "animal":
            return next((part.flat()["animal"] for part in parts if part.flat().get("animal")), None)
        return words if case.kind == "words" else [part.flat() for part in parts]

    def key(kind: str, value: Any) -> Hashable:
        if kind == "animal":
            return interpreter.same_animal(str(value))
        return meaning_key(value or (), interpreter.same_animal) if kind == "expect" else str(value).casefold()

    def agreed(verdict: Verdict) -> list[dict[str, Any]]:
        return [part.flat() for part in agreed_facts([interpreter.heard(words).parts for words in verdict.rivals])]

    transcribed = interpreter.transcribed if rule == "remark" else no_remark
    listeners = holding.ears(names, rule)
    judge = asides_apart(lambda sound: listeners.judge(sound, interpreter.key, transcribed), pauses)
    return Examiner(judge, guess, key, agreed, interpreter.key, trimmed)
