"""Several grammar files put together: names, imports, fills, and the rules about recursion."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from graphlib import CycleError, TopologicalSorter

from assistant.errors import BadGrammar
from assistant.grammar import jsgf
from assistant.grammar.network import END, START, Builder, Fill, Network, Phrasebook, phrasebook, trimmed


@dataclass
class _Definition:
    parts: list[tuple[jsgf.JsgfFile, jsgf.Rule]] = field(default_factory=list)

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
        places: file and line of each declared rule, for messages.
    """

    networks: Mapping[str, Network | Phrasebook]
    named: tuple[str, ...]
    first: Mapping[str, frozenset[str]]
    nullable: frozenset[str]
    recursive: frozenset[str]
    places: Mapping[str, tuple[str, int]]

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


def link(files: Sequence[jsgf.JsgfFile], fills: Mapping[str, Sequence[Fill]]) -> Linked:
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
    networks: dict[str, Network | Phrasebook] = {}
    for name, alternatives in fills.items():
        for fill in alternatives:
            if not fill.weight > 0:
                raise BadGrammar(f"fill of <{name}>: the weight of {fill.words!r} has to be above 0, not {fill.weight}")
        networks[name] = phrasebook(alternatives)
    for key, definition in rules.items():
        net = networks[key] = Network()
        for file, rule in definition.parts:
            resolve = partial(_resolve, file=file, rules=rules, fills=fills)
            Builder(key, resolve, networks).build(rule.expansion, net, START, END)
    filled = {key for key in rules if key.rpartition(".")[2] in fills}
    named = sorted(rules.keys() - filled, key=lambda key: not rules[key].is_public)
    places = {key: (definition.parts[0][0].file, definition.parts[0][1].line) for key, definition in rules.items()}
    networks = trimmed(networks)
    first, nullable = _beginnings(networks, places)
    recursive = _recursive(networks, places)
    return Linked(networks, (*named, *fills), first, nullable, recursive, places)


def _check_imports(file: jsgf.JsgfFile, files: Sequence[jsgf.JsgfFile], rules: Mapping[str, _Definition]) -> None:
    grammars = {other.name for other in files}
    for item in file.imports:
        grammar, _, name = item.name.rpartition(".")
        if grammar not in grammars:
            raise jsgf.bad(file.file, item.line, f"<{item.name}>", f"there is no grammar {grammar!r} to import from")
        if name == "*":
            continue
        if item.name not in rules:
            raise jsgf.bad(file.file, item.line, f"<{item.name}>", "there is no such rule to import")
        if not rules[item.name].is_public:
            raise jsgf.bad(file.file, item.line, f"<{item.name}>", "this rule is private, declare it public")


def _resolve(
    reference: jsgf.Reference, file: jsgf.JsgfFile, rules: Mapping[str, _Definition], fills: Mapping[str, object]
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
        raise jsgf.bad(file.file, reference.line, f"<{name}>", f"imported twice, say which of {sorted(found)}")
    if not found:
        hint = "is private to another grammar, declare it public" if name in rules else "is neither here nor imported"
        raise jsgf.bad(file.file, reference.line, f"<{name}>", f"this rule {hint}")
    return found.pop()


def _beginnings(
    networks: Mapping[str, Network | Phrasebook], places: Mapping[str, tuple[str, int]]
) -> tuple[dict[str, frozenset[str]], frozenset[str]]:
    """The first words of each network, and which can say nothing; a call of itself before any word is refused."""
    first: dict[str, frozenset[str]] = {}
    nullable: set[str] = set()
    open_keys: list[str] = []

    def visit(key: str) -> None:
        net = networks[key]
        if isinstance(net, Phrasebook):
            first[key] = net.first
            return
        if key in open_keys or len(open_keys) > 4 * jsgf.DEEPEST:
            raise _recursion(key, places, "calls itself before any word, or rules call one another too deep")
        open_keys.append(key)
        words: set[str] = set()
        seen, agenda = {START}, [START]
        while agenda:
            for step in net.steps[agenda.pop()]:
                if step.call and step.call not in first:
                    visit(step.call)
                words |= {step.word} if step.word else first[step.call] if step.call else set()
                silent = not step.word and (not step.call or (step.call in nullable and not step.moves))
                if silent and step.target not in seen:
                    seen.add(step.target)
                    agenda.append(step.target)
        if END in seen:
            nullable.add(key)
        first[key] = frozenset(words)
        open_keys.pop()

    for key in networks:
        if key not in first:
            visit(key)
    return first, frozenset(nullable)


def _recursive(networks: Mapping[str, Network | Phrasebook], places: Mapping[str, tuple[str, int]]) -> frozenset[str]:
    """The networks that can call themselves, which they may do only as the last thing."""
    calls = {key: set(_calls(net)) for key, net in networks.items()}
    try:
        TopologicalSorter(calls).prepare()
    except CycleError:
        pass
    else:
        return frozenset()
    reach = {key: _reachable(key, calls) for key in networks}
    recursive = frozenset(key for key in networks if key in reach[key])
    for key in recursive:
        net = networks[key]
        for step in (step for steps in net.steps for step in steps) if isinstance(net, Network) else ():
            if step.call in recursive and step.target != END and key in reach[step.call]:
                raise _recursion(key, places, "calls itself in the middle; it may do so only as the last item")
    return recursive


def _calls(net: Network | Phrasebook) -> Iterable[str]:
    return (step.call for steps in net.steps for step in steps if step.call) if isinstance(net, Network) else ()


def _reachable(key: str, calls: Mapping[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    agenda = [key]
    while agenda:
        new = calls[agenda.pop()] - seen
        seen |= new
        agenda.extend(new)
    return seen


def _recursion(key: str, places: Mapping[str, tuple[str, int]], trouble: str) -> BadGrammar:
    rule = key.partition("#")[0]
    file, line = places.get(rule, ("", 0))
    return jsgf.bad(file, line, f"<{rule}>", f"the rule {trouble}")
