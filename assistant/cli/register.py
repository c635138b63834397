"""`assistant register`: animals in and out."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.register_ask import check_animals, find_animal, show_family
from assistant.cli.show import colours_option

if TYPE_CHECKING:
    from assistant.register.import_report import ImportReport
    from assistant.register.register import Register
    from assistant.sheets.profile import Profile


@click.group("register", invoke_without_command=True)
@colours_option
@click.pass_context
def register_command(ctx: click.Context, colours: str) -> int | None:
    """Keep the register: at a screen, or by the commands below.

    Without a command it is a screen at a terminal: find, add and change animals, mark those sold, dead or in kid, bring
    in a file after a look at what it would change.
    """
    from assistant.cli import facing

    if ctx.invoked_subcommand is not None:
        return None
    if facing.is_terminal():
        from assistant.cli.register_face import show_register

        return show_register(ctx.obj, colours)
    click.echo(ctx.get_help())
    return None


@register_command.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Show what would become of each row and change nothing.")
@click.option("--whole", is_flag=True, help="All or nothing: keep no row unless every row can be used.")
@click.option("--correct", is_flag=True, help="The file is right where it has another birth, sex or parent.")
@click.option("--map", "pairs", multiple=True, metavar="HEADING=COLUMN", help='As "Ear No=tag"; "Lot No=" leaves out.')
@click.option("--profile", metavar="NAME", help="Use the headings kept under NAME; with --map, keep those as well.")
@click.option("--encoding", default="", help="Encoding of the text, as cp1250; found out if left out.")
@click.option("--report", "report_file", type=click.Path(path_type=Path), help="Write what became of each row here.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a row that is new, changed or wrong.")
@click.pass_obj
def import_animals(
    store: Path | None,
    file: Path,
    dry_run: bool,
    whole: bool,
    correct: bool,
    pairs: tuple[str, ...],
    profile: str | None,
    encoding: str,
    report_file: Path | None,
    as_json: bool,
) -> int:
    """Bring in the animals of FILE (CSV or XLSX): tag, number, name, sex, born, dam, sire, group, status and more.

    Columns may stand in any order. Rows that cannot be used are listed with their lines; the others are kept, all at
    once, unless --whole asks for all or none. A file that is refused leaves the register as it was.
    """
    from assistant import settings
    from assistant.cli.main import ExitStatus
    from assistant.errors import BadRegister
    from assistant.records.held_register import read_register, stored_animals
    from assistant.register.reading import Rules
    from assistant.register.register import Register
    from assistant.report.writing import write_text
    from assistant.store.store import Store

    places = settings.places(store)
    read_as = _profile(places.folder, pairs, profile, encoding)
    known = Register(stored_animals(places))
    report = read_register(file, known, Rules(read_as.headings, correct, datetime.now().date()), read_as.encoding)
    refused = whole and not report.is_whole
    if report_file:
        write_text(report_file, _table(report, known, file) + "\n")
    if not (dry_run or refused):
        with Store.open(places.store) as held:
            held.save_animals(report.animals, datetime.now().astimezone())
    _tell(report, known, file, in_full=dry_run, as_json=as_json)
    if refused:
        raise BadRegister(f"{file} has rows that cannot be used, and --whole was asked for: nothing was brought in.")
    click.echo(_summary(report, dry_run), err=as_json)
    return ExitStatus.PARTLY if report.problems else ExitStatus.OK


def _profile(folder: Path, pairs: tuple[str, ...], name: str | None, encoding: str) -> Profile:
    """The profile of that name, with what the options say beside it; kept if they say something new."""
    from assistant.report.writing import write_text
    from assistant.sheets.profile import (
        Profile,
        headings_from,
        profile_names,
        profile_path,
        profile_text,
        read_profile,
    )

    own = headings_from(pairs)
    if name is None:
        return Profile(own, encoding)
    path = profile_path(folder, name)
    is_new = not path.exists() and bool(own or encoding)
    kept = Profile() if is_new else read_profile(folder, name)
    joined = Profile({**kept.headings, **own}, encoding or kept.encoding)
    if joined != kept:
        write_text(path, profile_text(joined))
        click.echo(f"Profile {name!r} is kept; there are: {', '.join(profile_names(folder))}.", err=True)
    return joined


def _tell(report: ImportReport, known: Register, file: Path, *, in_full: bool, as_json: bool) -> None:
    from assistant.register.import_table import steps

    if as_json:
        for step in steps(report, known):
            click.echo(json.dumps(step._asdict(), ensure_ascii=False))
    elif in_full:
        click.echo(_table(report, known, file))
    else:
        for problem in report.problems:
            column = f", {problem.column}" if problem.column else ""
            click.echo(f"{file}:{problem.line}{column}: {problem.kind}: {problem.message}", err=True)


def _table(report: ImportReport, known: Register, file: Path) -> str:
    """How the file was read, and what becomes of each row."""
    from assistant.cli.show import table
    from assistant.register.import_table import Step, steps

    separator = {"": "", "\t": ", separator tab"}.get(report.separator, f", separator {report.separator}")
    head = [f"{file}: {report.encoding}{separator}", f"dates: {_dates(report)}"]
    head += [f"column {column}: {heading!r}" for heading, column in report.headings]
    rows = [[str(step.line), step.what, step.animal, step.detail] for step in steps(report, known)]
    return "\n".join([*head, "", table(Step._fields, rows)])


def _dates(report: ImportReport) -> str:
    return f"{report.dates} ({report.date_shown})" if report.date_shown else report.dates


def _summary(report: ImportReport, dry_run: bool) -> str:
    same = len(report.animals) - len(report.new) - len(report.changed)
    end = " Nothing was changed: this was a dry run." if dry_run else ""
    counts = f"{len(report.new)} new, {len(report.changed)} changed, {same} as before"
    return f"{counts}; dates {_dates(report)}.{end}"


@register_command.command("export")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--group", help="Only the animals of this group.")
@click.pass_obj
def export_animals(store: Path | None, file: Path, group: str | None) -> None:
    """Write the register to FILE, a table (.csv) or workbook (.xlsx) that `register import` reads without loss.

    No cell is a formula. A cell of a CSV file that a spreadsheet would take for one begins with an apostrophe.
    """
    from assistant import settings
    from assistant.errors import BadOutput
    from assistant.records.held_register import stored_animals
    from assistant.register.writing import to_csv
    from assistant.report.writing import whole
    from assistant.sheets.workbook import to_xlsx

    writers = {".csv": to_csv, ".xlsx": to_xlsx}
    write = writers.get(file.suffix.lower())
    if write is None:
        raise BadOutput(f"{file}: the register is written as .csv or .xlsx. Name the file so.")
    animals = [
        animal
        for animal in stored_animals(settings.places(store))
        if group is None or animal.group.casefold() == group.casefold()
    ]
    content = write(animals)
    with whole(file) as part:
        part.write_bytes(content)
    click.echo(f"{len(animals)} animals are in {file}.", err=True)


@register_command.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object an animal.")
@click.pass_obj
def list_animals(store: Path | None, as_json: bool) -> None:
    """List the animals of the register."""
    from assistant import settings
    from assistant.cli.show import table
    from assistant.records.held_register import stored_animals

    animals = stored_animals(settings.places(store))
    columns = ("tag", "number", "name", "species", "sex", "born", "group", "status")
    rows = [[str(getattr(animal, column) or "") for column in columns] for animal in animals]
    if as_json:
        for animal, row in zip(animals, rows, strict=True):
            click.echo(json.dumps({"id": animal.id} | dict(zip(columns, row, strict=True))))
        return
    click.echo(table(columns, rows))
    click.echo(f"{len(animals)} animals", err=True)


for _command in (check_animals, find_animal, show_family):
    register_command.add_command(_command)
