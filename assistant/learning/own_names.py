"""How a holding's names and words are heard, and what its keeper's remarks teach: store, listeners, files together."""

from __future__ import annotations

import shutil
import tempfile
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from assistant.errors import BadOutput, BadStore
from assistant.hearing.phoneme_spelling import SpellingListener
from assistant.hearing.pronunciation import Phones
from assistant.learning.heard_again import all_kept, with_sound
from assistant.learning.kept_remark import KeptRemark
from assistant.learning.lessons import (
    Example,
    Lesson,
    Outcome,
    Proposal,
    Tally,
    confusions,
    examples,
    lessons,
    outcome,
    proposals,
    readings,
)
from assistant.learning.named_remark import NamedRemark, named_remarks
from assistant.learning.words import Form, confused_words, forms, rule_for
from assistant.live.farm import Farm
from assistant.meaning.canonical import meaning_key
from assistant.records.look_back import events_of
from assistant.store.store import Store
from assistant.values import AnimalPart, Decision, QuestionPart, recordable

FILE = "pronunciations.dict"

Learnable = Proposal | Form

Watch = Callable[[Iterable[Any], str, int | None], Iterator[Any]]


@dataclass(frozen=True)
class HeardName:
    """How remarks with one name are heard today.

    Attributes:
        taken_for: first guess of those that were not heard rightly → how often; empty words for no guess.
    """

    name: str
    tally: Tally
    taken_for: Mapping[str, int]


@dataclass(frozen=True)
class Learnt:
    """What the kept remarks teach.

    Attributes:
        names: every name that was said, the worst heard first.
        confused: (what is right, what is heard) → how often, in remarks whose facts the keeper has settled.
        lessons: pronunciations and forms of the keeper's own with what became of them.
    """

    names: tuple[HeardName, ...]
    confused: Mapping[tuple[str, str], int]
    lessons: tuple[Lesson[Learnable], ...]


class OwnNames:
    """The names and words of a holding as its keeper says them.

    Args:
        store: with kept sounds; only read.
        farm: the holding.
        listeners: names; None for all that can run here.
        workers: processes that listen; see `ListeningPool`.
        watch: shows how far the listening is: (items, what, how many) → the same items.
    """

    def __init__(
        self,
        store: Store,
        farm: Farm,
        listeners: Sequence[str] | None = None,
        workers: int | None = None,
        watch: Watch = lambda items, what, total: iter(items),
    ) -> None:
        self._store, self._farm, self._listeners, self._workers, self._watch = store, farm, listeners, workers, watch
        self._kept = {one.remark.id: one for one, _ in with_sound(store, all_kept(store))}
        self._named: dict[str, NamedRemark] = {
            one.remark.id: one
            for info in store.sessions()
            for one in named_remarks(info.id, events_of(store, info.id))
            if one.remark.id in self._kept
        }
        self._taken_for: dict[str, Hashable] = {}
        self._readings: dict[str, list[str]] = {}
        self._typed = {one.remark.id: one for one in all_kept(store, is_spoken=False) if _is_known(one)}

    def learn(self) -> Learnt:
        """Hears the remarks, proposes, tries, and tells what came of it. Nothing is changed.

        Raises:
            BadStore: the keeper has not settled any remark yet, neither its facts nor whom it names.
            ListenerMissing: the phoneme network, which hears how a name was said, cannot run here.
        """
        animals = {animal.id: animal for animal in self._farm.register}
        said = examples(self._named.values(), animals)
        if not said and not any(one.is_settled for one in (*self._kept.values(), *self._typed.values())):
            raise BadStore(
                f"In no remark of {self._store.path} has it been settled yet what was said. That happens when you "
                "answer who it is, and with: assistant review"
            )
        before = self._heard(self._farm)
        words = confused_words(self._said(before), {word for one in said for word in one.name.split()})
        proposed = self._pronunciations([*said, *words], before)
        own = [found for form in forms(self._typed.values()) if (found := rule_for(form, self._is_read_with))]
        together: list[Learnable] = [*proposed, *own]
        tried = lessons(together, before, self._heard_with)
        return Learnt(_names(said, before), self._confused(before), tuple(tried))

    def _pronunciations(self, said: Sequence[Example], before: Mapping[str, Outcome]) -> list[Proposal]:
        if not said:
            return []
        spelling = SpellingListener(self._farm.lexicon)
        return proposals(said, before, spelling, self._store.sound, self._farm.lexicon.of)

    def _confused(self, outcomes: Mapping[str, Outcome]) -> Mapping[tuple[str, str], int]:
        settled = [one for one in self._kept.values() if one.is_settled]
        heard = self._farm.interpreter.heard
        return confusions(
            (one.facts, recordable(heard(outcomes[one.remark.id].words, one.scope).parts)) for one in settled
        )

    def _said(self, outcomes: Mapping[str, Outcome]) -> Iterator[tuple[str, list[str], str]]:
        """The settled remarks with what was said in them, as far as a listener heard it, and what stands against it."""
        for one in (one for one in self._kept.values() if one.is_settled):
            texts = self._readings[one.remark.id]
            right = [text for text in texts if self._is_right(one, text)]
            others = [text for text in texts if text not in right]
            yield one.remark.id, right, others[0] if others and outcomes[one.remark.id].rank < 3 else ""

    def _is_read_with(self, form: Form) -> bool:
        """Whether the typed remarks that a form comes from mean with it what the keeper said."""
        with self._holding_with([form]) as farm:
            return all(self._read(farm, self._typed[key]).rank == 3 for key in form.learnt)

    def _heard_with(self, proposed: Sequence[Learnable]) -> dict[str, Outcome]:
        """How the remarks are heard with these in the keeper's own files."""
        with self._holding_with(proposed) as farm:
            return self._heard(farm)

    @contextmanager
    def _holding_with(self, proposed: Sequence[Learnable]) -> Iterator[Farm]:
        with tempfile.TemporaryDirectory() as folder:
            tried = Path(folder) / "grammars"
            if self._farm.keepers and self._farm.keepers.is_dir():
                shutil.copytree(self._farm.keepers, tried)
            write(proposed, tried, self._farm.lexicon.of)
            yield replace(self._farm.fresh(), keepers=tried)

    def _heard(self, farm: Farm) -> dict[str, Outcome]:
        """The outcome of every remark of which it is known what is right: by the keeper, or by what was accepted."""
        found = {key: self._read(farm, one) for key, one in self._typed.items()}
        if not self._kept:
            return found
        with farm.pool(self._listeners, self._workers) as pool:
            heard = pool.in_order(with_sound(self._store, self._kept.values()))
            for one, _, verdict in self._watch(heard, "Listening", len(self._kept)):
                key = one.remark.id
                self._readings.setdefault(key, readings(one.remark.verdict, verdict))
                is_known = one.is_settled or key in self._named
                if not is_known and key not in self._taken_for:
                    is_taken = verdict.decision is Decision.ACCEPTED
                    self._taken_for[key] = self._key(one, verdict.choices[0]) if is_taken else None
                if is_known or self._taken_for[key] is not None:
                    found[key] = outcome(verdict, partial(self._is_right, one))
        return found

    def _read(self, farm: Farm, one: KeptRemark) -> Outcome:
        """What becomes of a typed remark."""
        meaning, who = farm.interpreter.typed(one.remark.words, one.scope), self._farm.interpreter.same_animal
        right = one.facts if one.is_settled else recordable(one.remark.meaning.parts)
        is_right = meaning_key(recordable(meaning.parts), who) == meaning_key(right, who)
        return Outcome(is_right, not meaning.unplaced, one.remark.words.lower())

    def _key(self, one: KeptRemark, words: str) -> Hashable:
        interpreter = self._farm.interpreter
        return meaning_key(interpreter.heard(words, one.scope).parts, interpreter.same_animal)

    def _is_right(self, one: KeptRemark, words: str) -> bool:
        interpreter = self._farm.interpreter
        parts = interpreter.heard(words, one.scope).parts
        if (named := self._named.get(one.remark.id)) is not None:
            mentions = [part.animal for part in parts if isinstance(part, AnimalPart | QuestionPart) and part.animal]
            if not any(named.animal in ids for ids in interpreter.mentioned(parts).values()) or not mentions:
                return False
        if one.is_settled:
            facts = meaning_key(one.facts, interpreter.same_animal)
            return meaning_key(recordable(parts), interpreter.same_animal) == facts
        return named is not None or self._key(one, words) == self._taken_for[one.remark.id]


