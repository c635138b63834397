"""`assistant hear`: what each remark of a recording says and means, without a store."""

from __future__ import annotations

import json
from pathlib import Path

import click


@click.command("hear")
@click.argument("files", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--register", type=click.Path(path_type=Path), help="Register (CSV); the store's animals if left out.")
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a remark.")
@click.pass_obj
def hear_command(
    store: Path | None, files: tuple[Path, ...], register: Path | None, listeners: str | None, as_json: bool
) -> None:
    """Say what each remark of FILES means; nothing is recorded."""
    from assistant import settings
    from assistant.listening.spoken import RemarkEars
    from assistant.live.farm import Farm
    from assistant.live.recorded import check_recording
    from assistant.records.held_register import read_register, stored_animals
    from assistant.register.register import Register
    from assistant.sound.endpoint import remarks
    from assistant.sound.recording import blocks

    for file in files:
        check_recording(file)
    places = settings.places(store)
    animals = read_register(register).animals if register else stored_animals(places)
    holding = Farm(Register(animals), places.grammars)
    ears = RemarkEars(holding.spoken, listeners.split(",") if listeners else None)
    click.echo(f"Listening: {', '.join(ears.names)}.", err=True)
    for notice in ears.notices:
        click.echo(notice, err=True)
    for file in files:
        for sound in remarks(blocks(file)):
            verdict = ears.judge(sound)
            meaning = holding.interpreter.heard(verdict.choices[0]) if verdict.choices else None
            if as_json:
                flat = {
                    "file": str(file),
                    "start_s": round(sound.start_s, 2),
                    "end_s": round(sound.end_s, 2),
                    "decision": verdict.decision,
                    "choices": verdict.choices,
                    "meaning": [part.flat() for part in meaning.parts] if meaning else [],
                }
                click.echo(json.dumps(flat))
            else:
                words = " / ".join(verdict.choices) or "—"
                click.echo(f"{file.name} {sound.start_s:6.1f} s  {verdict.decision:9} {words}")
                click.echo(f"    {meaning.line if meaning else verdict.reason}")
