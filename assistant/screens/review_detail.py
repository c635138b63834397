"""All there is to know about one fact or one remark that waits: what was said, how it was heard, its history."""

from __future__ import annotations

from collections.abc import Iterator

from textual.content import Content

from assistant.records.reviewing import Reviewing, facts_of
from assistant.report.summary import words_of
from assistant.screens.palette import KEPT, SOUND, STYLE_OF, WITHDRAWN
from assistant.session.events import Said
from assistant.session.review import Case
from assistant.values import Decision, Entry, State

_HOW = {
    Decision.ACCEPTED: "the listeners agreed",
    Decision.ASK: "the listeners did not agree",
    Decision.ASIDE: "not for the record",
    Decision.UNHEARD: "not understood",
}
MARK_OF = {State.HEARD: "·", State.CONFIRMED: SOUND, State.CORRECTED: "→", State.WITHDRAWN: WITHDRAWN}

Rows = Iterator[Content | str]


def line_detail(reviewing: Reviewing, line: str) -> Content:
    """One fact: what it is, what was said, and every version of it."""
    tip = reviewing.review.tip(line)
    head = Content.assemble(
        (f"{reviewing.holding.label(tip.animal)}  ", "bold"), f"{words_of(tip.part)}  ", (tip.state.value, "$muted")
    )
    said = reviewing.said(tip.remark)
    rows = [head, _words(said), "", *_history(reviewing, line), "", *_heard(said)]
    return _joined(rows)


def case_detail(reviewing: Reviewing, case: Case) -> Content:
    """One remark that waits: why, what was said, and whom it may be about."""
    likely = [reviewing.holding.label(key) for key in reviewing.whom(case.remark)]
    rows: list[Content | str] = [
        Content.assemble((f"{KEPT} ", STYLE_OF[KEPT]), ("To decide", "bold")),
        Content.assemble(("Why: ", "$muted"), case.reason),
        Content.assemble(("Perhaps about: ", "$muted"), ", ".join(likely[:4]) or "nobody was named"),
        "",
        _words(reviewing.said(case.remark)),
        *_heard(reviewing.said(case.remark)),
    ]
    recorded = [reviewing.review.tip(line) for line in reviewing.review.lines_from(case.remark)]
    if recorded:
        rows += ["", Content("On record from it").stylize("bold"), *(_entry_row(entry) for entry in recorded)]
    return _joined(rows)


def _words(said: Said | None) -> Content:
    """When and by whom it was said, and how it was taken down."""
    if said is None:
        return Content("No remark is kept with this.").stylize("$muted")
    remark = said.remark
    by = f" {remark.by}" if remark.by else ""
    verb = "typed" if remark.verdict is None else "said"
    return Content.assemble((f"{remark.time:%H:%M:%S}{by} {verb} ", "$muted"), f"“{remark.words or '…'}”")


def _heard(said: Said | None) -> Rows:
    """How it was heard: the verdict, each listener's readings, and what was not understood."""
    if said is None:
        return
    remark = said.remark
    verdict = remark.verdict
    if verdict is not None:
        yield Content.assemble(("Verdict: ", "$muted"), f"{_HOW[verdict.decision]}: {verdict.reason}")
        for hearing in verdict.hearings:
            first, *others = [reading.text for reading in hearing.readings] or ["nothing that makes sense"]
            yield Content.assemble((f"{hearing.listener}: ", "$primary"), first)
            for text in others[:3]:
                yield Content.assemble(("    or ", "$muted"), text)
    for choice in said.choices:
        facts = ", ".join(words_of(part) for part in facts_of(choice.meaning)) or "nothing to record"
        yield Content.assemble(("Reading: ", "$muted"), f"{choice.words} ", (f"({facts})", "$muted"))
    if remark.meaning.unplaced:
        yield Content.assemble(("Not understood: ", "$muted"), remark.meaning.unplaced)


def _history(reviewing: Reviewing, line: str) -> Rows:
    yield Content("History").stylize("bold")
    for version in reviewing.history(line):
        entry = version.entry
        who = reviewing.holding.label(entry.animal)
        by = f"by {version.by}" if version.by else ""
        yield Content.assemble(
            (f"{MARK_OF[entry.state]} ", "bold"),
            (f"{version.time:%d %b %H:%M} ", "$muted"),
            f"{version.what}: {who}, {words_of(entry.part)}{' ' if by else ''}",
            (by, "$muted"),
        )


def _entry_row(entry: Entry) -> Content:
    return Content(f"{MARK_OF[entry.state]} {words_of(entry.part)}")


def _joined(rows: list[Content | str]) -> Content:
    return Content("\n").join(row if isinstance(row, Content) else Content(row) for row in rows)
