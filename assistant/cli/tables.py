"""`assistant tables`: the records as tables for spreadsheets and other programs."""

from __future__ import annotations

from pathlib import Path

import click

from assistant.cli.facing import held_store

NAMES = ("entries", "animals", "treatments", "follow_ups", "sessions")
FORMATS = ("csv", "xlsx", "jsonl", "parquet")


@click.command("tables")
@click.argument("names", metavar="[TABLE]...", nargs=-1, type=click.Choice(NAMES))
@click.option("--format", "form", type=click.Choice(FORMATS), default="csv", show_default=True, help="Kind of file.")
@click.option("--out", "folder", type=click.Path(path_type=Path), default=Path(), help="Folder for them; this one.")
@click.pass_obj
def tables_command(store: Path | None, names: tuple[str, ...], form: str, folder: Path) -> None:
    """Write the records as tables: entries, animals, treatments, follow_ups, sessions; all if none is named.

    What each column holds is said in docs/tables.md, and in the sheet "columns" of a workbook.
    """
    from assistant.records.tables_out import table_rows
    from assistant.report.table_file import write_tables

    with held_store(store, read_only=True) as (held, _):
        tables = {name: table_rows(held, name) for name in names or NAMES}
    for path in write_tables(folder, form, tables):
        click.echo(path)
