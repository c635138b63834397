"""The register screen on the store of a holding."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.cli import facing

if TYPE_CHECKING:
    from assistant.screens.register_screen import RegisterScreen
    from assistant.store.store import Store


def show_register(store: Path | None, colours: str) -> int:
    """Shows the register until it is left; gives the exit status. A holding without a store gets one."""
    with ExitStack() as stack:

        def make() -> RegisterScreen:
            from assistant import settings
            from assistant.store.store import Store

            return register_screen(stack.enter_context(Store.open(settings.places(store).store)))

        return facing.faced(make, colours)


def register_screen(held: Store) -> RegisterScreen:
    """The screen for a store that is open."""
    from assistant.records.held_register import read_register
    from assistant.records.registering import Registering
    from assistant.screens.register_screen import RegisterScreen

    return RegisterScreen(Registering(held, read_register, facing.now))
