"""Writes docs/commands.md from the help of the commands themselves.

python tests/make_commands.py
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path

import click

from assistant.cli.main import COMMANDS, commands

FILE = Path(__file__).parent.parent / "docs" / "commands.md"
HEAD = """# Commands

Made from the commands' own help by `python tests/make_commands.py`. Before a command may stand `--store FILE`, the
store to use instead of the usual one, and `--debug`, which says on stderr what the program does, never what people
said.

The exit status is 0 if all went well, 1 if something is wrong that the message tells how to mend, 2 if the words of the
command are wrong, 3 if some of the input could not be used and the rest was kept, 130 if it was stopped with Ctrl+C.
"""


def every_command() -> Iterator[tuple[str, click.Command]]:
    """Each command and sub-command with the words that call it."""
    context = click.Context(commands)
    for name in COMMANDS:
        command = commands.get_command(context, name)
        if command is None:
            raise LookupError(name)
        yield name, command
        if isinstance(command, click.Group):
            yield from ((f"{name} {under}", one) for under, one in command.commands.items())


def described(name: str, command: click.Command) -> str:
    """One command: what is typed, what it does, its options."""
    context = click.Context(command)
    arguments = " ".join(one.make_metavar(context) for one in command.params if isinstance(one, click.Argument))
    text = inspect.cleandoc(command.help or "")
    options = [one for one in command.params if isinstance(one, click.Option)]
    rows = [f"| `{_shown(one, context)}` | {_told(one)} |" for one in options]
    table = ["| option | what for |", "| --- | --- |", *rows] if rows else []
    return "\n".join([f"## assistant {name} {arguments}".rstrip(), "", text, *(["", *table] if table else []), ""])


def _shown(option: click.Option, context: click.Context) -> str:
    names = ", ".join(option.opts)
    return names if option.is_flag else f"{names} {option.make_metavar(context)}".replace("|", " or ")


def _told(option: click.Option) -> str:
    usual = option.default if option.show_default and not callable(option.default) else None
    return f"{option.help}{f' Usually {usual}.' if usual is not None else ''}"


def written() -> str:
    """The whole document."""
    return "\n".join([HEAD, *(described(name, command) for name, command in every_command())])


if __name__ == "__main__":
    FILE.write_text(written(), encoding="utf-8")