def _names(said: Sequence[Example], before: Mapping[str, Outcome]) -> tuple[HeardName, ...]:
    found = []
    for name in dict.fromkeys(one.name for one in said):
        outcomes = [before[one.remark] for one in said if one.name == name]
        wrong = Counter(one.words for one in outcomes if not one.is_right)
        found.append(HeardName(name, Tally.of(outcomes), dict(wrong.most_common())))
    return tuple(sorted(found, key=lambda one: (one.tally.right / one.tally.n, one.tally.accepted / one.tally.n)))


def _is_known(one: KeptRemark) -> bool:
    """Whether it is known what a typed remark means: the keeper said so, or nothing in it was strange."""
    return one.is_settled or (not one.is_open and not one.remark.meaning.unplaced)


def write(
    proposed: Sequence[Learnable], folder: Path, known_ways: Callable[[str], Sequence[Phones]], day: date | None = None
) -> list[Path]:
    """Adds to the keeper's own files; what stands in them stays, and so does how a word was said before.

    Args:
        proposed: pronunciations, which go into one file, and forms, each of which gets a grammar file.
        folder: of the keeper's grammar files; it is made if it is not there.
        known_ways: from a word to how it is said so far.
        day: goes into a remark beside it.

    Returns:
        The files.

    Raises:
        BadOutput: one cannot be written.
    """
    when = f"learnt {day.isoformat()}" if day else "learnt"
    written = {}
    for one in proposed:
        told = f"{when} from {len(one.learnt)} remarks, tried on {len(one.held_back)} others"
        if isinstance(one, Form):
            head, _, rest = one.text.partition("\n")
            written[folder / f"learnt {one.word}.jsgf"] = f"{head}\n// {told}\n{rest}"
        else:
            lines = f"# {told}\n{one.word} {' '.join(one.phones)}\n{one.word}(2) {' '.join(known_ways(one.word)[0])}\n"
            written[folder / FILE] = written.get(folder / FILE, "") + lines
    for file, text in written.items():
        _add(file, text)
    return list(written)


def _add(file: Path, text: str) -> None:
    try:
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        before = file.read_text(encoding="utf-8-sig") if file.exists() and file.name == FILE else ""
        if before and not before.endswith("\n"):
            before += "\n"
        part = file.with_name(f".{file.name}.part")
        part.write_text(before + text, encoding="utf-8")
        part.replace(file)
    except OSError as error:
        raise BadOutput(f"{file} cannot be written: {error.strerror or error}. Check who may write there.") from error
