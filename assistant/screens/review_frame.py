"""A session that is put right as it is shown: its list, all about the line under the cursor, and what happened."""

from __future__ import annotations

from textual import work
from textual.content import Content

from assistant.records.reviewing import Reviewing
from assistant.screens.face import memory_settled
from assistant.screens.listing import Listing
from assistant.screens.review_detail import case_detail, line_detail
from assistant.screens.review_list import CASE, LINE, ReviewList, id_in
from assistant.values import Entry

_GOING = "This session was not ended: put it right only if no other program is recording it."


class ReviewFrame(Listing):
    """A session and what is known of each line of it; what can be done with it is of `ReviewScreen`.

    Args:
        reviewing: the session.
    """

    def __init__(self, reviewing: Reviewing) -> None:
        super().__init__()
        self.open(reviewing)

    def open(self, reviewing: Reviewing) -> None:
        """Takes a session up; `begin` shows it."""
        self.reviewing = reviewing
        self.list = ReviewList(reviewing)

    def on_mount(self) -> None:
        """Shows the session; the words are made ready meanwhile."""
        self.begin()
        self.lines.focus()
        self._warm_up()

    def begin(self) -> None:
        """Shows the session from its beginning."""
        self.refresh_list(0)
        is_going = self.reviewing.info.ended is None
        self.tell(_GOING if is_going else "")

    @work(thread=True)
    def _warm_up(self) -> None:
        self.reviewing.holding.interpreter()
        memory_settled()

    # ------------------------------------------------------------------------------------------------------ showing

    def refresh_list(self, at: str | int = "") -> None:
        """Shows the list as it is now, with the cursor at a key."""
        self.lines.show(self.list.keys(), self.list.line, at)
        n_open = len(self.reviewing.review.open)
        when = f"{self.reviewing.info.started:%Y-%m-%d %H:%M}"
        facts, animals = _several(self.list.n_facts, "fact"), _several(self.list.n_animals, "animal")
        counted = f"{when}   {n_open} to decide, {facts} of {animals}"
        self.head(Content.assemble(("Review ", "bold"), counted))

    def detail(self, key: str) -> Content:
        """All about a remark that waits, or a fact."""
        if case := id_in(key, CASE):
            return case_detail(self.reviewing, self.reviewing.review.known[case])
        if line := id_in(key, LINE):
            return line_detail(self.reviewing, line)
        return Content("Nothing is recorded in this session. i adds a fact.")

    # ------------------------------------------------------------------------------------------------ under the cursor

    @property
    def case(self) -> str:
        """Id of the remark under the cursor; empty if there is none."""
        return id_in(self.lines.key, CASE)

    @property
    def line(self) -> str:
        """Id of the fact under the cursor; empty if there is none."""
        return id_in(self.lines.key, LINE)

    @property
    def tip(self) -> Entry | None:
        """The fact under the cursor as it stands."""
        return self.reviewing.review.tip(self.line) if self.line else None


def _several(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"
