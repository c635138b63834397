"""`assistant evaluate`: how well recordings with known meanings are heard."""

from __future__ import annotations

import json
from pathlib import Path

import click

_FILE = click.Path(path_type=Path)


@click.command("evaluate")
@click.argument("manifest", type=_FILE)
@click.option("--grammar", type=_FILE, required=True, help="JSGF file; its first public rule holds the sentences.")
@click.option("--noise", type=_FILE, help="Recording of noise to mix in.")
@click.option("--snr", "snr_db", type=float, default=15.0, show_default=True, help="Signal-to-noise ratio in dB.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def evaluate_command(manifest: Path, grammar: Path, noise: Path | None, snr_db: float, as_json: bool) -> None:
    """Hear every recording of MANIFEST (JSON lines: audio, and slots or words) and count what comes out right."""
    from assistant import wiring
    from assistant.evaluate import evaluate
    from assistant.sound.recording import read

    wanted = wiring.cases(manifest)
    noise_sound = read(noise) if noise else None
    score = evaluate(wiring.sounds(manifest, wanted, noise_sound, snr_db), wiring.slot_examiner(grammar)).flat()
    if as_json:
        click.echo(json.dumps(score))
        return
    for name, value in score.items():
        if name != "failures":
            click.echo(f"{name:20} {value}")
