"""The speech models in the data folder, and the listener that uses them."""

from __future__ import annotations

from pathlib import Path

from assistant import settings
from assistant.errors import ListenerMissing
from assistant.hearing.respelling import FILE, respellings
from assistant.hearing.vosk_listener import VoskListener
from assistant.hearing.vosk_model import check_layout, knows_english
from assistant.models.shelf import Checks, Shelf
from assistant.values import WordGraph


def shelf() -> Shelf:
    """The models of this machine: in the data folder, whatever store is in use."""
    return Shelf(settings.places().folder / "models", Checks(check_layout, knows_english))


def vosk_listener(graph: WordGraph, respelt: Path, keepers: Path | None = None) -> VoskListener:
    """A listener with the first English model.

    Args:
        graph: what can be said.
        respelt: folder with the trade's respellings.
        keepers: folder with the keeper's own, or None.

    Raises:
        ListenerMissing: there is no English model that works; the message says how to get one, or what is wrong.
        UnknownWord: the model knows no word of the graph.
        BadSetting: a respelling has a mistake.
    """
    place = shelf()
    model = place.english()
    if model is None:
        get_one = f"There is no English model in {place.folder}. Get one: assistant models fetch NAME, or add FOLDER."
        raise ListenerMissing(next((one.fault for one in place.models() if one.fault), get_one))
    files = [folder / FILE for folder in (respelt, keepers) if folder]
    return VoskListener(model.folder, graph, respellings(files))
