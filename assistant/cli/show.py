"""What several commands show in the same way."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import isnan
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from assistant.live.handling import Outcome
    from assistant.live.recorded import Run
    from assistant.session.replies import Reply

T = TypeVar("T")


class Number(click.FloatRange):
    """A number within bounds. The library takes "nan" for one that lies within all bounds."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number; the usage error says what is wrong with it."""
        number = float(super().convert(value, param, ctx))
        if isnan(number):
            self.fail(f"{value!r} is no number.", param, ctx)
        return number


colours_option = click.option(
    "--colours",
    type=click.Choice(["dark", "light", "plain"]),
    default="dark",
    show_default=True,
    envvar="ASSISTANT_COLOURS",
    help="Colours of the screen; plain has none. F4 changes them.",
)

policy_option = click.option(
    "--policy",
    type=click.Choice(["careful", "normal", "quick"]),
    help="How much is said back: all, what matters, or only what must be asked; as in the settings if left out.",
)

workers_option = click.option(
    "--workers", type=click.IntRange(1, 64), help="Processes that listen at once; one a core, up to four, if left out."
)


def progress(items: Iterable[T], what: str, total: int | None = None) -> Iterator[T]:
    """The items, with a bar on stderr while they are taken, if someone is watching."""
    from rich.console import Console
    from rich.progress import track

    console = Console(file=sys.__stderr__, stderr=True)  # the stream itself: a bar is drawn by orders to the terminal
    yield from track(items, what, total=total, console=console, disable=not console.is_terminal, transient=True)


def reply_text(reply: Reply) -> str:
    """A reply on one line, with the list that belongs to it below; the soft tick is a mark of its own."""
    return "\n".join([f"  → {reply.text}" if reply.text else "  ✓", *(f"      {line}" for line in reply.lines)])


def told(outcome: Outcome) -> str:
    """A remark as it came: where in the recording, what was heard, what it means, what the keeper is told."""
    remark = outcome.remark
    decision = remark.verdict.decision.value if remark.verdict else "typed"
    minutes, seconds = divmod(remark.start_s, 60)
    head = f"{int(minutes):3d}:{seconds:04.1f} {decision:9} {remark.words or '—'}"
    return "\n".join([head, *(reply_text(reply) for reply in outcome.replies)])


def say_listening(names: Sequence[str], notices: Sequence[str], n_planned: int) -> None:
    """Says on stderr who listens, and for how many animals."""
    click.echo(f"Listening: {', '.join(names)}. {n_planned} animals planned.", err=True)
    for notice in notices:
        click.echo(notice, err=True)


def say_where(run: Run, session: str) -> None:
    """Says on stderr where a session was kept."""
    click.echo(f"Session {session} is in {run.store.path}. See it with: assistant summary", err=True)


def flat_outcome(outcome: Outcome) -> dict[str, Any]:
    """A remark and what came of it as one flat object, for JSON."""
    remark = outcome.remark
    return {
        "start_s": round(remark.start_s, 2),
        "end_s": round(remark.end_s, 2),
        "decision": remark.verdict.decision.value if remark.verdict else None,
        "reason": remark.verdict.reason if remark.verdict else None,
        "words": remark.words,
        "choices": list(remark.verdict.choices) if remark.verdict else [],
        "meaning": [part.flat() for part in remark.meaning.parts],
        "replies": [
            {"kind": reply.kind.value, "text": reply.text, "lines": list(reply.lines)} for reply in outcome.replies
        ],
    }


def counted_table(title: str, rows: Sequence[Mapping[str, Any]], columns: Sequence[str], nobody: str = "none") -> str:
    """A title with how many rows there are, and the rows as a table, if there are any.

    Args:
        title: what they are.
        rows: column → value; None stands as nothing.
        columns: those that are shown, in order.
        nobody: what stands for no rows.
    """
    head = f"{title}: {len(rows) or nobody}"
    cells = [["" if row[column] is None else str(row[column]) for column in columns] for row in rows]
    return f"{head}\n{table(columns, cells)}" if rows else head


def table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows under their headings, in columns as wide as they need; plain text, for eyes and pipes."""
    widths = [max(map(len, column)) for column in zip(columns, *rows, strict=True)]
    padded = ([cell.ljust(width) for cell, width in zip(line, widths, strict=True)] for line in [columns, *rows])
    return "\n".join("  ".join(cells).rstrip() for cells in padded)
