"""Grammar files in the JSpeech Grammar Format: text to syntax tree and back.

Source:
    JSpeech Grammar Format, W3C Note 05 June 2000.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

from lark import Lark, Token, Transformer, UnexpectedCharacters, UnexpectedEOF, UnexpectedToken, v_args
from lark.exceptions import VisitError

from assistant.errors import BadGrammar
from assistant.grammar.tree import (
    DEEPEST,
    Expansion,
    Import,
    InOrder,
    JsgfFile,
    Maybe,
    OneOf,
    Reference,
    Repeat,
    Rule,
    Tagged,
    Word,
    bad,
)

__all__ = ["JsgfFile", "parse", "write"]

SYNTAX = r"""
start: HEADER declaration import_* rule*
declaration: "grammar" WORD ";"
import_: "import" NAME ";"
rule: PUBLIC? NAME "=" alternatives ";"
alternatives: alternative ("|" alternative)*
alternative: WEIGHT? item+
?item: marked | repeated TAG* -> marked
repeated: marked REPEAT
marked: thing TAG*
?thing: WORD -> word
    | QUOTED -> quoted
    | NAME -> reference
    | "(" alternatives ")" -> group
    | "[" alternatives "]" -> optional

HEADER: /\#JSGF\s+V1\.0[^;\n]*;/
PUBLIC: "public"
REPEAT: "*" | "+"
NAME: /<\s*[^<>\s{}"*]+\s*>|<\s*[^<>\s{}"*]+\.\*\s*>/
QUOTED: /"(\\.|[^"\\])*"/s
TAG: /\{(\\.|[^\\}])*\}/s
WEIGHT: /\/[^\/\n*;|]+\//
WORD: /[^\s;=|*+<>()\[\]{}\/"]+/
COMMENT: /\/\/[^\n]*|\/\*(.|\n)*?\*\//
SPACE: /\s+/
%ignore COMMENT
%ignore SPACE
"""
_SKIPPED = re.compile(r"//[^\n]*|/\*.*?\*/|\"(?:\\.|[^\"\\])*\"|\{(?:\\.|[^\\}])*\}", re.DOTALL)
_PLAIN_WORD = re.compile(r"[^\s;=|*+<>()\[\]{}/\"\\]+")
_NOT_TEXT = re.compile("[\x00\ufffd\ud800-\udfff]")


class _Builder(Transformer[Token, JsgfFile]):
    """Turns each rule of `SYNTAX` into its part of the tree."""

    def __init__(self, file: str) -> None:
        super().__init__()
        self.file = file

    def _name(self, token: Token) -> str:
        return token[1:-1].strip()

    @v_args(inline=True)
    def declaration(self, name: Token) -> str:
        return str(name)

    @v_args(inline=True)
    def import_(self, name: Token) -> Import:
        if "." not in name:
            raise bad(
                self.file, name.line or 0, name, "an import names a grammar and a rule, as <feet.place> or <feet.*>"
            )
        return Import(self._name(name), name.line or 0)

    def start(self, parts: list[object]) -> JsgfFile:
        imports = tuple(part for part in parts if isinstance(part, Import))
        rules = tuple(part for part in parts if isinstance(part, Rule))
        seen: dict[str, int] = {}
        for rule in rules:
            if rule.name in seen:
                raise bad(self.file, rule.line, f"<{rule.name}>", f"this rule is already on line {seen[rule.name]}")
            seen[rule.name] = rule.line
        return JsgfFile(str(parts[1]), imports, rules, self.file)

    @v_args(inline=True)
    def rule(self, *parts: Any) -> Rule:
        *public, token, expansion = parts
        name = self._name(token)
        if "." in name or name in ("NULL", "VOID"):
            raise bad(self.file, token.line, token, "a rule cannot have this name")
        return Rule(name, expansion, bool(public), token.line)

    def alternatives(self, parts: list[tuple[Token | None, Expansion]]) -> Expansion:
        marks = [mark for mark, _ in parts if mark is not None]
        items = tuple(item for _, item in parts)
        if not marks:
            return OneOf(items) if len(items) > 1 else items[0]
        if len(marks) < len(items):
            raise bad(self.file, marks[0].line or 0, marks[0], "either all alternatives have a weight or none has")
        weights = tuple(self._weight(mark) for mark in marks)
        if not any(weights):
            raise bad(self.file, marks[0].line or 0, marks[0], "at least one alternative needs a weight above 0")
        return OneOf(items, weights)

    def _weight(self, mark: Token) -> float:
        try:
            weight = float(mark[1:-1])
        except ValueError:
            weight = math.nan
        if not (0 <= weight < math.inf):
            raise bad(self.file, mark.line or 0, mark, "a weight is a number, at least 0")
        return weight

    def alternative(self, parts: list[Token | Expansion]) -> tuple[Token | None, Expansion]:
        mark = parts[0] if isinstance(parts[0], Token) else None
        items = tuple(part for part in parts if not isinstance(part, Token))
        return mark, items[0] if len(items) == 1 else InOrder(items)

    @v_args(inline=True)
    def word(self, token: Token) -> Word:
        return Word(str(token))

    @v_args(inline=True)
    def quoted(self, token: Token) -> Word:
        text = " ".join(_unescaped(token[1:-1]).split())
        if not text:
            raise bad(self.file, token.line or 0, token, "a quoted token holds a word")
        return Word(text)

    @v_args(inline=True)
    def reference(self, name: Token) -> Reference:
        return Reference(self._name(name), name.line or 0)

    @v_args(inline=True)
    def group(self, item: Expansion) -> Expansion:
        return item

    @v_args(inline=True)
    def optional(self, item: Expansion) -> Maybe:
        return Maybe(item)

    @v_args(inline=True)
    def repeated(self, item: Expansion, sign: Token) -> Repeat:
        return Repeat(item, "*+".index(sign))

    @v_args(inline=True)
    def marked(self, item: Expansion, *tags: Token) -> Expansion:
        texts = tuple(_unescaped(tag[1:-1]).strip() for tag in tags)
        if isinstance(item, Tagged):
            return Tagged(item.item, item.tags + texts)
        return Tagged(item, texts) if texts else item


def _unescaped(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", text, flags=re.DOTALL)


_PARSER = Lark(SYNTAX, parser="lalr", lexer="contextual", maybe_placeholders=False)


def parse(text: str, file: str) -> JsgfFile:
    """The syntax tree of a grammar file.

    Tags stand on the item before them (word, rule, bracket or repeat of one); `(a {x}) {y}` and `a {x} {y}` are the
    same. At most one `*` or `+` stands on an item; brackets allow more. Backslash takes the next character of a tag
    or quoted token as it is.

    Args:
        text: the whole file.
        file: its name, for messages.

    Raises:
        BadGrammar: the text breaks the format; with file, line and the offending text.
    """
    text = text.removeprefix("\ufeff")
    if found := _NOT_TEXT.search(text):
        raise bad(
            file, text.count("\n", 0, found.start()) + 1, ascii(found[0]), "not UTF-8 text, save the file as UTF-8"
        )
    if not text.startswith("#JSGF"):
        raise bad(file, 1, text.split("\n", 1)[0][:60], "the first line has to be #JSGF V1.0;")
    _check_depth(text, file)
    try:
        tree = _PARSER.parse(text)
        return _Builder(file).transform(tree)
    except VisitError as error:
        if isinstance(error.orig_exc, BadGrammar):
            raise error.orig_exc from None
        raise
    except UnexpectedEOF as error:
        raise bad(file, text.count("\n") + 1, "", "the file ends inside a rule, a ';' or bracket is missing") from error
    except UnexpectedCharacters as error:
        line = text.split("\n")[error.line - 1]
        raise bad(file, error.line, line[error.column - 1 :][:60], "this cannot stand here") from error
    except UnexpectedToken as error:
        raise _misplaced(error, text, file) from error


def _misplaced(error: UnexpectedToken, text: str, file: str) -> BadGrammar:
    token, expected = error.token, set(error.accepts or error.expected)
    if token.type == "$END":
        return bad(file, text.count("\n") + 1, "", "the file ends too early, a ';' or bracket is missing")
    line = text.split("\n")[error.line - 1].strip()
    if token.type in ("VBAR", "RPAR", "RSQB", "SEMICOLON") and "WORD" in expected and "TAG" not in expected:
        return bad(file, error.line, line, "an alternative is empty, write <NULL> or remove it")
    if token.type in ("RPAR", "RSQB") or {"RPAR", "RSQB"} & expected:
        return bad(file, error.line, line, f"brackets do not match at {str(token)!r}")
    return bad(file, error.line, line, f"{str(token)!r} cannot stand here")


def _check_depth(text: str, file: str) -> None:
    depth = 0
    plain = _SKIPPED.sub(lambda found: "\n" * found[0].count("\n"), text)
    for found in re.finditer(r"[(\[)\];]", plain):
        depth = 0 if found[0] == ";" else depth + (1 if found[0] in "([" else -1)
        if depth > DEEPEST:
            line = plain.count("\n", 0, found.start()) + 1
            raise bad(file, line, "", f"more than {DEEPEST} brackets inside one another, use rules")


# --------------------------------------------------------------------------------------------------------- writing


def write(file: JsgfFile) -> str:
    """The text of a syntax tree: `parse(write(file), …) == file`."""
    return "\n".join(_lines(file)) + "\n"


def _lines(file: JsgfFile) -> Iterator[str]:
    yield "#JSGF V1.0 UTF-8;"
    yield f"grammar {file.name};"
    yield from (f"import <{item.name}>;" for item in file.imports)
    for rule in file.rules:
        yield f"{'public ' if rule.public else ''}<{rule.name}> = {_text(rule.expansion)};"


def _text(item: Expansion) -> str:
    match item:
        case Word(text):
            return text if _PLAIN_WORD.fullmatch(text) else '"' + re.sub(r'(["\\])', r"\\\1", text) + '"'
        case Reference(name):
            return f"<{name}>"
        case InOrder(items):
            return " ".join(_bracketed(part, InOrder, OneOf) for part in items)
        case OneOf(items, weights):
            marks = [f"/{weight!r}/ " for weight in weights] or [""] * len(items)
            parts = (_bracketed(part, OneOf) for part in items)
            return " | ".join(mark + part for mark, part in zip(marks, parts, strict=True))
        case Maybe(inner):
            return f"[{_text(inner)}]"
        case Repeat(inner, least):
            return _bracketed(inner, InOrder, OneOf, Repeat, Tagged) + "*+"[least]
        case Tagged(inner, tags):
            return _bracketed(inner, InOrder, OneOf) + "".join(f" {{{_escaped(tag)}}}" for tag in tags)


def _bracketed(item: Expansion, *kinds: type[Expansion]) -> str:
    return f"({_text(item)})" if isinstance(item, kinds) else _text(item)


def _escaped(text: str) -> str:
    return re.sub(r"([\\}])", r"\\\1", text)
