"""`assistant merge`: what another machine recorded, brought into this store."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.facing import held_store

if TYPE_CHECKING:
    from assistant.store.store import Store


@click.command("merge")
@click.argument("other", required=False, type=click.Path(path_type=Path))
@click.option("--settle", metavar="ID", help="You have seen to this difference; the beginning of its id is enough.")
@click.pass_obj
def merge_command(store: Path | None, other: Path | None, settle: str | None) -> int:
    """Bring what another machine's store (the file OTHER, its sounds beside it) has into this one.

    Nothing comes twice, whichever store is merged first and however often. Where two machines say different things,
    both are kept and listed; without OTHER the list of open differences is shown again.
    """
    from assistant import settings
    from assistant.cli.main import ExitStatus
    from assistant.store.store import Store

    if other is None:
        with held_store(store, read_only=settle is None) as (held, _):
            _settle(held, settle)
            _show(held)
        return ExitStatus.OK
    with Store.open(settings.places(store).store) as held:
        _settle(held, settle)
        told = held.merge(other)
        click.echo(
            f"New or continued: sessions {told.sessions}, animals {told.animals}, records of the books "
            f"{told.records}, sounds {told.sounds}."
        )
        _show(held)
    for line in told.troubles:
        click.echo(f"assistant: {line}", err=True)
    return ExitStatus.PARTLY if told.troubles else ExitStatus.OK


def _settle(held: Store, beginning: str | None) -> None:
    if beginning is not None:
        held.settle_conflict(_only([one.id for one in held.conflicts()], beginning))


def _only(ids: Sequence[str], beginning: str) -> str:
    """The one id that begins so; what was given if none or several do, to be refused by the store."""
    found = [one for one in ids if one.startswith(beginning)]
    return found[0] if len(found) == 1 else beginning


def _show(held: Store) -> None:
    from assistant.report.differences import side_text

    names = {animal.id: animal.label for animal in held.animals()}
    open_ones = [one for one in held.conflicts() if not one.is_settled]
    if not open_ones:
        click.echo("The machines agree in everything.")
    for one in open_ones:
        sides = one.flat()["sides"]
        click.echo(f"\n{one.id[:8]}  {one.kind}")
        for n, side in enumerate(sides):
            others = (*sides[:n], *sides[n + 1 :])
            click.echo(f"    {side_text(one.kind, side, others, names)}")
