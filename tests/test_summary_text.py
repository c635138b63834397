"""The summary of a session as lines of text."""

from datetime import UTC, datetime

from assistant.report.summary import Summary, text
from assistant.values import Remark, SessionInfo

BEGAN = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def test_a_sound_that_nobody_understood_is_told_by_its_time_and_length() -> None:
    unheard = Remark("r1", "s1", BEGAN.replace(minute=41, second=7), audio="r1.flac", start_s=660.0, end_s=664.6)
    asked = Remark("r2", "s1", BEGAN, "near fore packed dirt")
    lines = text(Summary(SessionInfo("s1", BEGAN), (), (), (), (), (unheard, asked))).splitlines()
    at = lines.index("To decide")
    assert lines[at + 1 : at + 3] == ["  not understood: 5 s at 09:41:07", "  near fore packed dirt"]
