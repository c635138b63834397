"""A session at the microphone, or a recording that comes like one, in plain lines; lines may be typed meanwhile."""

from __future__ import annotations

import contextlib
import json
import signal
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.alike import say_alike, say_clock
from assistant.cli.show import Number, flat_outcome, reply_text, say_listening, say_where, told

if TYPE_CHECKING:
    from assistant.cli.screened import RunOpened
    from assistant.live.happening import Happening
    from assistant.live.loop import LiveLoop
    from assistant.settings import Aloud
    from assistant.sound.stream import Source


def sound_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of microphone and loudspeaker; the command gets them as `chosen`, what was not said left out."""
    options = (
        click.option("--microphone", help="Part of its name, or its number in `assistant devices`."),
        click.option("--loudspeaker", help="The same for the loudspeaker."),
        click.option(
            "--say",
            type=click.Choice(["voice", "tones", "nothing"]),
            help="What is said aloud: words with tones, tones alone, or nothing.",
        ),
        click.option("--quiet", is_flag=True, help="Short for --say nothing."),
        click.option("--volume", type=Number(0, 1), help="How loud, from 0 to 1."),
        click.option("--rate", type=Number(0.5, 2), help="How quick the voice is: 0.5 to 2."),
        click.option(
            "--pause",
            "pause_s",
            type=Number(0.3, 2),
            metavar="SECONDS",
            help="Silence that ends a remark: shorter answers sooner, longer lets you breathe; 0.72 if left out.",
        ),
        click.option(
            "--headset", is_flag=True, default=None, help="Listen while it speaks: the microphone does not hear it."
        ),
    )

    @wraps(command)
    def with_sound(*args: Any, quiet: bool, **kwargs: Any) -> Any:
        names = ("microphone", "loudspeaker", "say", "volume", "rate", "headset", "pause_s")
        chosen = {name: value for name in names if (value := kwargs.pop(name)) is not None}
        if quiet:
            chosen["say"] = "nothing"
        return command(*args, chosen=chosen, **kwargs)

    for option in reversed(options):
        with_sound = option(with_sound)
    return with_sound


def aloud_of(store: Path | None, chosen: dict[str, Any], *, is_recording: bool) -> Aloud:
    """The holding's settings with the options of the command over them; a recording is not answered aloud unless told.

    Raises:
        BadSetting: the settings file has a mistake.
    """
    from assistant import settings

    usual = settings.settings(settings.places(store).settings).aloud
    if is_recording:
        usual = replace(usual, say="nothing")
    return replace(usual, **chosen)


def source(recording: Path | None, pace: str | None, aloud: Aloud) -> Source:
    """Where the sound of a session comes from: a recording if one is named, else the microphone, which is open then.

    It needs little of the program, so that the microphone is open before the rest is there.

    Raises:
        BadDevice: there is no such microphone, or it cannot be opened.
        BadAudio: the recording is none.
    """
    if recording is None:
        from assistant.sound.microphone import Microphone

        return Microphone(aloud.microphone)
    from assistant.live.recorded import check_recording
    from assistant.sound.stream import Pace, Played

    check_recording(recording)
    return Played(recording, Pace(pace or Pace.REAL))


def live_by_lines(
    run_opened: RunOpened,
    opened_sound: Callable[[], Source],
    aloud: Aloud,
    names: list[str] | None,
    workers: int | None,
    *,
    as_json: bool,
) -> None:
    """Runs a live session and writes what happens in plain lines.

    Typed lines are taken meanwhile if somebody sits at the keyboard. Ctrl+C ends the session in order, a second one at
    once.
    """
    from assistant.cli.facing import is_terminal
    from assistant.listening.ahead import prepared

    with prepared(names, workers) as listeners, contextlib.closing(opened_sound()) as sound:
        from assistant.live.beginning import live_session
        from assistant.live.loop import LiveLoop

        with run_opened() as run, live_session(run, sound, aloud, names, workers, listeners) as session:
            say_clock(run)
            say_alike(run)
            loop = LiveLoop(session, Lines(len(run.planned), as_json=as_json))
            if is_terminal():
                threading.Thread(target=_type_on, args=(loop,), name="keyboard", daemon=True).start()
            if sound.is_live:
                click.echo("Speak: name an animal, then say what you see and do. finish ends.", err=True)
            with _ended_by_ctrl_c(loop):
                loop.run()
            say_where(run, session.handling.session)


class Lines:
    """Writes what happens, each thing once."""

    def __init__(self, n_planned: int, *, as_json: bool) -> None:
        self._n_planned = n_planned
        self._as_json = as_json
        self._n_old = 0
        self._note = ""

    def __call__(self, what: Happening) -> None:
        """Writes one happening."""
        from assistant.live import happening

        match what:
            case happening.Ready(names, notices):
                say_listening(names, notices, self._n_planned)
            case happening.Came(outcome, is_old):
                if is_old:
                    self._n_old += 1
                    click.echo(f"{self._n_old} that were kept as sound only: understood now.", err=True)
                else:
                    click.echo(json.dumps(flat_outcome(outcome)) if self._as_json else told(outcome))
            case happening.Told(replies):
                for reply in replies:
                    click.echo(reply_text(reply), err=self._as_json)
            case happening.Noted(text):
                if text:
                    click.echo(text, err=True)
            case happening.Levelled(level):
                if level.note and level.note != self._note:
                    click.echo(level.note, err=True)
                self._note = level.note
            case _:
                pass


def _type_on(loop: LiveLoop) -> None:
    with contextlib.suppress(EOFError):
        while True:
            loop.type(input())


@contextlib.contextmanager
def _ended_by_ctrl_c(loop: LiveLoop) -> Iterator[None]:
    """Ctrl+C ends in order; outside the main thread there is none."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.getsignal(signal.SIGINT)

    def end(*_: object) -> None:
        loop.stop()
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
