"""`assistant register`: animals in and out."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click


@click.group("register")
def register_command() -> None:
    """Bring animals in, and list them."""


@register_command.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.pass_obj
def import_animals(store: Path | None, file: Path) -> int:
    """Bring in the animals of FILE (CSV): tag, number, name, sex, born, dam, sire, group, status, notes.

    Columns may stand in any order. Rows that cannot be used are listed with their lines; the others are kept.
    """
    from assistant import settings, wiring
    from assistant.cli.main import ExitStatus
    from assistant.register.register import Register
    from assistant.store.store import Store

    with Store.open(settings.places(store).store) as held:
        report = wiring.read_register(file, Register(held.animals()))
        held.save_animals(report.animals, datetime.now().astimezone())
    for problem in report.problems:
        column = f", {problem.column}" if problem.column else ""
        click.echo(f"{file}:{problem.line}{column}: {problem.message}", err=True)
    same = len(report.animals) - len(report.new) - len(report.changed)
    click.echo(f"{len(report.new)} new, {len(report.changed)} changed, {same} as before; dates {report.dates}.")
    return ExitStatus.PARTLY if report.problems else ExitStatus.OK


@register_command.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object an animal.")
@click.pass_obj
def list_animals(store: Path | None, as_json: bool) -> None:
    """List the animals of the register."""
    from assistant import settings, wiring
    from assistant.cli.show import table

    animals = wiring.stored_animals(settings.places(store))
    columns = ("tag", "number", "name", "species", "sex", "born", "group", "status")
    rows = [[str(getattr(animal, column) or "") for column in columns] for animal in animals]
    if as_json:
        for animal, row in zip(animals, rows, strict=True):
            click.echo(json.dumps({"id": animal.id} | dict(zip(columns, row, strict=True))))
        return
    click.echo(table(columns, rows))
    click.echo(f"{len(animals)} animals", err=True)
