"""The documents say what is so: commands, options, links, files, packages and names in them exist."""

from __future__ import annotations

import io
import re
import shlex
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from make_commands import described, every_command

from assistant.cli.main import ExitStatus, commands, run

ROOT = Path(__file__).parent.parent
DOCS = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md"), ROOT / "demo_audio" / "README.md"])
TEXT = {file.relative_to(ROOT).as_posix(): file.read_text(encoding="utf-8") for file in DOCS}
COMMAND_LINE = re.compile(r"^(?:\s*[$]\s*)?\s*(?:\.venv/bin/)?(assistant(?: .*)?)$")
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


def played(text: str) -> Iterator[tuple[str, list[str], list[str]]]:
    """The commands of a document's console blocks, each with what is typed into it and what it has to answer."""
    for block in fenced(text, "console"):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *lines = part.rstrip("\n").split("\n")
            yield command, [line[2:] for line in lines if line.startswith("> ")], [x for x in lines if x[:2] != "> "]


@pytest.mark.parametrize("name", [name for name, text in TEXT.items() if "```console" in text])
def test_what_a_document_plays_is_what_happens(name, tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    for command, typed, answers in played(TEXT[name]):
        words = [word.replace("demo_audio/", f"{ROOT}/demo_audio/") for word in shlex.split(command)[1:]]
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in typed)))
        assert run(words) == ExitStatus.OK, command
        told = capsys.readouterr()
        at = 0
        for line in answers:
            found = (told.out + told.err).find(line.strip(), at)
            assert found >= 0, f"{command}: {line.strip()!r} is not answered, or not in this order"
            at = found + len(line.strip())


ROW = re.compile(r"^\| ([^|]+) \| ([^|]+) \|$", re.MULTILINE)


def test_what_keepers_are_told_to_say_is_answered_so(tmp_path, monkeypatch, capsys) -> None:
    """The first table of docs/keepers.md, row by row: what is quoted comes back, and a tick where it says so."""
    table = TEXT["docs/keepers.md"].split("| you say | it answers |")[1].split("\n\n")[0]
    rows = [row for row in ROW.findall(table) if "---" not in row[0]]
    store = ["--store", str(tmp_path / "herd.db")]
    assert run([*store, "register", "import", str(ROOT / "demo_audio" / "register.csv")]) == ExitStatus.OK
    capsys.readouterr()
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{said}\n" for said, _ in rows)))
    assert run([*store, "type", "--started", "2026-05-26"]) == ExitStatus.OK
    lines = capsys.readouterr().out.splitlines()
    assert len(rows) > 5
    for (said, answer), line in zip(rows, lines, strict=False):
        quoted = re.findall(r'"([^"]+)"', answer)
        assert all(text.rstrip(".,") in line for text in quoted), (said, answer, line)
        assert quoted or ("✓" in line) == ("tick" in answer), (said, answer, line)


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
