"""Sessions for the live screen: each is begun and ended in the thread that keeps it going."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.cli.alike import alike_in
from assistant.cli.facing import faced

if TYPE_CHECKING:
    from assistant.live.handling import Outcome
    from assistant.live.herd import Herd
    from assistant.live.recorded import Run
    from assistant.screens.live_screen import LiveScreen
    from assistant.screens.loop_link import Begun, LoopLink
    from assistant.screens.session_link import Going, Link
    from assistant.settings import Aloud
    from assistant.sound.stream import Source

Opened = Callable[[], AbstractContextManager["Going"]]
LiveOpened = Callable[[], AbstractContextManager["Begun"]]
RunOpened = Callable[[], AbstractContextManager["Run"]]


def show_session(opened: Opened, colours: str, phrases: Callable[[], list[str]] = list) -> int:
    """Shows a session live until it is left; gives the exit status.

    Raises:
        AssistantError: the session could not begin, or not go on; what was kept stays.
    """

    def link() -> Link:
        from assistant.screens.session_link import Link

        return Link(opened)

    return _shown(link, colours, phrases)


def show_loop(opened: LiveOpened, colours: str, phrases: Callable[[], list[str]] = list) -> int:
    """Shows a session that is listened to as it goes on; as `show_session`."""

    def link() -> LoopLink:
        from assistant.screens.loop_link import LoopLink

        return LoopLink(opened)

    return _shown(link, colours, phrases)


def _shown(link: Callable[[], Link | LoopLink], colours: str, phrases: Callable[[], list[str]]) -> int:
    links: list[Link | LoopLink] = []
    _start_tracker()

    def make() -> LiveScreen:
        from assistant.screens.live_screen import LiveScreen

        links.append(link())
        return LiveScreen(links[0], phrases())

    status = faced(make, colours)
    if links and links[0].trouble is not None:
        raise links[0].trouble
    return status


def _start_tracker() -> None:
    """Listening processes need their keeper of resources, which cannot be started once the screen has the terminal."""
    if sys.platform != "win32":
        from multiprocessing.resource_tracker import ensure_running

        ensure_running()


def planned(
    store: Path | None,
    group: str | None,
    started: datetime | None,
    source: str,
    policy: str | None = None,
    codes: Path | None = None,
) -> RunOpened:
    """What opens the store of a holding and plans a session on it; see `assistant.cli.holding.opened`."""

    def run_opened() -> AbstractContextManager[Run]:
        from assistant.cli.holding import opened

        return opened(store, group, started, source, policy, codes)

    return run_opened


def typed(run_opened: RunOpened) -> Opened:
    """A session that is typed."""

    @contextmanager
    def opened() -> Iterator[Going]:
        from assistant.screens.session_link import Going
        from assistant.steady_clock import SteadyClock

        with run_opened() as run:
            handling, key = run.begin()
            yield Going(handling, _herd(run, key), SteadyClock(run.started), opening=_known_before(run))

    return opened


def recorded(
    run_opened: RunOpened,
    recording: Path,
    listeners: list[str] | None,
    workers: int | None,
) -> Opened:
    """A session heard from a recording; somebody watches it and can answer, so that questions wait for an answer."""

    @contextmanager
    def opened() -> Iterator[Going]:
        from assistant.live.recorded import check_recording, finish_pending, hear_recording
        from assistant.screens.session_link import Going

        with run_opened() as run, run.farm.pool(listeners, workers) as pool:
            check_recording(recording)
            finish_pending(run.store, run.farm, pool.judge, run.claims)
            handling, key = run.begin(is_attended=True)
            at = [run.started]

            def outcomes() -> Iterator[Outcome]:
                for outcome in hear_recording(handling, recording, run.started, pool):
                    at[0] = run.started + timedelta(seconds=outcome.remark.end_s)
                    yield outcome

            def clock() -> datetime:
                return at[0]

            opening = (*pool.notices, *_known_before(run))
            yield Going(handling, _herd(run, key), clock, tuple(pool.names), outcomes(), opening)

    return opened


def live(
    run_opened: RunOpened,
    opened_sound: Callable[[], Source],
    aloud: Aloud,
    listeners: list[str] | None,
    workers: int | None,
) -> LiveOpened:
    """A session at the microphone, or with a recording that comes like one."""

    @contextmanager
    def opened() -> Iterator[Begun]:
        from assistant.listening.ahead import prepared
        from assistant.screens.loop_link import Begun

        with prepared(listeners, workers) as process, closing(opened_sound()) as sound:
            from assistant.live.beginning import live_session

            with run_opened() as run, live_session(run, sound, aloud, listeners, workers, process) as session:
                yield Begun(session, _herd(run, session.handling.session), _known_before(run))

    return opened


def _known_before(run: Run) -> tuple[str, ...]:
    """What is to be known before the work: a clock that is wrong, who sounds alike."""
    return (*filter(None, [run.clock_note]), *alike_in(run))


def _herd(run: Run, session: str) -> Herd:
    """The herd as the session itself sees it, so that its cautions of an animal stand on the screen, too."""
    from assistant.live.herd import Herd
    from assistant.records.look_ahead import LookAhead

    animals = {animal.id: animal for animal in run.farm.register}
    ahead = partial(LookAhead.on, run.store, run.farm.practice)
    return Herd(animals, run.store, session, run.farm.lameness, ahead)


def phrases_of(store: Path | None) -> list[str]:
    """What typed words are completed from: the trade's words and the animals' names."""
    from assistant import settings
    from assistant.listening.spoken import grammar_sources
    from assistant.meaning.wording import wording
    from assistant.records.held_register import stored_animals

    places = settings.places(store)
    words = wording(grammar_sources(places.grammars))
    names = [animal.name.casefold() for animal in stored_animals(places) if animal.name]
    return [*words.places, *words.findings, *words.actions, *words.follow_ups, *words.traits, *names]
