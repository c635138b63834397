"""`assistant session` and `assistant type`: a session from a recording, and one that is typed."""

from __future__ import annotations

import json
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.show import colours_option, reply_text, told, workers_option

if TYPE_CHECKING:
    from assistant.live import Outcome

_NOW = "now, to the second"
_text_option = click.option("--text", "as_text", is_flag=True, help="Plain lines, also at a terminal.")


@click.command("session")
@click.option("--from", "recording", type=click.Path(path_type=Path), required=True, help="Recording of the session.")
@click.option("--group", help="Plan only the animals of this group; all in the herd if left out.")
@click.option("--started", type=click.DateTime(), help=f"When the recording began; {_NOW} if left out.")
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@workers_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a remark.")
@_text_option
@colours_option
@click.pass_obj
def session_command(
    store: Path | None,
    recording: Path,
    group: str | None,
    started: datetime | None,
    listeners: str | None,
    workers: int | None,
    as_json: bool,
    as_text: bool,
    colours: str,
) -> int | None:
    """Hear a recorded handling session (WAV, FLAC, MP3, Ogg) and record it in the store.

    At a terminal it is shown live, and questions can be answered; with --text, --json or in a pipe it is written in
    plain lines, and what would be asked is kept for review.
    """
    from assistant.cli import screened
    from assistant.cli.facing import is_terminal

    names = listeners.split(",") if listeners else None
    if is_terminal() and not (as_json or as_text):
        run_opened = screened.planned(store, group, started, recording.name)
        heard = screened.recorded(run_opened, recording, names, workers)
        return screened.show_session(heard, colours, lambda: screened.phrases_of(store))
    from assistant import recorded
    from assistant.cli.holding import opened

    recorded.check_recording(recording)
    with opened(store, group, started, recording.name) as run:
        with run.farm.pool(names, workers) as pool:
            click.echo(f"Listening: {', '.join(pool.names)}. {len(run.planned)} animals planned.", err=True)
            for notice in pool.notices:
                click.echo(notice, err=True)
            if n_pending := recorded.finish_pending(run.store, run.farm, pool.judge):
                click.echo(f"{n_pending} remarks that were kept as sound only are understood now.", err=True)
            handling, key = run.begin(is_attended=False)
            end_s = 0.0
            try:
                for outcome in recorded.hear_recording(handling, recording, run.started, pool):
                    end_s = outcome.remark.end_s
                    click.echo(json.dumps(_flat(outcome)) if as_json else told(outcome))
            finally:
                replies = recorded.end_recording(handling, run.started, end_s)
        for reply in replies:
            click.echo(reply_text(reply), err=as_json)
        click.echo(f"Session {key} is in {run.store.path}. See it with: assistant summary", err=True)
    return None


@click.command("type")
@click.option("--group", help="Plan only the animals of this group; all in the herd if left out.")
@click.option("--started", type=click.DateTime(), help=f"The moment to record; {_NOW} if left out.")
@_text_option
@colours_option
@click.pass_obj
def type_command(
    store: Path | None, group: str | None, started: datetime | None, as_text: bool, colours: str
) -> int | None:
    """Type a session, one remark or question a line; "finish" or the end of the input ends it.

    At a terminal it is shown as a screen; with --text in plain lines.
    """
    from assistant.cli import screened
    from assistant.cli.facing import is_terminal

    if is_terminal() and not (as_text or started):
        run_opened = screened.planned(store, group, started, "typed")
        return screened.show_session(screened.typed(run_opened), colours, lambda: screened.phrases_of(store))
    from assistant.cli.holding import opened

    with opened(store, group, started, "typed") as run:
        handling, key = run.begin()
        is_watched = sys.stdin.isatty()
        if is_watched:
            click.echo("Name an animal, then say what you see and do. finish ends.", err=True)
        while not (handling.state.info and handling.state.info.ended):
            line = _next_line(is_watched)
            if line is None:
                break
            if not line.strip():
                continue
            outcome = handling.type(line, started.astimezone() if started else datetime.now().astimezone())
            if outcome.remark.meaning.mended:
                click.echo(f"(taken as: {outcome.remark.meaning.mended})")
            if outcome.remark.meaning.unplaced:
                click.echo(f"(not understood: {outcome.remark.meaning.unplaced})")
            for reply in outcome.replies:
                click.echo(reply_text(reply))
        for reply in handling.end(datetime.now().astimezone() if not started else started.astimezone()):
            click.echo(reply_text(reply))
        click.echo(f"Session {key} is in {run.store.path}. See it with: assistant summary", err=True)
    return None


def _next_line(is_watched: bool) -> str | None:
    try:
        return input("> " if is_watched else "")
    except EOFError:
        return None


def _flat(outcome: Outcome) -> dict[str, Any]:
    remark = outcome.remark
    return {
        "start_s": round(remark.start_s, 2),
        "end_s": round(remark.end_s, 2),
        "decision": remark.verdict.decision.value if remark.verdict else None,
        "reason": remark.verdict.reason if remark.verdict else None,
        "words": remark.words,
        "choices": list(remark.verdict.choices) if remark.verdict else [],
        "meaning": [part.flat() for part in remark.meaning.parts],
        "replies": [{"kind": reply.kind.value, "text": reply.text} for reply in outcome.replies],
    }
