"""`assistant replay`: a session gone through again, with its sound where there is a loudspeaker."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.facing import held_store
from assistant.errors import BadStore, LibraryMissing

if TYPE_CHECKING:
    from assistant.records.replaying import Moment
    from assistant.store.store import Store
    from assistant.values import Sound

Play = Callable[["Sound"], str]
"""Plays a sound to its end; gives what is wrong where it cannot."""


@click.command("replay")
@click.argument("session", required=False)
@click.option(
    "--from", "animal", metavar="ANIMAL", help="Begin where this animal comes to the table: name, number, tag."
)
@click.option("--no-sound", is_flag=True, help="Print only; play and say nothing.")
@click.option("--summary", "only_summary", is_flag=True, help="Only the summary, said aloud.")
@click.pass_obj
def replay_command(
    store: Path | None, session: str | None, animal: str | None, no_sound: bool, only_summary: bool
) -> None:
    """Go through SESSION again: each remark as it sounded, what it was taken for, and what was put on record.

    SESSION is its id or the beginning of it; the last if left out. At the end the summary is said aloud.
    """
    from assistant.records.look_back import events_of, session_info, session_summary
    from assistant.records.replaying import moments, of_animal
    from assistant.report.spoken import spoken

    play = _silent if no_sound else _player()
    with held_store(store, read_only=True) as (held, _):
        info = session_info(held, session)
        animals = {one.id: one.label for one in held.animals()}
        found = moments(events_of(held, info.id))
        if animal is not None:
            found = of_animal(found, _id_of(held, animal))
        if not only_summary:
            sounds = set() if no_sound else set(held.with_sound(info.id))
            for moment in found:
                click.echo(told(moment, animals))
                _play_remark(held, moment, sounds, play)
        text = spoken(session_summary(held, info.id), datetime.now().astimezone().date())
    click.echo(f"\n{text}")
    if not no_sound:
        _say(text, play)


def told(moment: Moment, names: Mapping[str, str]) -> str:
    """A moment in lines: when, what was heard; on which animal what was recorded; what was said back."""
    from assistant.report.summary import words_of
    from assistant.values import State

    remark = moment.remark
    by = f"  {remark.by}" if remark.by else ""
    lines = [f"{remark.time:%H:%M:%S}{by}  “{remark.words}”" if remark.words else f"{remark.time:%H:%M:%S}{by}  —"]
    for entry in moment.entries:
        taken = "taken back, " if entry.state is State.WITHDRAWN else "corrected, " if entry.supersedes else ""
        lines.append(f"    {names.get(entry.animal, entry.animal)}: {taken}{words_of(entry.part)}")
    lines += [f"    kept for later: {moment.kept}"] if moment.kept else []
    return "\n".join(lines + [f"  → {text}" for text in moment.replies])


def _id_of(held: Store, said: str) -> str:
    wanted = said.casefold()
    found = [
        one.id for one in held.animals() if wanted in (one.name.casefold(), one.number.casefold(), one.tag.casefold())
    ]
    if len(found) != 1:
        raise BadStore(f"{'Several animals are' if found else 'No animal is'} called {said!r}. Say its official tag.")
    return found[0]


def _play_remark(held: Store, moment: Moment, sounds: set[str], play: Play) -> None:
    if moment.remark.id in sounds:
        try:
            sound = held.sound(moment.remark.id)
        except BadStore as error:
            click.echo(f"    no sound: {error}")
            return
        if trouble := play(sound):
            click.echo(f"assistant: {trouble}", err=True)
            sounds.clear()


def _silent(_: Sound) -> str:
    return ""


def _player() -> Play:
    """Plays to the end through the loudspeaker, one sound at a time."""
    from assistant.sound.player import Player

    players: dict[int, Player] = {}

    def play(sound: Sound) -> str:
        if sound.rate_hz not in players:
            players[sound.rate_hz] = Player(sound.rate_hz)
        player = players[sound.rate_hz]
        player.play(sound.samples)
        while player.is_playing:
            time.sleep(0.02)
        return player.note

    return play


def _say(text: str, play: Play) -> None:
    from assistant.values import Sound
    from assistant.voice.speaking import HibariVoice

    try:
        voice = HibariVoice()
    except LibraryMissing as error:
        click.echo(f"assistant: {error}", err=True)
        return
    for samples in voice.speak(text):
        if trouble := play(Sound(samples, voice.rate_hz)):
            click.echo(f"assistant: {trouble}", err=True)
            return
