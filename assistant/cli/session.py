"""`assistant session` and `assistant type`: a session from a recording, and one that is typed."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.ahead import Day
from assistant.cli.alike import say_alike, say_clock
from assistant.cli.live import aloud_of, live_by_lines, sound_options, source
from assistant.cli.show import (
    colours_option,
    flat_outcome,
    policy_option,
    reply_text,
    say_listening,
    say_where,
    told,
    workers_option,
)

if TYPE_CHECKING:
    from assistant.cli.screened import RunOpened

_NOW = "now, to the second"
_codes_option = click.option(
    "--codes", type=click.Path(path_type=Path), help="File of a wand reader: plan only the animals that it read."
)
_text_option = click.option("--text", "as_text", is_flag=True, help="Plain lines, also at a terminal.")


@click.command("session")
@click.option("--from", "recording", type=click.Path(path_type=Path), help="A recording instead of the microphone.")
@click.option(
    "--pace",
    type=click.Choice(["real", "fast"]),
    help="Play the recording as if it came from a microphone, in real time or as quickly as it is understood.",
)
@click.option("--group", help="Plan only the animals of this group; all in the herd if left out.")
@_codes_option
@click.option("--started", type=Day(with_hour=True), help=f"When the recording began; {_NOW} if left out.")
@policy_option
@sound_options
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@workers_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a remark.")
@_text_option
@colours_option
@click.pass_obj
def session_command(
    store: Path | None,
    recording: Path | None,
    pace: str | None,
    group: str | None,
    codes: Path | None,
    started: datetime | None,
    policy: str | None,
    chosen: dict[str, Any],
    listeners: str | None,
    workers: int | None,
    as_json: bool,
    as_text: bool,
    colours: str,
) -> int | None:
    """Listen to a handling session and record it in the store; with --from, hear a recording (WAV, FLAC, MP3, Ogg).

    At a terminal it is shown live, and lines can be typed; with --text, --json or in a pipe it is written in plain
    lines. A recording is heard several remarks at once, as quickly as this machine can; with --pace it goes the way of
    the microphone instead. Written in plain lines nobody answers a recording: what would be asked is kept for review.
    """
    from assistant.cli import screened
    from assistant.cli.facing import is_terminal

    if pace and recording is None:
        raise click.UsageError("--pace is for a recording: name it with --from.")
    if started and recording is None:
        raise click.UsageError("--started is for a recording: a session at the microphone begins now.")
    names = listeners.split(",") if listeners else None
    run_opened = screened.planned(store, group, started, recording.name if recording else "microphone", policy, codes)
    is_shown = is_terminal() and not (as_json or as_text)
    if recording is not None and pace is None:
        if is_shown:
            heard = screened.recorded(run_opened, recording, names, workers)
            return screened.show_session(heard, colours, lambda: screened.phrases_of(store))
        _hear_recording(run_opened, recording, names, workers, as_json=as_json)
        return None
    aloud = aloud_of(store, chosen, is_recording=recording is not None)
    sound = partial(source, recording, pace, aloud)
    if is_shown:
        live = screened.live(run_opened, sound, aloud, names, workers)
        return screened.show_loop(live, colours, lambda: screened.phrases_of(store))
    live_by_lines(run_opened, sound, aloud, names, workers, as_json=as_json)
    return None


def _hear_recording(
    run_opened: RunOpened, recording: Path, names: list[str] | None, workers: int | None, *, as_json: bool
) -> None:
    """Hears several remarks of a recording at once and writes them in plain lines."""
    from assistant.live import recorded

    recorded.check_recording(recording)
    with run_opened() as run:
        with run.farm.pool(names, workers) as pool:
            say_listening(pool.names, pool.notices, len(run.planned))
            say_clock(run)
            say_alike(run)
            if n_pending := recorded.finish_pending(run.store, run.farm, pool.judge, run.claims):
                click.echo(f"{n_pending} remarks that were kept as sound only are understood now.", err=True)
            handling, key = run.begin(is_attended=False)
            end_s = 0.0
            try:
                for outcome in recorded.hear_recording(handling, recording, run.started, pool):
                    end_s = outcome.remark.end_s
                    click.echo(json.dumps(flat_outcome(outcome)) if as_json else told(outcome))
            finally:
                replies = recorded.end_recording(handling, run.started, end_s)
        for reply in replies:
            click.echo(reply_text(reply), err=as_json)
        say_where(run, key)


@click.command("type")
@click.option("--group", help="Plan only the animals of this group; all in the herd if left out.")
@_codes_option
@click.option("--started", type=Day(with_hour=True), help=f"The moment to record; {_NOW} if left out.")
@policy_option
@_text_option
@colours_option
@click.pass_obj
def type_command(
    store: Path | None,
    group: str | None,
    codes: Path | None,
    started: datetime | None,
    policy: str | None,
    as_text: bool,
    colours: str,
) -> int | None:
    """Type a session, one remark or question a line; "finish" or the end of the input ends it.

    At a terminal it is shown as a screen; with --text in plain lines.
    """
    from assistant.cli import screened
    from assistant.cli.facing import is_terminal

    run_opened = screened.planned(store, group, started, "typed", policy, codes)
    if is_terminal() and not (as_text or started):
        return screened.show_session(screened.typed(run_opened), colours, lambda: screened.phrases_of(store))
    from assistant.steady_clock import SteadyClock

    with run_opened() as run:
        clock: Callable[[], datetime] = (lambda: run.started) if started else SteadyClock(run.started)
        handling, key = run.begin()
        is_watched = sys.stdin.isatty()
        say_clock(run)
        if is_watched:
            say_alike(run)
            click.echo("Name an animal, then say what you see and do. finish ends.", err=True)
        while not (handling.state.info and handling.state.info.ended):
            line = _next_line(is_watched)
            if line is None:
                break
            if not line.strip():
                continue
            outcome = handling.type(line, clock())
            if outcome.remark.meaning.mended:
                click.echo(f"(taken as: {outcome.remark.meaning.mended})")
            if outcome.remark.meaning.unplaced:
                click.echo(f"(not understood: {outcome.remark.meaning.unplaced})")
            for reply in outcome.replies:
                click.echo(reply_text(reply))
        for reply in handling.end(clock()):
            click.echo(reply_text(reply))
        say_where(run, key)
    return None


def _next_line(is_watched: bool) -> str | None:
    try:
        return input("> " if is_watched else "")
    except EOFError:
        return None
