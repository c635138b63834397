"""Several grammar files put together: names, imports, fills, and the rules about recursion."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from assistant.errors import BadGrammar
from assistant.grammar import tree
from assistant.grammar.network import END, START, Builder, Fill, Network, Phrasebook, phrasebook, trimmed
from assistant.grammar.recursion import Beginnings, recursive


@dataclass
class _Definition:
    parts: list[tuple[tree.JsgfFile, tree.Rule]] = field(default_factory=list)

    @property
    def is_public(self) -> bool:
        return any(rule.public for _, rule in self.parts)


@dataclass(frozen=True)
class Linked:
    """The networks of all rules by key.

    Attributes:
        networks: by key; the key of a rule is `grammar.rule`, that of a filled rule its bare name.
        named: keys of the rules that were declared or filled, public ones first.
        first: the words that each network can begin with.
        nullable: keys of the networks that can say nothing.
        recursive: keys of the networks that can call themselves.
    """

    networks: Mapping[str, Network | Phrasebook]
    named: tuple[str, ...]
    first: Mapping[str, frozenset[str]]
    nullable: frozenset[str]
    recursive: frozenset[str]

    def key(self, rule: str) -> str:
        """The key of a rule called by its bare or full name.

        Raises:
            BadGrammar: no rule has this name, or two have.
        """
        found = [key for key in self.named if key == rule or key.endswith(f".{rule}")]
        if rule in found:
            return rule
        if not found:
            raise BadGrammar(f"no rule <{rule}> in the grammars that were loaded; add it to one of them")
        if len(found) > 1:
            raise BadGrammar(f"the rule <{rule}> is ambiguous, say which: {', '.join(f'<{key}>' for key in found)}")
        return found[0]


def link(files: Sequence[tree.JsgfFile], fills: Mapping[str, Sequence[Fill]]) -> Linked:
    """Puts files together and builds the networks.

    Raises:
        BadGrammar: a reference or import that leads nowhere or to two rules, a bad fill, or recursion that is not at
            the end of a rule.
    """
    rules: dict[str, _Definition] = {}
    for file in files:
        for rule in file.rules:
            rules.setdefault(f"{file.name}.{rule.name}", _Definition()).parts.append((file, rule))
    for file in files:
        _check_imports(file, files, rules)
    networks: dict[str, Network | Phrasebook] = {name: phrasebook(name, given) for name, given in fills.items()}
    for key, definition in rules.items():
        net = networks[key] = Network()
        for file, rule in definition.parts:
            resolve = partial(_resolve, file=file, rules=rules, fills=fills)
            Builder(key, resolve, networks).build(rule.expansion, net, START, END)
    filled = {key for key in rules if key.rpartition(".")[2] in fills}
    named = sorted(rules.keys() - filled, key=lambda key: not rules[key].is_public)
    places = {key: (definition.parts[0][0].file, definition.parts[0][1].line) for key, definition in rules.items()}
    networks = trimmed(networks)
    beginnings = Beginnings(networks, places)
    circles = recursive(networks, places)
    return Linked(networks, (*named, *fills), beginnings.first, frozenset(beginnings.nullable), circles)


def _check_imports(file: tree.JsgfFile, files: Sequence[tree.JsgfFile], rules: Mapping[str, _Definition]) -> None:
    grammars = {other.name for other in files}
    for item in file.imports:
        grammar, _, name = item.name.rpartition(".")
        if grammar not in grammars:
            raise tree.bad(file.file, item.line, f"<{item.name}>", f"there is no grammar {grammar!r} to import from")
        if name == "*":
            continue
        if item.name not in rules:
            raise tree.bad(file.file, item.line, f"<{item.name}>", "there is no such rule to import")
        if not rules[item.name].is_public:
            raise tree.bad(file.file, item.line, f"<{item.name}>", "this rule is private, declare it public")


def _resolve(
    reference: tree.Reference, file: tree.JsgfFile, rules: Mapping[str, _Definition], fills: Mapping[str, object]
) -> str:
    name = reference.name
    if (bare := name.rpartition(".")[2]) in fills:
        return bare
    if (own := f"{file.name}.{name}") in rules:
        return own
    if name in rules and (name.startswith(f"{file.name}.") or rules[name].is_public):
        return name
    found = set()
    for item in file.imports:
        grammar, _, imported = item.name.rpartition(".")
        key = f"{grammar}.{bare}"
        if imported in ("*", bare) and key in rules and rules[key].is_public and f".{key}".endswith(f".{name}"):
            found.add(key)
    if len(found) > 1:
        raise tree.bad(file.file, reference.line, f"<{name}>", f"imported twice, say which of {sorted(found)}")
    if not found:
        hint = "is private to another grammar, declare it public" if name in rules else "is neither here nor imported"
        raise tree.bad(file.file, reference.line, f"<{name}>", f"this rule {hint}")
    return found.pop()
