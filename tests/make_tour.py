"""Makes the pictures of docs/tour.md from the running program.

Run by hand: python tests/make_tour.py. An invented herd, two typed sessions, and each screen with the keys that the
tour names. The pictures are SVG and name no font or host outside.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import click
from textual.screen import Screen

from assistant.cli.look_back_face import look_back_screen
from assistant.cli.register_face import register_screen
from assistant.listening.spoken import grammar_sources, package_folder
from assistant.live.farm import Farm
from assistant.live.handling import Handling
from assistant.live.herd import Herd
from assistant.meaning.wording import wording
from assistant.records.held_register import read_register
from assistant.records.reviewing import Holding, Reviewing
from assistant.screens.face import Face, Look
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import Listening, Spoken, lines_of, live_view, spoken
from assistant.screens.review_screen import ReviewScreen
from assistant.screens.session_link import Going
from assistant.settings import places
from assistant.store.store import Store
from assistant.values import SessionInfo
from tests.test_live_screen import Said

ROOT = Path(__file__).parent.parent
PICTURES = ROOT / "docs" / "tour"
TODAY = datetime(2026, 9, 1, 9, 0, tzinfo=UTC)

SPRING = """tansy
left hind hollow wall, cut out
both fores a bit long, trimmed
right hind fine, between the claws clean
condition three
check her in ten weeks
done
sorrel
all four trimmed
right fore stone, picked out
check her in eleven weeks
done
mallow
left hind scald between the claws, sprayed
check her in twelve weeks
done
yarrow
right fore crack, cut out
check her in twelve weeks
done
betony
left fore hollow wall, cut out
check her in twelve weeks
done
done"""
TODAY_SAID = """sorrel
all four trimmed
between the claws clean
done
vetch
right hind scald between the claws, sprayed
left fore overgrown, trimmed
check her in two weeks
done
done
mallow
some words that nobody can place
skip her she's heavy in kid
tansy
left hind bad hollow wall again, cut out, spray
both fores overgrown, trimmed
right hind fine, between the claws clean
condition two and a half
lame score six"""

SPOKEN: list[Spoken] = []
"""The remarks as the live screen tells them."""
LISTED: list[str] = []
"""The list behind the last answer."""


def told(handling: Handling, line: str, now: datetime) -> None:
    """One typed line, as the live screen tells it."""
    outcome = handling.type(line, now, "Rowan")
    SPOKEN.append(spoken(outcome))
    LISTED[:] = lines_of(outcome.replies)


def said(store: Store, holding: Farm, key: str, began: datetime, lines: str, *, ends: bool) -> Going:
    """A typed session, one line every twelve seconds."""
    handling = holding.handling(store, key, None)
    handling.begin(SessionInfo(key, began, planned=tuple(holding.planned), by="Rowan", source="typed"))
    now = began
    for line in lines.splitlines():
        now += timedelta(seconds=12)
        told(handling, line, now)
    if ends:
        handling.end(now)
    world = Herd({animal.id: animal for animal in holding.register}, store, key, holding.lameness)
    return Going(handling, world, lambda: now)


async def picture(
    name: str, make: Callable[[], Screen[None]], size: tuple[int, int], keys: list[str], look: Look
) -> None:
    """Shows a screen, presses keys, and keeps what is drawn."""
    app = Face(make, look)
    async with app.run_test(size=size) as pilot:
        for key in ["", *keys]:
            if key:
                await pilot.press(key)
            for _ in range(10):
                await pilot.pause(0.05)
        drawn = app.export_screenshot()
    drawn = re.sub(r"@font-face\s*{.*?}", "", drawn, flags=re.DOTALL).replace("Fira Code", "DejaVu Sans Mono")
    PICTURES.mkdir(exist_ok=True)
    (PICTURES / f"{name}.svg").write_text(
        "\n".join(line.rstrip() for line in drawn.splitlines()) + "\n", encoding="utf-8"
    )
    click.echo(f"docs/tour/{name}.svg")


async def tour(store: Store) -> None:
    """Every picture."""
    store.save_animals(read_register(package_folder("demo_audio") / "register.csv").animals, TODAY)
    planned = [animal.id for animal in store.animals()]
    holding = Farm.of(store, places(store.path), planned)
    said(store, holding, "spring", TODAY - timedelta(weeks=12), SPRING, ends=True)
    going = said(store, holding, "today", TODAY, TODAY_SAID, ends=False)

    def live() -> LiveScreen:
        state, now = going.handling.state, going.clock()
        listening = Listening(("pocketsphinx", "phonemes"), -24.0)
        view = live_view(state, going.world, SPOKEN[-8:], listening, now, LISTED)
        return LiveScreen(Said(view))

    animals = {animal.id: animal for animal in holding.register}
    keeper = Holding(
        animals, lambda: holding.interpreter, holding.lameness, "Hazel", lambda: TODAY + timedelta(hours=9)
    )
    words = wording(grammar_sources())

    def review() -> ReviewScreen:
        info = next(info for info in store.sessions() if info.id == "today")
        return ReviewScreen(Reviewing(store, info, keeper), words, lambda _: "")

    def back() -> Screen[None]:
        screen = look_back_screen(store, places(store.path), store.sessions()[-1])
        screen.past.today = TODAY.date()
        return screen

    small, large = (80, 24), (120, 40)
    await picture("live", live, small, [], Look())
    await picture("live_far", live, small, ["f2"], Look())
    await picture("live_light", live, large, [], Look("light"))
    await picture("live_words", live, small, ["f3"], Look("plain"))
    told(going.handling, "lame score two", TODAY + timedelta(minutes=9))
    told(going.handling, "who is due", TODAY + timedelta(minutes=9))
    await picture("live_list", live, small, [], Look())
    going.handling.end(TODAY + timedelta(minutes=10))
    await picture("review", review, small, [], Look())
    await picture("review_place", review, small, ["down", "down", "p", *"right h"], Look())
    await picture("review_history", review, small, ["down", "down", "x", "u", "f", *"scald", "enter"], Look())
    await picture("review_keys", review, small, ["f1"], Look())
    await picture("session", back, small, [], Look())
    await picture("card", back, small, ["slash", *"tansy", "enter"], Look())
    await picture("charts", back, small, ["c"], Look())
    await picture("replay", back, large, ["r", *["right"] * 5], Look())
    await picture("replay_far", back, small, ["r", *["right"] * 6, "f2"], Look())
    await picture("register", lambda: register_screen(store), small, ["down", "down", "down"], Look())


def main() -> None:
    with TemporaryDirectory() as folder, Store.open(Path(folder) / "herd.db") as store:
        asyncio.run(tour(store))


if __name__ == "__main__":
    main()
