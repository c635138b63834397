"""`assistant rehear`: what today's listeners and words make of sounds that were kept."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.show import progress, workers_option
from assistant.errors import BadOutput

if TYPE_CHECKING:
    from assistant.learning.kept_remark import Proposal
    from assistant.listening.cluster import ListeningCluster
    from assistant.listening.pool import ListeningPool
    from assistant.live.farm import Farm


@click.command("rehear")
@click.argument("sessions", nargs=-1)
@click.option("--resume", type=click.Path(path_type=Path), help="File that remembers what was heard, to go on later.")
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@workers_option
@click.option(
    "--scheduler", metavar="ADDRESS", help="Listen on the workers of this Dask scheduler, as tcp://HOST:8786."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object for each proposal.")
@click.pass_obj
def rehear_command(
    store: Path | None,
    sessions: tuple[str, ...],
    resume: Path | None,
    listeners: str | None,
    workers: int | None,
    scheduler: str | None,
    as_json: bool,
) -> None:
    """Hear the kept sounds of SESSIONS again, all if none is named, and propose what would be read differently.

    Nothing on record changes: decide with assistant review. With --scheduler the sounds go to the machines of that
    cluster, which must have the same version of this program, and to nowhere else.
    """
    if scheduler and workers:
        raise click.UsageError("A cluster has its own workers: give --scheduler or --workers, not both.")
    from assistant import settings
    from assistant.learning import heard_again
    from assistant.live.farm import Farm
    from assistant.store.store import Store

    places = settings.places(store)
    with Store.open(places.store, read_only=True) as held:
        farm = Farm.of(held, places)
        heard = set(_lines(resume))
        kept = [one for one in heard_again.all_kept(held, sessions) if one.remark.id not in heard]
        with _hearers(farm, listeners.split(",") if listeners else None, workers, scheduler) as pool:
            click.echo(f"Listening: {', '.join(pool.names)}. {len(kept)} remarks.", err=True)
            for notice in pool.notices:
                click.echo(notice, err=True)
            found = heard_again.proposals(held, kept, farm.interpreter, pool)
            n_found = 0
            for one, proposal in progress(found, "Hearing again", len(kept)):
                if proposal is not None:
                    n_found += 1
                    click.echo(json.dumps(_flat(proposal)) if as_json else _text(proposal))
                if resume is not None:
                    _add_line(resume, one.remark.id)
        click.echo(f"{n_found} of {len(kept)} remarks would be read differently. Nothing was changed.", err=True)


def _hearers(
    farm: Farm, names: Sequence[str] | None, workers: int | None, scheduler: str | None
) -> ListeningPool | ListeningCluster:
    if scheduler is None:
        return farm.pool(names, workers)
    from assistant.listening.cluster import ListeningCluster

    return ListeningCluster(farm.spoken, scheduler, names)


def _lines(file: Path | None) -> list[str]:
    if file is None:
        return []
    with _told(file):
        return file.read_text(encoding="utf-8").split() if file.exists() else []


def _add_line(file: Path, line: str) -> None:
    with _told(file), file.open("a", encoding="utf-8") as end:
        end.write(line + "\n")


@contextmanager
def _told(file: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or "it is no text"
        raise BadOutput(f"{file} cannot hold what was heard: {why}. Name another file with --resume.") from error


def _text(proposal: Proposal) -> str:
    remark = proposal.kept.remark
    where = "waits for a decision" if proposal.kept.is_open else f"taken for “{remark.words}”"
    sure = "the listeners agree" if proposal.is_sure else "the listeners differ"
    return (
        f"{remark.time:%Y-%m-%d %H:%M:%S} {remark.id[:8]}  {where}; today “{proposal.words}” ({sure})\n"
        f"    {proposal.meaning.line}"
    )


def _flat(proposal: Proposal) -> dict[str, object]:
    remark = proposal.kept.remark
    return {
        "session": remark.session,
        "remark": remark.id,
        "time": remark.time.isoformat(),
        "taken_for": remark.words,
        "is_open": proposal.kept.is_open,
        "facts": [part.flat() for part in proposal.kept.facts],
        "words": proposal.words,
        "meaning": [part.flat() for part in proposal.meaning.parts],
        "is_sure": proposal.is_sure,
    }
