"""The page of a session: one HTML file that needs nothing from outside itself."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from functools import cache
from itertools import groupby
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from assistant.report.foot_plan import foot_plan
from assistant.report.plot import plot
from assistant.report.report import Heard, Report
from assistant.report.summary import CAUTIONS, ToDo, outcome_text
from assistant.values import FEET, Animal


def page(report: Report, more_to_do: Iterable[tuple[str, Iterable[str]]] = ()) -> str:
    """The report as HTML.

    Args:
        report: what it shows.
        more_to_do: further lists of the whole holding, as heading and lines; empty ones are left out.
    """
    lists = [(heading, held) for heading, lines in more_to_do if (held := list(lines))]
    return _template().render(report=report, to_do=_by_day(report.summary.to_do), more_to_do=lists, cautions=CAUTIONS)


def _by_day(items: Iterable[ToDo]) -> list[tuple[str, list[ToDo]]]:
    """What follows, under the day on which it does."""
    return [
        (f"{day:%Y-%m-%d}" if day else "No day set", list(held)) for day, held in groupby(items, lambda one: one.on)
    ]


def _player(heard: Heard) -> Markup:
    """A player with the sound in it."""
    data = base64.b64encode(heard.flac).decode("ascii")
    return Markup('<audio controls preload="none" aria-label="{}" src="data:audio/flac;base64,{}"></audio>').format(
        f"Remark of {heard.time:%H:%M:%S}", data
    )


def named(animal: Animal) -> str:
    """All that an animal is called, the usual first."""
    first, *others = [one for one in (animal.name, animal.number, animal.tag) if one] or [animal.id]
    return f"{first} ({', '.join(others)})" if others else first


def minutes_text(minutes: float) -> str:
    """A span as a keeper says it."""
    if minutes < 1:
        return "under a minute"
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest} min" if hours else f"{whole} min"


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("assistant.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    shown = {"foot_plan": foot_plan, "plot": plot, "player": _player, "named": named, "minutes_text": minutes_text}
    environment.globals.update(shown, outcome=lambda card: outcome_text(card.outcome), feet=FEET)
    environment.filters["anchor"] = lambda key: quote(key, safe="").replace("%", "_")
    return environment.get_template("page.html")
