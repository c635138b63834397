"""The command `assistant`: its sub-commands, their common options, and what becomes of an error."""

from __future__ import annotations

import importlib
import logging
from collections.abc import Sequence
from enum import IntEnum
from pathlib import Path

import click

from assistant.errors import AssistantError
from assistant.printable import printing_only

COMMANDS = {
    "demo": "assistant.cli.demo",
    "hear": "assistant.cli.hear",
    "session": "assistant.cli.session",
    "type": "assistant.cli.session",
    "register": "assistant.cli.register",
    "summary": "assistant.cli.summary",
    "plan": "assistant.cli.plan",
    "due": "assistant.cli.due",
    "mating": "assistant.cli.mating",
    "treatments": "assistant.cli.treatments",
    "feet": "assistant.cli.feet",
    "report": "assistant.cli.report",
    "calendar": "assistant.cli.calendar",
    "tables": "assistant.cli.tables",
    "sql": "assistant.cli.sql",
    "merge": "assistant.cli.merge",
    "replay": "assistant.cli.replay",
    "backup": "assistant.cli.backup",
    "restore": "assistant.cli.backup",
    "retain": "assistant.cli.retain",
    "review": "assistant.cli.review",
    "serve": "assistant.cli.serve",
    "evaluate": "assistant.cli.evaluate",
    "devices": "assistant.cli.devices",
    "models": "assistant.cli.models",
    "check": "assistant.cli.check",
    "learn": "assistant.cli.learn",
    "rehear": "assistant.cli.rehear",
}
"""Command → module that holds it; a module is imported only when its command runs, so that `--help` is quick."""


class ExitStatus(IntEnum):
    """What the exit status says."""

    OK = 0
    FAILED = 1
    """Something is wrong that the message tells how to mend; what was kept before it stays."""
    USAGE = 2
    """The words of the command are wrong."""
    PARTLY = 3
    """Some of it could not be used and is listed; the rest was kept."""
    INTERRUPTED = 130


class CommandGroup(click.Group):
    """Finds a command in the module that holds it."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of a day's work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = getattr(importlib.import_module(COMMANDS[cmd_name]), f"{cmd_name}_command")
        return command


@click.group(cls=CommandGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--store", type=click.Path(path_type=Path), help="The store file to use instead of the usual one.")
@click.option("--debug", is_flag=True, help="Say on stderr what the program does (never what people said).")
@click.version_option(package_name="handling-assistant", prog_name="assistant")
@click.pass_context
def commands(ctx: click.Context, store: Path | None, debug: bool) -> None:
    """Turn what a keeper says while handling goats or sheep into records on the right animal.

    Everything stays on this machine. The tool records; it does not diagnose or prescribe: follow local rules and
    your vet.
    """
    logging.basicConfig(level=logging.DEBUG if debug else logging.CRITICAL, format="%(name)s: %(message)s")
    ctx.obj = store


def run(words: Sequence[str]) -> int:
    """Runs one command. Nothing that it prints, of whatever a store or a file holds, steers the terminal.

    Args:
        words: what follows `assistant` on the command line.

    Returns:
        The exit status, see `ExitStatus`.
    """
    with printing_only():
        return _run(words)


def _run(words: Sequence[str]) -> int:
    try:
        result = commands.main(args=list(words), prog_name="assistant", standalone_mode=False)
    except AssistantError as error:
        click.echo(f"assistant: {error}", err=True)
        return ExitStatus.FAILED
    except click.exceptions.Abort:
        click.echo("assistant: stopped; what was said up to here is kept.", err=True)
        return ExitStatus.INTERRUPTED
    except click.ClickException as error:
        error.show()
        return ExitStatus.USAGE
    except BrokenPipeError:
        return ExitStatus.OK
    return int(result) if isinstance(result, int) else ExitStatus.OK
