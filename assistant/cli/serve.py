"""`assistant serve`: a screen in a browser, as on a tablet on the pen wall."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

import click

from assistant.cli.show import colours_option

SCREENS = ("session", "type", "review", "summary", "register")


@click.command("serve")
@click.argument("screen", type=click.Choice(SCREENS), default="summary")
@click.option("--network", is_flag=True, help="Open it to the local network; without it only to this machine.")
@click.option("--port", type=click.IntRange(1, 65535), default=8417, show_default=True, help="Where it is served.")
@colours_option
@click.pass_obj
def serve_command(store: Path | None, screen: str, network: bool, port: int, colours: str) -> None:
    """Show SCREEN in a browser: session, type, review, summary (if left out) or register.

    The link that is printed lets in, and no other. Whoever has it sees and changes the record, so give it to nobody
    who may not. Nothing leaves the local network. Ctrl+C ends it.
    """
    from assistant.errors import LibraryMissing

    try:
        from assistant.web.server import EVERYWHERE, LOCAL, ScreenServer
    except ModuleNotFoundError as error:
        raise LibraryMissing(
            "Screens in a browser need textual-serve. Install it with: pip install 'handling-assistant[web]'"
        ) from error

    words = [sys.executable, "-m", "assistant", *(["--store", str(store)] if store else []), screen]
    command = shlex.join([*words, "--colours", colours])
    host = EVERYWHERE if network else LOCAL
    ScreenServer(command, "Handling assistant", host, port, _told).serve()


def _told(link: str) -> None:
    click.echo(f"Open {link}")
    click.echo("Ctrl+C ends it.", err=True)
