"""`assistant evaluate`: how well recordings with known meanings are heard."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from assistant.cli.show import progress, table

_FILE = click.Path(path_type=Path)


@click.command("evaluate")
@click.argument("manifest", type=_FILE, required=False)
@click.option("--own", is_flag=True, help="Instead of MANIFEST: the kept remarks that you confirmed or put right.")
@click.option("--grammar", type=_FILE, help="JSGF file for slots; without it the grammar of the trade is used.")
@click.option("--register", type=_FILE, help="Register (CSV) whose names and numbers can be said.")
@click.option("--noise", type=_FILE, help="Recording of noise to mix in.")
@click.option("--snr", "snr_db", type=float, default=15.0, show_default=True, help="Signal-to-noise ratio in dB.")
@click.option("--listeners", help="Names with commas between; all that can run here if left out.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.pass_obj
def evaluate_command(
    store: Path | None,
    manifest: Path | None,
    own: bool,
    grammar: Path | None,
    register: Path | None,
    noise: Path | None,
    snr_db: float,
    listeners: str | None,
    as_json: bool,
) -> None:
    """Hear every recording of MANIFEST and count what comes out right.

    A line of MANIFEST is a JSON object with `audio` and one of `slots`, `expect`, `words` or `animal`. With --own the
    holding's own sounds are heard: a remark of your voice, in your barn.
    """
    names = [name.strip() for name in listeners.split(",")] if listeners else None
    if own == (manifest is not None):
        raise click.UsageError("Give a MANIFEST, or --own.")
    if manifest is None:
        score = _own_score(store, names)
    else:
        score = _manifest_score(manifest, grammar, register, noise, snr_db, names)
    if as_json:
        click.echo(json.dumps(score))
        return
    for name, value in score.items():
        if name not in ("failures", "reliability"):
            click.echo(f"{name:20} {value}")
    _show_reliability(score["reliability"])
    for failure in score["failures"]:
        click.echo(
            f"{failure['audio']}: {failure['decision']}, expected {failure['expected']}, heard {failure['heard']}"
        )
    if own and score["failures"]:
        _show_confused(score["failures"])


def _own_score(store: Path | None, names: list[str] | None) -> dict[str, Any]:
    from assistant import settings
    from assistant.learning import heard_again
    from assistant.listening.spoken import RemarkEars
    from assistant.live.farm import Farm
    from assistant.store.store import Store

    places = settings.places(store)
    with Store.open(places.store, read_only=True) as held:
        farm = Farm.of(held, places)
        return heard_again.own_score(held, farm.interpreter, RemarkEars(farm.spoken, names).judge).flat()


def _manifest_score(
    manifest: Path,
    grammar: Path | None,
    register: Path | None,
    noise: Path | None,
    snr_db: float,
    names: list[str] | None,
) -> dict[str, Any]:
    from assistant.measuring import manifest as listing
    from assistant.measuring.evaluate import evaluate
    from assistant.measuring.examining import farm_examiner, slot_examiner
    from assistant.records.held_register import read_register
    from assistant.sound.recording import read

    wanted = listing.cases(manifest)
    noise_sound = read(noise) if noise else None
    if grammar is not None:
        examiner = slot_examiner(grammar, names)
    else:
        animals = read_register(register).animals if register else ()
        only_animals = all(case.kind == "animal" for case in wanted)
        examiner = farm_examiner(animals, names, "mention" if only_animals else "remark")
    heard = progress(listing.sounds(manifest, wanted, noise_sound, snr_db), "Listening", len(wanted))
    return evaluate(heard, examiner).flat()


def _show_confused(failures: Sequence[Mapping[str, Any]]) -> None:
    """What is taken for what, most often first, and what can be done about it."""
    from assistant.learning.lessons import confusions
    from assistant.values import part_from

    pairs = [
        [[part_from(flat) for flat in failure[key] or ()] for key in ("expected", "heard")] for failure in failures
    ]
    confused = confusions((right, heard) for right, heard in pairs)
    rows = [(right or "nothing", heard or "nothing", str(n)) for (right, heard), n in confused.items()]
    click.echo("\n" + table(("on record", "heard today", "times"), rows))
    click.echo("Forms and pronunciations that would help are tried by: assistant learn")


def _show_reliability(bands: Sequence[Mapping[str, Any]]) -> None:
    """The reliability table: of the cases of which the listeners were so sure, how many came true."""
    if not any(band["n"] for band in bands):
        return
    click.echo(f"{'sure of it':>12} {'cases':>6} {'claimed %':>10} {'right %':>8} {'accepted':>9} {'wrong':>6}")
    for band in bands:
        if band["n"]:
            shares = f"{100 * band['claimed']:>10.1f} {100 * band['came_true']:>8.1f}"
            counts = f"{band['accepted']:>9} {band['accepted_wrong']:>6}"
            click.echo(f"{'above ' + str(band['above']):>12} {band['n']:>6} {shares} {counts}")
