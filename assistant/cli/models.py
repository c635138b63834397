"""`assistant models`: speech models that are not part of the program."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from assistant.models.shelf import Model


@click.group("models")
def models_command() -> None:
    """Bring in speech models for the listener "vosk", and list them.

    With an English model here, one more listener hears every remark. Models are kept in the data folder and serve all
    herds. A session never fetches anything; only `assistant models fetch` does.
    """


@models_command.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a model.")
def list_models(as_json: bool) -> int:
    """List the models, and what is wrong with those that cannot be used."""
    from assistant.cli.main import ExitStatus
    from assistant.cli.show import table
    from assistant.listening import speech_models

    shelf = speech_models.shelf()
    models = shelf.models()
    if as_json:
        for model in models:
            click.echo(json.dumps(asdict(model) | {"folder": str(model.folder)}))
    elif models:
        click.echo(table(("name", "size", "state"), [[one.name, _megabytes(one.size), _state(one)] for one in models]))
    click.echo(f"{len(models)} models in {shelf.folder}", err=True)
    return ExitStatus.PARTLY if any(model.fault for model in models) else ExitStatus.OK


@models_command.command("add")
@click.argument("source", metavar="FOLDER_OR_ZIP", type=click.Path(path_type=Path))
@click.option("--name", default="", help="Name to keep it under; that of its folder if left out.")
def add_model(source: Path, name: str) -> None:
    """Take a model in from a folder or a ZIP archive, and try it."""
    from assistant.listening import speech_models

    _tell(speech_models.shelf().add(source, name))


@models_command.command("fetch")
@click.argument("name")
@click.option("--from", "address", metavar="URL", help="Site to fetch from, if not that of the makers of Vosk.")
@click.option("--sha256", default="", help="What the archive's SHA-256 has to be.")
def fetch_model(name: str, address: str | None, sha256: str) -> None:
    """Fetch the model NAME over the network, such as vosk-model-small-en-us-0.15, and try it.

    If the connection breaks, run the command again: it goes on where it was.
    """
    from assistant.listening import speech_models
    from assistant.models.fetch import fetch, site

    site_address = site(address)
    shelf = speech_models.shelf()
    shelf.check_new(name)
    with _Bar(name) as bar:
        archive = fetch(name, shelf.folder / ".fetched", site_address, sha256, bar.show)
    try:
        _tell(shelf.add(archive, name, f"{site_address}/{archive.name}"))
    finally:
        archive.unlink(missing_ok=True)


@models_command.command("words")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.pass_obj
def list_words(store: Path | None, as_json: bool) -> int:
    """List the words of your grammar and herd that the listener "vosk" does not know.

    A sentence with such a word is for the other listeners to hear. To have it heard here too, put a line into the file
    respellings.dict in the folder of your grammars: the word, then words that sound like it.
    """
    from assistant import settings
    from assistant.cli.main import ExitStatus
    from assistant.live.farm import Farm
    from assistant.records.held_register import stored_animals
    from assistant.register.register import Register

    places = settings.places(store)
    holding = Farm(Register(stored_animals(places)), places.grammars)
    (listener,) = holding.ears(["vosk"]).listeners
    words = sorted(getattr(listener, "cannot_hear", ()))
    if as_json:
        click.echo(json.dumps({"unknown": words, "respellings": str(places.grammars / "respellings.dict")}))
    else:
        for word in words:
            click.echo(word)
        click.echo(f"{len(words)} words are not known; respellings: {places.grammars / 'respellings.dict'}", err=True)
    return ExitStatus.PARTLY if words else ExitStatus.OK


@models_command.command("remove")
@click.argument("name")
def remove_model(name: str) -> None:
    """Remove the model NAME from the data folder."""
    from assistant.listening import speech_models

    speech_models.shelf().remove(name)
    click.echo(f"{name} is removed.")


class _Bar:
    """A bar on stderr while a model comes, if someone is watching."""

    def __init__(self, name: str) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, DownloadColumn, Progress, TimeRemainingColumn

        console = Console(file=sys.__stderr__, stderr=True)  # the stream itself, for the bar is orders to the terminal
        columns = ("{task.description}", BarColumn(), DownloadColumn(), TimeRemainingColumn())
        self._progress = Progress(*columns, console=console, disable=not console.is_terminal, transient=True)
        self._task = self._progress.add_task(name, total=None)

    def show(self, done: int, total: int | None) -> None:
        """So many bytes have come, of so many."""
        self._progress.update(self._task, completed=done, total=total)

    def __enter__(self) -> _Bar:
        self._progress.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._progress.stop()


def _tell(model: Model) -> None:
    click.echo(f"{model.name}: {_megabytes(model.size)}, {_state(model)}.")
    if model.sha256:
        click.echo(f"SHA-256 of its archive: {model.sha256}")


def _state(model: Model) -> str:
    return model.fault or ("works, English" if model.is_english else "works, but knows no English: not used")


def _megabytes(size: int) -> str:
    return f"{size / 1e6:.0f} MB"
