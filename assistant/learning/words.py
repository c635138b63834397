"""Learns words of the trade from the keeper: how a known word sounds, and what an unknown one means.

As with names (`assistant.learning.lessons`), something is proposed from one half of the remarks and tried on the
other; nothing is believed that does not prove itself.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from assistant.learning.kept_remark import KeptRemark
from assistant.learning.lessons import MOST_LEARNT, Example
from assistant.meaning.typed_words import words_of
from assistant.values import recordable

LEAST_TYPED = 2
"""With fewer typed remarks that say an unknown word, there is nothing to try it on."""

MOST_WORDS = 4
"""Longer stretches are sentences that nobody says a second time."""


def confused_words(heard: Iterable[tuple[str, Sequence[str], str]], names: Collection[str]) -> list[Example]:
    """The remarks that said a word for which another was heard in at least one of them.

    Args:
        heard: remark id, the sentences that mean what the keeper settled, likeliest first, and the likeliest that means
            something else; empty if the first was accepted without a question.
        names: words of animals' names, which are learnt from who was meant.
    """
    heard = [one for one in heard if one[1]]
    missed = {word for _, said, against in heard if against for word in {*said[0].split()} - {*against.split()}}
    found = []
    for key, said, _ in heard:
        for word in sorted(missed - set(names)):
            if having := tuple(sentence for sentence in said if word in sentence.split()):
                found.append(Example(key, "", word, having))
    return found


@dataclass(frozen=True)
class Form:
    """A way of the keeper's own to say something, to be tried.

    Attributes:
        word: one word or several, as they were typed.
        slot, value: what they mean, as a tag of the grammar.
        grammar, rule: where they are added; empty until that has been found out.
        learnt: ids of the remarks that it comes from.
        held_back: ids of those that it is tried on.
    """

    word: str
    slot: str
    value: str
    learnt: tuple[str, ...]
    held_back: tuple[str, ...]
    grammar: str = ""
    rule: str = ""

    @property
    def told(self) -> str:
        """What is proposed, for the keeper."""
        return f"“{self.word}” as {self.slot} {self.value}"

    @property
    def text(self) -> str:
        """The grammar file that adds it."""
        return (
            f"#JSGF V1.0 UTF-8;\ngrammar {self.grammar};\n<{self.rule}> = ({self.word}) {{{self.slot}={self.value}}};\n"
        )

    def places(self) -> list[Form]:
        """The same at each rule that it may be added to, as docs/grammar.md has them."""
        if self.slot == "action":
            return [replace(self, grammar="feet", rule=self.value.replace(" ", "_"))]
        rules = (("feet", "ungraded"), ("body", "elsewhere"), ("body", "animal_finding"))
        return [replace(self, grammar=grammar, rule=rule) for grammar, rule in rules]


def forms(typed: Iterable[KeptRemark]) -> list[Form]:
    """Words without a meaning of which the keeper said at the review, each time the same, what they mean.

    Args:
        typed: typed remarks, in order.
    """
    meant: dict[str, dict[str, tuple[str, str] | None]] = defaultdict(dict)
    for one in typed:
        words = one.remark.meaning.unplaced
        is_one_piece = f" {words} " in f" {' '.join(words_of(one.remark.words))} "
        if one.is_settled and is_one_piece and 0 < len(words.split()) <= MOST_WORDS:
            meant[words][one.remark.id] = _added(one)
    found = []
    for words, by_remark in meant.items():
        values = set(by_remark.values())
        value = values.pop()
        if value is not None and not values and len(by_remark) >= LEAST_TYPED:
            ids = tuple(by_remark)
            found.append(Form(words, *value, ids[::2][:MOST_LEARNT], ids[1::2]))
    return found


def _added(one: KeptRemark) -> tuple[str, str] | None:
    """The one finding or action that is on record from a remark beyond what was understood of it."""
    understood = recordable(one.remark.meaning.parts)
    flats = [part.flat() for part in one.facts if part not in understood]
    values = {(slot, str(flat[slot])) for flat in flats for slot in ("finding", "action") if slot in flat}
    return (
        values.pop() if len(values) == 1 and len(flats) == sum("finding" in f or "action" in f for f in flats) else None
    )


def rule_for(form: Form, is_read_with: Callable[[Form], bool]) -> Form | None:
    """The form at the first rule with which the remarks that it comes from are read rightly; None if there is none."""
    return next((place for place in form.places() if is_read_with(place)), None)
