"""The syntax tree of a grammar file, and the error that points into one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from assistant.errors import BadGrammar

DEEPEST = 100
"""Most brackets inside one another; nobody speaks so, and the stack of the interpreter stays small."""


@dataclass(frozen=True, slots=True)
class Word:
    """A token; one that was quoted may hold spaces."""

    text: str


@dataclass(frozen=True, slots=True)
class Reference:
    """A rule put in by name; `NULL` and `VOID` are the format's own."""

    name: str
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class InOrder:
    """Two or more items said one after the other."""

    items: tuple[Expansion, ...]


@dataclass(frozen=True, slots=True)
class OneOf:
    """Alternatives; `weights` is empty or has one number, at least 0, for each."""

    items: tuple[Expansion, ...]
    weights: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Maybe:
    """An optional item."""

    item: Expansion


@dataclass(frozen=True, slots=True)
class Repeat:
    """An item said `least` (0 or 1) times or more."""

    item: Expansion
    least: int


@dataclass(frozen=True, slots=True)
class Tagged:
    """An item with the raw texts of the tags that stand on it."""

    item: Expansion
    tags: tuple[str, ...]


Expansion = Word | Reference | InOrder | OneOf | Maybe | Repeat | Tagged


def tag_texts(item: Expansion) -> Iterator[str]:
    """The raw texts of all tags in an expansion."""
    match item:
        case InOrder(items) | OneOf(items):
            for one in items:
                yield from tag_texts(one)
        case Maybe(inner) | Repeat(inner):
            yield from tag_texts(inner)
        case Tagged(inner, texts):
            yield from tag_texts(inner)
            yield from texts


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of a file; `line` counts from 1."""

    name: str
    expansion: Expansion
    public: bool = False
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Import:
    """What a file takes from another grammar: `name` is `grammar.rule` or `grammar.*`."""

    name: str
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class JsgfFile:
    """The syntax tree of one file; `file` is its name for messages."""

    name: str
    imports: tuple[Import, ...] = ()
    rules: tuple[Rule, ...] = ()
    file: str = field(default="", compare=False)


def bad(file: str, line: int, text: str, trouble: str) -> BadGrammar:
    """The error for one place of a grammar file: what, where, what to do."""
    return BadGrammar(f"{file}:{line}: {trouble}: {text.strip()!r}" if text.strip() else f"{file}:{line}: {trouble}")
