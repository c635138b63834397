"""The documents say what is so: commands, options, links, files, packages and names in them exist."""

from __future__ import annotations

import re
import shlex
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from make_commands import described, every_command

from assistant.cli.main import commands

ROOT = Path(__file__).parent.parent
DOCS = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md"), ROOT / "demo_audio" / "README.md"])
TEXT = {file.relative_to(ROOT).as_posix(): file.read_text(encoding="utf-8") for file in DOCS}
COMMAND_LINE = re.compile(r"^(?:\s*[$>]\s*)?\s*(?:\.venv/bin/)?(assistant(?: .*)?)$")
INLINE = re.compile(r"`(assistant [^`\n]+)`")
LINK = re.compile(r"(?<!!)\[[^\]]+\]\(([^)\s]+)\)")
FILE = re.compile(r"`((?:assistant|docs|grammars|tests|demo_audio|\.ci)/[\w./-]*)`")
PACKAGE = re.compile(r"^[A-Za-z0-9_.-]+")


def fenced(text: str, language: str = "") -> Iterator[str]:
    """The blocks of code of one language."""
    for found in re.finditer(rf"^```{language}[^\n]*\n(.*?)^```", text, re.MULTILINE | re.DOTALL):
        yield found.group(1)


def blocks_of_code(text: str) -> Iterator[str]:
    """Lines of fenced blocks, and lines that are indented as code."""
    for block in fenced(text):
        yield from block.splitlines()
    yield from (line for line in text.splitlines() if line.startswith("    "))


def command_lines(text: str) -> list[str]:
    """What is typed after "assistant" in the examples, without comments, joins and placeholders for options."""
    lines = [
        match.group(1) for line in blocks_of_code(text) if (match := COMMAND_LINE.match(line.split(" #")[0].rstrip()))
    ]
    lines += [match.group(1) for match in INLINE.finditer(text)]
    return [
        part.strip()
        for line in lines
        for part in re.split(r"\s&&\s|\s\|\s|\s>\s", line)
        if part.strip().startswith("assistant")
    ]


def walked(words: list[str]) -> tuple[click.Command, list[str]]:
    """The command that a line means, and its own words."""
    at: click.Command = commands
    context = click.Context(commands)
    words = words[1:]
    while words and words[0].startswith("--"):
        words = words[2 if words[0] == "--store" else 1 :]
    while isinstance(at, click.Group) and words:
        found = at.get_command(context, words[0])
        if found is None:
            raise LookupError(f"there is no command {words[0]!r}")
        at, words = found, words[1:]
    return at, words


EXAMPLES = sorted({(name, line) for name, text in TEXT.items() for line in command_lines(text)})


@pytest.mark.parametrize(("name", "line"), EXAMPLES)
def test_an_example_is_a_real_command_with_real_options(name: str, line: str) -> None:
    command, words = walked(shlex.split(line))
    known = {option for one in command.params for option in (*one.opts, *one.secondary_opts)} | {"--help", "-h"}
    used = {word.split("=")[0] for word in words if word.startswith("--")}
    assert used <= known, f"{name}: {line}"


@pytest.mark.parametrize(
    ("words", "command"), list(every_command()), ids=lambda value: value if isinstance(value, str) else ""
)
def test_every_command_has_help_and_a_place_in_the_documents(words: str, command: click.Command) -> None:
    assert command.help, "a command says what it does"
    assert all(one.help for one in command.params if isinstance(one, click.Option)), "an option says what it does"
    assert described(words, command) in TEXT["docs/commands.md"], "bring it up to date: python tests/make_commands.py"


@pytest.mark.parametrize("name", TEXT)
def test_every_link_and_file_that_is_named_exists(name: str) -> None:
    here = (ROOT / name).parent
    links = [link.split("#")[0] for link in LINK.findall(TEXT[name]) if "://" not in link and not link.startswith("#")]
    missing = [link for link in links if not (here / link).exists()]
    missing += [file for file in FILE.findall(TEXT[name]) if not (ROOT / file).exists()]
    assert not missing


PYTHON = [(name, block) for name, text in TEXT.items() for block in fenced(text, "python")]


@pytest.mark.parametrize(("name", "block"), PYTHON or [("none", "")])
def test_python_in_the_documents_runs(name: str, block: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    exec(compile(block, name, "exec"), {"__name__": "documented"})


def packages() -> Iterator[str]:
    """What pyproject.toml asks for, to run and for the extras of users."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for line in (
        *project["dependencies"],
        *(one for group in project["optional-dependencies"].values() for one in group),
    ):
        yield PACKAGE.match(line).group(0)


@pytest.mark.parametrize("package", sorted(set(packages())))
def test_every_package_has_its_reason(package: str) -> None:
    assert re.search(rf"\b{re.escape(package)}\b", TEXT["docs/dependencies.md"]), f"why {package}?"


def test_the_readme_names_every_document() -> None:
    missing = [name for name in TEXT if name.startswith("docs/") and name not in TEXT["README.md"]]
    assert not missing
