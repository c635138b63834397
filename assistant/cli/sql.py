"""`assistant sql`: the keeper's own questions to the store."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import click


@click.command("sql")
@click.argument("query")
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated lines with a heading.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a row.")
@click.pass_obj
def sql_command(store: Path | None, query: str, as_csv: bool, as_json: bool) -> None:
    """Answer one SELECT from the store, which is opened for reading only.

    The tables are in docs/store.md; the table entry and the views follow_up and treatment answer most questions,
    such as: SELECT what, count(*) FROM entry WHERE is_live AND kind = 'finding' GROUP BY what
    """
    from assistant import settings
    from assistant.cli.show import table
    from assistant.store.asking import answer

    columns, rows = answer(settings.places(store).store, query)
    if as_json:
        for row in rows:
            click.echo(json.dumps(dict(zip(columns, row, strict=True)), ensure_ascii=False, default=str))
    elif as_csv:
        for row in (columns, *rows):
            line = io.StringIO()
            csv.writer(line, lineterminator="").writerow(row)
            click.echo(line.getvalue())
    else:
        click.echo(table(columns, [["" if cell is None else str(cell) for cell in row] for row in rows]))
