"""Numbers of a register held against the standards; each problem names the rule that it breaks.

Sources: as in `assistant.register.identity`; for management tags, GOV.UK, How to identify your animals: in England they
do not bear "UK".
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from typing import NamedTuple

from assistant.errors import BadRegister
from assistant.register.identity import Completeness, ElectronicCode, VisibleNumber, electronic_code, uk_visible
from assistant.register.register import called, compact
from assistant.values import Animal

ISO_CODE = "ISO 11784, structure of the code"
UK_NUMBER = "Defra guidance for keepers, UK 0 + six digits of the flock + five of the animal"
NI_NUMBER = "Regulation (EU) 2021/520 art. 12, XI and country 899 for Northern Ireland"
PAIRING = "Regulation (EC) 933/2008, visible number and electronic code are of one animal"
MANAGEMENT = "GOV.UK, How to identify your animals: a management tag does not bear UK"


class StandardProblem(NamedTuple):
    """A number that breaks a rule, or cannot be what it is written down as.

    Attributes:
        animal: id.
        what: "tag", "electronic" or "number".
        value: the number.
        rule: which rule of which standard.
        message: what is wrong and what to do.
    """

    animal: str
    what: str
    value: str
    rule: str
    message: str


def standard_problems(animals: Iterable[Animal]) -> tuple[StandardProblem, ...]:
    """Every number that breaks a rule, in the order of the animals.

    Official tags of other countries are free text: nothing is said of them. No electronic code is asked for, since
    goats and older sheep need none.
    """
    return tuple(problem for animal in animals for problem in _of(animal))


def _of(animal: Animal) -> Iterator[StandardProblem]:
    visible = yield from _tag(animal)
    code = yield from _code(animal)
    if visible and code:
        yield from _pair(animal, visible, code)
    if compact(animal.number).startswith("UK"):
        message = f"{called(animal)}: the management number {animal.number} begins with UK. Is it the official tag?"
        yield StandardProblem(animal.id, "number", animal.number, MANAGEMENT, message)


def _tag(animal: Animal) -> Generator[StandardProblem, None, VisibleNumber | None]:
    """Problems of the official tag; returns its number if it is a British or Northern Irish one."""
    tag = compact(animal.tag)
    if not tag.startswith(("UK", "XI")):
        return None
    rule = NI_NUMBER if tag.startswith("XI") else UK_NUMBER
    try:
        visible = uk_visible(animal.tag)
    except BadRegister as error:
        yield StandardProblem(animal.id, "tag", animal.tag, rule, f"{called(animal)}: {error}")
        return None
    if visible.completeness is not Completeness.COMPLETE or "not known" in visible.reason:
        yield StandardProblem(animal.id, "tag", animal.tag, rule, f"{called(animal)}: {visible.reason}")
    return visible


def _code(animal: Animal) -> Generator[StandardProblem, None, ElectronicCode | None]:
    """Problems of the electronic code; returns it if it can be read."""
    if not animal.electronic:
        return None
    try:
        code = electronic_code(animal.electronic)
    except BadRegister as error:
        yield StandardProblem(animal.id, "electronic", animal.electronic, ISO_CODE, f"{called(animal)}: {error}")
        return None
    if not code.is_official:
        yield StandardProblem(animal.id, "electronic", code.digits, ISO_CODE, f"{called(animal)}: {code.reason}")
    return code


def _pair(animal: Animal, visible: VisibleNumber, code: ElectronicCode) -> Iterator[StandardProblem]:
    belongs = visible.electronic or (visible.suggestion.electronic if visible.suggestion else None)
    if belongs and code.is_official and belongs != code:
        printed = code.visible or f"country {code.country}"
        message = (
            f"{called(animal)}: with {visible} goes the code {belongs.digits}, but {code.digits} ({printed}) is "
            "written down. Read the tag again."
        )
        yield StandardProblem(animal.id, "electronic", code.digits, PAIRING, message)
