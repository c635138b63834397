"""`assistant evaluate`: how well recordings with known meanings are heard."""

from __future__ import annotations

import json
from pathlib import Path

import click

from assistant.cli.show import progress

_FILE = click.Path(path_type=Path)


@click.command("evaluate")
@click.argument("manifest", type=_FILE)
@click.option("--grammar", type=_FILE, help="JSGF file for slots; without it the grammar of the trade is used.")
@click.option("--register", type=_FILE, help="Register (CSV) whose names and numbers can be said.")
@click.option("--noise", type=_FILE, help="Recording of noise to mix in.")
@click.option("--snr", "snr_db", type=float, default=15.0, show_default=True, help="Signal-to-noise ratio in dB.")
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def evaluate_command(
    manifest: Path,
    grammar: Path | None,
    register: Path | None,
    noise: Path | None,
    snr_db: float,
    listeners: str | None,
    as_json: bool,
) -> None:
    """Hear every recording of MANIFEST and count what comes out right.

    A line of MANIFEST is a JSON object with `audio` and one of `slots`, `expect`, `words` or `animal`.
    """
    from assistant import manifest as listing
    from assistant import wiring
    from assistant.evaluate import evaluate
    from assistant.sound.recording import read

    wanted = listing.cases(manifest)
    noise_sound = read(noise) if noise else None
    names = [name.strip() for name in listeners.split(",")] if listeners else None
    if grammar is not None:
        examiner = wiring.slot_examiner(grammar, names)
    else:
        animals = wiring.read_register(register).animals if register else ()
        only_animals = all(case.kind == "animal" for case in wanted)
        examiner = wiring.farm_examiner(animals, names, "mention" if only_animals else "remark")
    heard = progress(listing.sounds(manifest, wanted, noise_sound, snr_db), "Listening", len(wanted))
    score = evaluate(heard, examiner).flat()
    if as_json:
        click.echo(json.dumps(score))
        return
    for name, value in score.items():
        if name != "failures":
            click.echo(f"{name:20} {value}")
    for failure in score["failures"]:
        click.echo(
            f"{failure['audio']}: {failure['decision']}, expected {failure['expected']}, heard {failure['heard']}"
        )
