"""What several commands show in the same way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, TypeVar

import click

if TYPE_CHECKING:
    from assistant.live import Outcome
    from assistant.session.replies import Reply

T = TypeVar("T")

colours_option = click.option(
    "--colours",
    type=click.Choice(["dark", "light", "plain"]),
    default="dark",
    show_default=True,
    envvar="ASSISTANT_COLOURS",
    help="Colours of the screen; plain has none. F4 changes them.",
)

workers_option = click.option(
    "--workers", type=click.IntRange(1, 64), help="Processes that listen at once; one a core, up to four, if left out."
)


def progress(items: Iterable[T], what: str, total: int | None = None) -> Iterator[T]:
    """The items, with a bar on stderr while they are taken, if someone is watching."""
    from rich.console import Console
    from rich.progress import track

    console = Console(stderr=True)
    yield from track(items, what, total=total, console=console, disable=not console.is_terminal, transient=True)


def reply_text(reply: Reply) -> str:
    """A reply on one line; the soft tick is a mark of its own."""
    return f"  → {reply.text}" if reply.text else "  ✓"


def told(outcome: Outcome) -> str:
    """A remark as it came: where in the recording, what was heard, what it means, what the keeper is told."""
    remark = outcome.remark
    decision = remark.verdict.decision.value if remark.verdict else "typed"
    minutes, seconds = divmod(remark.start_s, 60)
    head = f"{int(minutes):3d}:{seconds:04.1f} {decision:9} {remark.words or '—'}"
    return "\n".join([head, *(reply_text(reply) for reply in outcome.replies)])


def table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows under their headings, in columns as wide as they need; plain text, for eyes and pipes."""
    widths = [max(map(len, column)) for column in zip(columns, *rows, strict=True)]
    padded = ([cell.ljust(width) for cell, width in zip(line, widths, strict=True)] for line in [columns, *rows])
    return "\n".join("  ".join(cells).rstrip() for cells in padded)
