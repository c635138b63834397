"""What a session came to, in sentences to be said aloud."""

from __future__ import annotations

from datetime import date

from assistant.report.summary import Summary
from assistant.session.replies import on_day

SAID = 12
"""So many things to do are said; the others are counted."""


def spoken(summary: Summary, today: date) -> str:
    """The summary in a few sentences, the most pressing first.

    Args:
        summary: of the session.
        today: the day on which it is said.
    """
    done = sum(card.outcome is not None and card.outcome.is_done for card in summary.cards)
    skipped = sum(card.outcome is not None and not card.outcome.is_done for card in summary.cards)
    sentences = [f"{done} done, {skipped} skipped, {len(summary.left)} left."]
    if summary.left:
        names = [animal.label for animal in summary.left]
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        sentences.append(f"Left: {', '.join(names[:3])}{more}.")
    for item in summary.to_do[:SAID]:
        when = "no day set" if item.on is None else on_day(item.on, today)
        sentences.append(f"{item.animal.label}: {item.what}, {when}.")
    if len(summary.to_do) > SAID:
        sentences.append(f"And {len(summary.to_do) - SAID} more to do.")
    if summary.findings:
        finding, n = summary.findings[0]
        sentences.append(f"Most often found: {finding}, {n} {'place' if n == 1 else 'places'}.")
    if summary.review:
        n = len(summary.review)
        sentences.append(f"{n} {'remark needs' if n == 1 else 'remarks need'} a decision.")
    return " ".join(sentences)
