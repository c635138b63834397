"""Builds the parts that a command needs: the only place that knows every edge."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from functools import cached_property, partial
from pathlib import Path
from typing import Any

from assistant.ears import Ears
from assistant.errors import BadGrammar, BadRegister
from assistant.evaluate import Case, Examiner
from assistant.grammar import Grammar
from assistant.grammar.jsgf import parse
from assistant.hearing.pronunciation import Lexicon
from assistant.herd import Herd
from assistant.husbandry.practice import Practice
from assistant.interpreter import Interpreter
from assistant.listening_pool import ListeningPool
from assistant.listening_process import Prepared
from assistant.live import Handling, Judge
from assistant.look_ahead import LookAhead
from assistant.meaning.canonical import meaning_key
from assistant.register.confusable import Confusable, confusables
from assistant.register.heading import fitness
from assistant.register.mention import Context, Match, Matched, Matcher
from assistant.register.reading import ImportReport, Rules, animals_from_table
from assistant.register.register import Register, called
from assistant.register.wand import WandLine, wand_lines
from assistant.session.in_part import agreed_facts
from assistant.session.scale import LAMENESS
from assistant.settings import Places, settings
from assistant.sheets.reading import herd_table
from assistant.sound.endpoint import trimmed
from assistant.spoken import RemarkEars, Spoken, ears, lexicon, read_bytes, source_text
from assistant.store.store import Store
from assistant.values import Animal, Meaning, Sound, Species, Verdict


def read_register(
    file: Path, known: Register | None = None, rules: Rules | None = None, encoding: str = ""
) -> ImportReport:
    """A register file (CSV or XLSX) with the report of its rows.

    Args:
        file: the file.
        known: the register that its animals are joined with.
        rules: how the table is to be taken.
        encoding: of a text, if it is known.

    Raises:
        BadRegister: the file cannot be read or is no table.
        LibraryMissing: it is a workbook and the library for them is not installed.
    """
    asked = rules or Rules()
    read = herd_table(read_bytes(file, BadRegister), str(file), fitness(asked.headings), encoding)
    return animals_from_table(read, str(file), known, asked)


@dataclass(frozen=True)
class Farm:
    """One holding: its animals and words.

    Attributes:
        register: the animals.
        keepers: the folder with the keeper's own grammar files, or None.
        planned: ids of the animals of this session, which are likelier to be mentioned.
        lameness: species → lowest and highest score of the lameness scale in use.
        practice: its intervals, rules, ranges and medicines.
        kept: see `Spoken`.
    """

    register: Register
    keepers: Path | None = None
    planned: Collection[str] = ()
    lameness: Mapping[Species, tuple[int, int]] = field(default_factory=lambda: dict(LAMENESS))
    practice: Practice = field(default_factory=Practice)
    kept: Path | None = None

    @cached_property
    def spoken(self) -> Spoken:
        """What is said here."""
        medicines = tuple(one.name for one in self.practice.medicines.values())
        return Spoken(self.register, self.keepers, self.planned, medicines, self.kept)

    @property
    def lexicon(self) -> Lexicon:
        """How words sound here."""
        return self.spoken.lexicon

    @property
    def interpreter(self) -> Interpreter:
        """What words mean here."""
        return self.spoken.interpreter

    def ears(self, names: Sequence[str] | None = None, rule: str = "remark") -> Ears:
        """Who listens for the sentences of a rule."""
        return self.spoken.ears(names, rule)

    def pool(
        self,
        names: Sequence[str] | None = None,
        workers: int | None = None,
        *,
        is_apart: bool = False,
        prepared: Prepared | None = None,
    ) -> ListeningPool:
        """Workers that listen for remarks of this holding.

        Args:
            names: listeners; None for all that can run here.
            workers: see `ListeningPool`.
            is_apart: see `ListeningPool`.
            prepared: see `ListeningPool`.

        Raises:
            ListenerMissing, UnknownWord: as `ears`.
        """
        return ListeningPool(
            partial(RemarkEars, self.fresh().spoken, names), workers, is_apart=is_apart, prepared=prepared
        )

    def fresh(self) -> Farm:
        """The same without what was worked out meanwhile, as it goes to another process."""
        return replace(self)

    def handling(self, store: Store, session: str, judge: Judge | None) -> Handling:
        """A session of this holding that is kept in `store`."""
        animals: dict[str, Animal] = {animal.id: animal for animal in self.register}
        herd = Herd(animals, store, session, self.lameness, partial(look_ahead, store, self.practice))
        return Handling(store, self.interpreter, herd, judge)


def look_ahead(store: Store, practice: Practice, day: date) -> LookAhead:
    """What follows from the records on a day, from its beginning on."""
    return LookAhead(store, practice, datetime.combine(day, time()).astimezone())


def farm(store: Store, places: Places, planned: Collection[str] = ()) -> Farm:
    """The holding that a store belongs to.

    Raises:
        BadSetting: its settings file has a mistake.
    """
    chosen = settings(places.settings)
    lameness = {species: (scale.low, scale.high) for species, scale in chosen.lameness.items()}
    register, kept = Register(store.animals()), places.folder / "worked_out"
    return Farm(register, places.grammars, planned, lameness, chosen.practice, kept)


# ------------------------------------------------------------------------------------------------------- evaluation


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
    return Examiner(_judge(listeners, meaning_of), guess, key, meaning_of=meaning_of)


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

    return Examiner(_judge(holding.ears(names, rule), interpreter.key), guess, key, agreed, interpreter.key)


def _judge(listeners: Ears, meaning_of: Callable[[str], Hashable | None]) -> Callable[[Sound], Verdict]:
    return lambda sound: listeners.judge(trimmed(sound), meaning_of)


def meaning_text(meaning: Meaning) -> str:
    """A meaning on one line, as key and value."""
    parts = ["{" + ", ".join(f"{key} {value}" for key, value in part.flat().items()) + "}" for part in meaning.parts]
    return " ".join(parts) + (f" unplaced: {meaning.unplaced}" if meaning.unplaced else "")


def stored_animals(places: Places) -> tuple[Animal, ...]:
    """The register in the store; none if there is no store yet."""
    if not places.store.exists():
        return ()
    with Store.open(places.store, read_only=True) as held:
        return held.animals()


# --------------------------------------------------------------------------------------------------------- register


def confusable_pairs(animals: Iterable[Animal], keepers: Path | None = None) -> tuple[Confusable, ...]:
    """Animals of a session that are easily heard for each other."""
    return confusables(animals, lexicon(keepers).of)


def animals_meant(places: Places, mention: str, group: str | None = None) -> Match:
    """Who may be meant by a mention, in a session of a group if one is named."""
    animals = stored_animals(places)
    planned = frozenset(one.id for one in animals if group is not None and one.group.casefold() == group.casefold())
    return Matcher(Register(animals), lexicon(places.grammars).of).match(mention, Context(planned=planned))


def read_by_wand(file: Path, register: Register) -> tuple[WandLine, ...]:
    """The lines of a wand reader's file, with the animals of the register.

    Raises:
        BadRegister: the file cannot be read.
    """
    return tuple(wand_lines(read_bytes(file, BadRegister).decode("utf-8-sig", "replace"), register))


def the_animal(register: Register, mention: str, keepers: Path | None = None) -> Animal:
    """The one animal that a mention means beyond doubt.

    Raises:
        BadRegister: none, or it may be several.
    """
    match = Matcher(register, lexicon(keepers).of).match(mention)
    if match.decision is Matched.ONE:
        return match.candidates[0].animal
    shown = ", ".join(called(item.animal) for item in match.candidates)
    raise BadRegister(f"{mention!r} may be {shown}. Give its tag." if shown else f"No animal is like {mention!r}.")
