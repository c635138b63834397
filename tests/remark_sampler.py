"""Remarks made by chance from the tables of vocabulary_forms.py, in the orders in which keepers say them.

Each stands alone, with no place open before it. It knows nothing of the grammar files, so that it finds what they lack.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence

import vocabulary_forms as forms
from farm_sentences import DIGITS, NAMES, NUMBERS
from meaning_table import BETWEEN, FEET, Flats, animal, asks, did, later, mark, measure, opened, order, saw, tag, trait
from vocabulary_forms import Forms, listed

Remark = tuple[str, Flats]
CODES = {place: code for code, place in FEET.items()}
ADJECTIVES = {"overgrown", "long", "hollow", "cracked", "swollen", "puffy", "hot", "soft", "uneven", "lopsided", "lame"}
ADJECTIVES |= {"thin", "fat", "sore", "grown over"}
BEFORE_ADJECTIVE = [(form, grade) for form, grade in listed(forms.GRADES) if form in ("a little", "a bit", "badly")]
BEFORE_NOUN = [(form, grade) for form, grade in listed(forms.GRADES) if form not in ("a little", "a bit", "badly")]
LEADS = ("she's got", "there's", "that's")
UNGRADED = frozenset(["foreign body", "bleeding", "sound"])


class Deck:
    """Cards drawn in a random order, all of them before any comes again."""

    def __init__(self, cards: Sequence, chance: random.Random) -> None:
        self._cards, self._chance, self._left = list(cards), chance, []

    def draw(self):
        if not self._left:
            self._left = self._chance.sample(self._cards, len(self._cards))
        return self._left.pop()


class Sampler:
    """Draws remarks; the same seed gives the same ones."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self._decks: dict[str, Deck] = {}
        kinds: list[tuple[Callable[[], Remark], int]] = [
            (self._at_foot, 10),
            (self._sound_foot, 2),
            (self._turned_round, 4),
            (self._two_feet, 4),
            (self._part, 3),
            (self._no_place, 3),
            (self._only_place, 1),
            (self._with_animal, 3),
            (self._body, 3),
            (self._measure, 3),
            (self._later, 3),
            (self._whole, 3),
            (self._called, 3),
            (self._command, 4),
            (self._question, 2),
        ]
        self._kinds = Deck([kind for kind, count in kinds for _ in range(count)], self.chance)

    def draw(self) -> Remark:
        """The next remark and its meaning."""
        return self._kinds.draw()()

    # ---------------------------------------------------------------------------------------------------- words

    def _of(self, name: str, table: Forms) -> tuple[str, str]:
        return self._pick(name, listed(table))

    def _pick(self, name: str, cards: Sequence):
        return self._decks.setdefault(name, Deck(cards, self.chance)).draw()

    def _foot(self, several: bool = True) -> tuple[str, str]:
        if several and self.chance.random() < 0.25:
            return self._of("sets", forms.SETS)
        form, place = self._of("feet", forms.FEET)
        return form, CODES[place]

    def _fault(self, plain: bool = False) -> tuple[str, dict]:
        """A fault as it is said, and what it adds to the place."""
        if self.chance.random() < 0.12:
            form, finding = self._of("between", forms.BETWEEN_FINDINGS)
            return form, {"finding": finding, "part": BETWEEN}
        faults = [(form, finding) for form, finding in listed(forms.FOOT_FINDINGS) if finding != "sound"]
        form, finding = self._pick("faults", faults)
        if plain or finding in UNGRADED or form in ("too hard", "hard as rock") or self.chance.random() > 0.3:
            return form, {"finding": finding}
        if form in ADJECTIVES:
            before, grade = self._pick("adverbs", BEFORE_ADJECTIVE)
        else:
            before, grade = self._pick("attributes", BEFORE_NOUN)
        if self.chance.random() < 0.2 and before not in ("a bit", "a little"):
            return f"{form}, {before}", {"finding": finding, "grade": grade}
        return f"{before} {form}", {"finding": finding, "grade": grade}

    def _acts(self, most: int = 2) -> list[tuple[str, str]]:
        actions = [card for card in listed(forms.ACTIONS) if card[0] != "done"]
        first = self._pick("actions", actions)
        if most < 2 or self.chance.random() > 0.3:
            return [first]
        follows = [card for card in actions if card[1] in ("sprayed", "bandaged", "foot bathed", "drained")]
        second = self._pick("second actions", follows)
        return [first, second] if second[1] != first[1] else [first]

    def _joined(self, *pieces: str) -> str:
        """With commas or without; "and" may stand before the last action, never here."""
        return (", " if self.chance.random() < 0.6 else " ").join(piece for piece in pieces if piece)

    def _done(self, place: str | None, acts: Sequence[tuple[str, str]], part: str | None = None) -> tuple[str, Flats]:
        joint = self.chance.choice((", ", " ", " and "))
        return joint.join(form for form, _ in acts), [flat for _, name in acts for flat in did(place, name, part)]

    # --------------------------------------------------------------------------------------------------- of feet

    def _seen_and_done(self, place: str | None, act_share: float = 0.5) -> Remark:
        said, more = self._fault()
        found = saw(place, **more)
        said = self._filled(said, more)
        if self.chance.random() > act_share:
            return said, found
        done, acted = self._done(place, self._acts())
        return self._joined(said, done), found + acted

    def _filled(self, said: str, more: dict) -> str:
        chance = self.chance.random()
        if chance < 0.06:
            return f"{said} again"
        if chance < 0.10 and more["finding"] in ("crack", "abscess", "growth", "foreign body") and "a " not in said:
            an = "an" if said[0] in "aeiou" else "a"
            return f"{self.chance.choice(LEADS)} {an} {said}"
        return said

    def _at_foot(self) -> Remark:
        form, place = self._foot()
        if self.chance.random() < 0.2:
            done, acted = self._done(place, self._acts())
            return self._joined(form, done), acted
        said, found = self._seen_and_done(place)
        ending, more = "", []
        if self.chance.random() < 0.08:
            ending, more = self._ending()
        return self._joined(form, said, ending), found + more

    def _ending(self) -> Remark:
        if self.chance.random() < 0.4:
            return self.chance.choice(("done", "all done")), order("done")
        name = self.chance.choice(("check her again", "check her"))
        time, days = self._of("times", forms.TIMES)
        return f"{name} {time}", later("re-check", int(days))

    def _sound_foot(self) -> Remark:
        form, place = self._foot()
        fine, _ = self._pick("sound", [(form, "sound") for form in forms.FOOT_FINDINGS["sound"].split("|")])
        if self.chance.random() < 0.3:
            done, acted = self._done(place, self._acts(1))
            return self._joined(form, fine, done), saw(place, "sound") + acted
        return self._joined(form, fine), saw(place, "sound")

    def _turned_round(self) -> Remark:
        """What is seen or done first, the foot last."""
        form, place = self._foot()
        on = self.chance.choice(("", "", "on the ")) if place in FEET else ""
        if self.chance.random() < 0.4:
            (act, name), *_ = self._acts(1)
            return self._joined(act, form), did(place, name)
        said, more = self._fault()
        text = f"{said} {on}{form}" if on else self._joined(said, form)
        if self.chance.random() < 0.4:
            done, acted = self._done(place, self._acts(1))
            return self._joined(text, done), saw(place, **more) + acted
        return text, saw(place, **more)

    def _two_feet(self) -> Remark:
        (one, first), (two, second) = self._foot(several=False), self._foot(several=False)
        if first == second:
            return self._two_feet()
        how = self.chance.randrange(4)
        if how == 0:
            said, more = self._fault(plain=True)
            return f"{one} and {two} {said}", saw(first, **more) + saw(second, **more)
        if how == 1:
            return f"{one} fine, {two} fine", saw(first, "sound") + saw(second, "sound")
        if how == 2:
            said, found = self._seen_and_done(first)
            fine = self._pick("sound", [(form, "sound") for form in forms.FOOT_FINDINGS["sound"].split("|")])[0]
            return f"{self._joined(one, said)}, {two} {fine}", found + saw(second, "sound")
        (said, found), (more, seen) = self._seen_and_done(first, 0.3), self._seen_and_done(second, 0.3)
        return f"{self._joined(one, said)}, {self._joined(two, more)}", found + seen

    def _part(self) -> Remark:
        form, place = self._foot(several=False)
        part = self._pick("parts", forms.PARTS.split("|"))
        plain = ["fine", "clean", "scald"] if part == BETWEEN else ["crack", "overgrown", "soft", "fine", "bleeding"]
        said = self._pick(f"at {part}", plain)
        finding = {"fine": "sound", "clean": "sound", "soft": "soft horn"}.get(said, said)
        acts, done = [], ""
        has_place = self.chance.random() < 0.75
        if self.chance.random() < 0.3:
            done, acts = self._done(place if has_place else None, self._acts(1), part)
        if not has_place:
            return self._joined(f"{part} {said}", done), saw(None, finding, part) + acts
        return self._joined(form, f"{part} {said}", done), saw(place, finding, part) + acts

    def _no_place(self) -> Remark:
        if self.chance.random() < 0.3:
            return self._done(None, self._acts())
        return self._seen_and_done(None)

    def _only_place(self) -> Remark:
        if self.chance.random() < 0.3:
            form, place = self._of("body places", forms.BODY_PLACES)
            return form, opened(place)
        form, place = self._foot()
        return form, opened(place)

    def _with_animal(self) -> Remark:
        """An animal and a foot in the same breath."""
        words, who = self._animal()
        form, place = self._foot()
        said, found = self._seen_and_done(place, 0.3)
        if self.chance.random() < 0.25:
            return f"{words}, {form} fine", who + saw(place, "sound")
        return f"{self._joined(words, form)} {said}", who + found

    # ---------------------------------------------------------------------------------------------------- the rest

    def _body(self) -> Remark:
        if self.chance.random() < 0.4:
            form, finding = self._of("elsewhere", forms.ELSEWHERE)
            got = (
                "she's got " if finding in ("lice", "scour") and form == finding and self.chance.random() < 0.5 else ""
            )
            if form in ("thin", "fat") and self.chance.random() < 0.5:
                return f"a bit {form}", saw(None, finding, grade="slight")
            return got + form, saw(None, finding)
        form, where = self._of("body", forms.BODY_REMARKS)
        place, finding = where.split(": ")
        return form, saw(place, finding)

    def _measure(self) -> Remark:
        kind, name = self._of("measures", forms.MEASURES)
        if name == "lameness":
            value = self.chance.randrange(4)
            return f"{kind} {('nought', 'one', 'two', 'three')[value]}", measure("lameness", value)
        table = {"condition": forms.CONDITIONS, "weight": forms.WEIGHTS, "temperature": forms.TEMPERATURES}[name]
        said, value = self._of(name, table)
        lead, before = ("scratch that, ", order("scratch")) if self.chance.random() < 0.1 else ("", [])
        return f"{lead}{kind} {said}", before + measure(name, float(value))

    def _later(self) -> Remark:
        said, name = self._of("follow-ups", forms.FOLLOW_UPS)
        if name == "re-trim when soft" or self.chance.random() < 0.25:
            return said, later(name)
        time, days = self._of("times", forms.TIMES)
        return f"{said} {time}", later(name, int(days))

    def _whole(self) -> Remark:
        kind = self.chance.randrange(4)
        if kind == 0:
            colour = self._pick("colours", forms.COLOURS.split("|"))
            return f"{colour} mark", mark(colour)
        if kind == 1:
            said, state = self._of("ear tags", forms.EAR_TAGS)
            return said, tag(state)
        said, name = self._of("traits", forms.TRAITS)
        return said, trait(name)

    def _animal(self) -> tuple[str, Flats]:
        at = self._pick("animals", range(len(NAMES)))
        if self.chance.random() < 0.7:
            return NAMES[at].lower(), animal(NAMES[at])
        return _number_said(NUMBERS[at], self.chance), animal(NUMBERS[at])

    def _called(self) -> Remark:
        words, who = self._animal()
        lead = self._pick("leads", ["", "", "next is ", "now "] + ["tag "] * 2)
        if lead == "tag ":
            at = self._pick("animals", range(len(NAMES)))
            return f"tag {_number_said(NUMBERS[at], self.chance)}", animal(NUMBERS[at])
        return lead + words, (order("next") if lead else []) + who

    def _command(self) -> Remark:
        if self.chance.random() < 0.25:
            form, place = self._foot(several=False)
            return f"{self._pick('corrections', forms.CORRECTIONS.split('|'))}, {form}", order(
                "correct", place=FEET[place]
            )
        said, name = self._of("commands", forms.COMMANDS)
        if name == "skip" and said != "skip" and self.chance.random() < 0.6:
            why, reason = self._of("reasons", forms.SKIP_REASONS)
            return f"{said}, {why}", order("skip", reason=reason)
        return said, order(name)

    def _question(self) -> Remark:
        said, name = self._of("questions", forms.QUESTIONS)
        name, _, argument = name.partition(", ")
        slot = {"last time": "action", "history": "place", "count": "finding"}.get(name)
        return said, asks(name, **({slot: argument} if slot and argument else {}))


def _number_said(number: str, chance: random.Random) -> str:
    hundreds, rest = number[0], int(number[1:])
    if chance.random() < 0.7 or rest < 20:
        return " ".join(DIGITS[int(digit)] for digit in number)
    tens = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"][rest // 10 - 2]
    pair = f"{tens} {DIGITS[rest % 10]}" if rest % 10 else tens
    return f"{DIGITS[int(hundreds)]} {chance.choice(('hundred and ', ''))}{pair}"


def remarks(count: int, seed: int) -> Iterator[Remark]:
    """So many remarks, none of them twice."""
    sampler, seen = Sampler(seed), set()
    while len(seen) < count:
        said, expected = sampler.draw()
        if said not in seen:
            seen.add(said)
            yield said, expected
