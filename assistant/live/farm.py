"""One holding with its animals and words, from which listeners and sessions are made."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from pathlib import Path

from assistant.hearing.pronunciation import Lexicon
from assistant.husbandry.practice import Practice
from assistant.interpreter import Interpreter
from assistant.listening.ears import Ears
from assistant.listening.pool import ListeningPool
from assistant.listening.process import Prepared
from assistant.listening.spoken import RemarkEars, Spoken
from assistant.live.handling import Handling, Judge
from assistant.live.herd import Herd
from assistant.records.look_ahead import LookAhead
from assistant.register.register import Register
from assistant.session.scale import LAMENESS
from assistant.settings import Places, settings
from assistant.store.store import Store
from assistant.values import Animal, Species


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

    @classmethod
    def of(cls, store: Store, places: Places, planned: Collection[str] = ()) -> Farm:
        """The holding that a store belongs to.

        Raises:
            BadSetting: its settings file has a mistake.
        """
        chosen = settings(places.settings)
        lameness = {species: (scale.low, scale.high) for species, scale in chosen.lameness.items()}
        register, kept = Register(store.animals()), places.folder / "worked_out"
        return cls(register, places.grammars, planned, lameness, chosen.practice, kept)

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
        herd = Herd(animals, store, session, self.lameness, partial(LookAhead.on, store, self.practice))
        return Handling(store, self.interpreter, herd, judge)
