"""What the product has to reach, figure by figure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Target:
    """One figure to reach.

    Attributes:
        key: of the result that it is held against.
        what: is measured.
        limit: to reach, in `unit`.
        is_most: whether the figure has to stay below; else above.
    """

    key: str
    what: str
    limit: float
    unit: str
    is_most: bool

    def is_met(self, value: float) -> bool:
        """Whether a figure reaches it."""
        return value <= self.limit if self.limit == 0 else value < self.limit if self.is_most else value > self.limit

    @property
    def text(self) -> str:
        """The target as it is written."""
        sign = "" if self.limit == 0 else "below " if self.is_most else "above "
        return f"{sign}{self.limit:g} {self.unit}".rstrip()


TARGETS = (
    Target("farm quiet wrong", "accepted without a question and wrong, quiet", 0.2, "%", True),
    Target("farm 15 dB wrong", "the same in barn noise at 15 dB", 0.2, "%", True),
    Target("farm quiet wrong and not said back", "of these, not even said back, quiet", 0.2, "%", True),
    Target("farm 15 dB wrong and not said back", "the same at 15 dB", 0.2, "%", True),
    Target("farm quiet accepted", "accepted without a question, quiet", 92, "%", False),
    Target("farm 15 dB accepted", "the same at 15 dB", 80, "%", False),
    Target("farm quiet right", "right meaning at first guess, quiet", 99, "%", False),
    Target("farm 15 dB right", "the same at 15 dB", 96, "%", False),
    Target("farm 6 dB right", "the same at 6 dB", 85, "%", False),
    Target("coffee right", "right slots on open human commands, mean of 6 to 24 dB, published rule", 97.6, "%", False),
    Target("talk accepted", "other talk taken for a remark", 0.5, "an hour", True),
    Target("latency median", "cut-out remark → verdict (part of: end of speech → entry), median", 0.3, "s", True),
    Target("latency p95", "the same, 95th percentile", 0.7, "s", True),
    Target("reply median", "end of speech → reply in a live session, median", 0.3, "s", True),
    Target("reply p95", "the same, 95th percentile", 0.7, "s", True),
    Target("real-time factor", "time of all listeners for a second of sound", 0.15, "", True),
    Target(
        "real-time factor of the slowest",
        "to hear alone, the slowest listener by itself",
        0.15,
        "",
        True,
    ),
    Target("memory", "memory of a live session, all processes", 400, "MB", True),
    Target("start", "start of a live session to listening (sound is taken sooner)", 2, "s", True),
    Target("mention p95", "spoken mention → animal among 100,000, 95th percentile", 10, "ms", True),
    Target("summary", "slowest question to a store with 1,000,000 entries", 1, "s", True),
    Target("lost", "remarks lost over 1,000 kills at random moments", 0, "", True),
)
