"""`assistant report`: a session as a page to print."""

from __future__ import annotations

from pathlib import Path

import click

from assistant.cli.facing import held_store


@click.command("report")
@click.argument("session", required=False)
@click.option("--out", "folder", type=click.Path(path_type=Path), default=Path(), help="Folder for the page; this one.")
@click.option("--sound", "with_sound", is_flag=True, help="Put the sound of every remark into the page.")
@click.option("--pdf", "as_pdf", is_flag=True, help="Write a PDF as well, A4 unless --letter is given.")
@click.option("--letter", "is_letter", is_flag=True, help="Paper is US Letter.")
@click.pass_obj
def report_command(
    store: Path | None, session: str | None, folder: Path, with_sound: bool, as_pdf: bool, is_letter: bool
) -> None:
    """Write SESSION as one HTML page: its id or the beginning of it; the last session if left out.

    The page needs nothing from outside itself: open it in any browser, print it, or send it on.
    """
    from assistant import settings
    from assistant.records.holding_lists import holding_lists
    from assistant.records.look_ahead import LookAhead
    from assistant.records.records_out import session_report
    from assistant.report.page import page
    from assistant.report.writing import write_pdf, write_text

    with held_store(store, read_only=True) as (held, places):
        chosen = settings.settings(places.settings)
        made = session_report(held, chosen.holding, session, with_sound=with_sound)
        info = made.summary.session
        ahead = LookAhead(held, chosen.practice, info.ended or info.started)
        html = page(made, holding_lists(ahead, info.started.date()))
    name = f"session-{made.summary.session.started:%Y-%m-%d}-{made.summary.session.id[:8]}"
    click.echo(write_text(folder / f"{name}.html", html))
    if as_pdf:
        click.echo(write_pdf(folder / f"{name}.pdf", html, "Letter" if is_letter else "A4"))
