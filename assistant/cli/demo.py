"""`assistant demo`: the main job on a recording that comes with the program."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import click

from assistant.cli.show import told, workers_option
from assistant.errors import BadStore

if TYPE_CHECKING:
    from assistant.measuring.script_score import ScriptScore


@click.command("demo")
@click.option("--noisy", is_flag=True, help="The same session in barn noise.")
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@workers_option
@click.option("--json", "as_json", is_flag=True, help="Print only the score, as one JSON object.")
@click.pass_obj
def demo_command(store: Path | None, noisy: bool, listeners: str | None, workers: int | None, as_json: bool) -> None:
    """Hear a session on an invented holding: each remark, the summary, and the score against its script.

    Nothing is kept, unless --store names a new file to keep it in.
    """
    from assistant import settings
    from assistant.listening.spoken import package_folder
    from assistant.live.farm import Farm
    from assistant.live.recorded import Run, end_recording, hear_recording
    from assistant.measuring.script_score import Line, script_score
    from assistant.records.held_register import read_register
    from assistant.records.look_back import session_summary
    from assistant.report.summary import text
    from assistant.store.store import Store

    folder = package_folder("demo_audio")
    lines = [json.loads(line) for line in (folder / "script.jsonl").read_text(encoding="utf-8").splitlines()]
    script = [Line(x["start_s"], x["end_s"], x["words"], x["animal"], tuple(x["expect"])) for x in lines]
    started = datetime.now().astimezone().replace(microsecond=0)
    with TemporaryDirectory() as spare, Store.open(store or Path(spare) / "demo.db") as held:
        herd = read_register(folder / "register.csv").animals
        planned = [animal.id for animal in herd]
        if not {animal.id for animal in held.animals()} <= set(planned):
            raise BadStore(f"{held.path} has animals of its own; the demo would mix invented ones in. Name a new file.")
        held.save_animals(herd, started)
        run = Run(held, Farm.of(held, settings.places(held.path), planned), planned, started, "demo")
        recording = folder / ("session_noisy.flac" if noisy else "session.flac")
        outcomes = []
        with run.farm.pool(listeners.split(",") if listeners else None, workers) as pool:
            click.echo(f"Listening: {', '.join(pool.names)}. {len(planned)} animals.", err=True)
            handling, key = run.begin(is_attended=False)
            for outcome in hear_recording(handling, recording, started, pool):
                outcomes.append(outcome)
                if not as_json:
                    click.echo(told(outcome))
        end_recording(handling, started, script[-1].end_s)
        names = {animal.id: animal.label for animal in held.animals()}
        score = script_score(script, outcomes, names.__getitem__, run.farm.interpreter.same_animal)
        if as_json:
            click.echo(json.dumps(score.__dict__ | {"entries_right": round(score.entries_right, 4)}))
        else:
            click.echo("\n" + text(session_summary(held, key)) + "\n\n" + _score_text(score))


def _score_text(score: ScriptScore) -> str:
    lines = [
        "Against the script",
        f"  remarks understood at first guess: {score.understood} of {score.remarks}",
        f"  entries: {score.entries}; recorded right {score.recorded}, offered first in a question {score.asked}, "
        f"together {100 * score.entries_right:.1f} %",
        f"  entries recorded wrong: {score.wrong}",
        f"  lines of other talk taken for a remark: {score.talk_recorded} of {score.talk}",
    ]
    lines += [f"  said “{said}”, heard “{heard}”" for said, heard in score.misses]
    return "\n".join(lines)
