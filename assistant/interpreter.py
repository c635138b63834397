"""Words to meaning and mentions to animals, for one grammar and one register."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.grammar import Grammar
from assistant.meaning.canonical import MeaningKey, meaning_key
from assistant.meaning.transcript import is_clear, remark_words
from assistant.meaning.typed import understand, understand_words
from assistant.register.mention import Context, Match, Matched, Matcher
from assistant.values import AnimalPart, Meaning, Part, QuestionPart, Scope

NO_SESSION = Context()


class Interpreter:
    """What words mean on this holding.

    Args:
        grammar: of the trade, filled with the register's names and numbers.
        matcher: of the same register.
    """

    def __init__(self, grammar: Grammar, matcher: Matcher) -> None:
        self.grammar = grammar
        self._matcher = matcher

    def heard(self, words: str, scope: Scope = Scope()) -> Meaning:  # noqa: B008 (a frozen value)
        """The meaning of words that a listener heard, with places inherited from `scope`."""
        return understand_words(words.split(), self.grammar, scope)[0]

    def typed(self, text: str, scope: Scope = Scope()) -> Meaning:  # noqa: B008
        """The meaning of a typed remark, slips mended; a line that is a tag or code, as a wand types it, is its animal.

        Words that could not be placed may have been a place; then none is inherited from `scope`.
        """
        if self._matcher.is_code(text.strip()):
            return Meaning((AnimalPart(text.strip()),))
        found = understand(text, self.grammar, scope)[0]
        return understand(text, self.grammar, Scope())[0] if found.unplaced and scope.places else found

    def transcribed(self, text: str) -> str | None:
        """The words of a remark that was written down freely, slips mended; None unless all of it is to be recorded.

        Orders are none: they are short, and short words are what such text has most often wrong.
        """
        words = remark_words(text, self.grammar)
        parts = self.heard(words).parts if words else ()
        named = [part.animal for part in parts if isinstance(part, AnimalPart)]
        is_known = all(self.match(name).decision is Matched.ONE for name in named)
        return words if is_known and is_clear(parts) else None

    def can_go_on(self, words: str) -> bool:
        """Whether a remark that begins with these words, as heard, can have more of them; freely worded ones always."""
        said = words.split()
        return self.grammar.can_go_on(said) or not self.grammar.readings(said, "remark")

    def match(self, mention: str, context: Context = NO_SESSION) -> Match:
        """Who may be meant by a mention."""
        return self._matcher.match(mention, context)

    def mentioned(self, parts: Sequence[Part], context: Context = NO_SESSION) -> dict[str, tuple[str, ...]]:
        """For each animal mentioned, as said, the ids that it may stand for, likeliest first.

        One that is only alike gets no id, so that the keeper is asked rather than guessed for.
        """
        said = [part.animal for part in parts if isinstance(part, AnimalPart | QuestionPart)]
        said += [part.other for part in parts if isinstance(part, QuestionPart)]
        return {name: self._ids(self.match(name, context)) for name in said if name}

    def alike(self, words: str, context: Context = NO_SESSION) -> tuple[str, ...]:
        """Ids of the animals whose name or number words without a meaning are like, likeliest first."""
        return tuple(item.animal.id for item in self.match(words, context).candidates) if words else ()

    @staticmethod
    def _ids(match: Match) -> tuple[str, ...]:
        ids = tuple(item.animal.id for item in match.candidates)
        return ids if match.decision is Matched.ONE or len(ids) > 1 else ()

    def same_animal(self, mention: str) -> str:
        """A text that two mentions of the same animals share."""
        found = self.match(mention).candidates
        return " ".join(sorted(item.animal.id for item in found)) if found else mention.casefold()

    def key(self, words: str) -> MeaningKey | None:
        """What two sentences with the same meaning share, each heard with no place open; None if they cannot be read.

        All asides share the key of no parts, `NOTHING`.
        """
        found = self.heard(words)
        return meaning_key(found.parts, self.same_animal) if found.parts or not found.unplaced else None
