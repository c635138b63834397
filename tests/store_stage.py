"""What the tests of the store share: moments, sounds, entries, and values made by chance for round trips."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st

from assistant.session.events import EntryMade, EntrySuperseded, flat_event
from assistant.values import (
    ActionPart,
    Animal,
    Decision,
    Entry,
    FindingPart,
    FollowUpPart,
    Grade,
    HeardWord,
    Hearing,
    MarkPart,
    Meaning,
    MeasurePart,
    Part,
    Reading,
    Remark,
    SessionInfo,
    Sex,
    Sound,
    Species,
    State,
    Tag,
    TagPart,
    TraitPart,
    Verdict,
)

START = datetime(2026, 9, 1, 9, 0, tzinfo=UTC)
HOLLOW = FindingPart("left hind", "hollow wall")
TRIMMED = ActionPart("left hind", "trimmed")


def session_info(key: str = "s1", days: int = 0) -> SessionInfo:
    return SessionInfo(key, START + timedelta(days=days), None, ("a1", "a2"), "Rowan", "typed")


def entry(
    key: str, part: Part = HOLLOW, animal: str = "a1", session: str = "s1", days: int = 0, state: State = State.HEARD
) -> Entry:
    return Entry(key, animal, part, state, f"r-{key}", session, START + timedelta(days=days), None, "Rowan")


def made(of: Entry) -> dict[str, Any]:
    return flat_event(EntryMade(of))


def superseding(of: Entry, old: str) -> dict[str, Any]:
    return flat_event(EntrySuperseded(Entry(**{**vars(of), "supersedes": old}), old))


def tone(seconds: float = 0.2, seed: int = 0, start_s: float = 0.0) -> Sound:
    samples = np.random.default_rng(seed).uniform(-0.5, 0.5, round(seconds * 16000))
    return Sound(samples.astype(np.float32), 16000, start_s)


def as_ordinary_user(deed: Callable[[], str]) -> str:
    """What `deed` gives in a process whose user file permissions bind: an administrator may write anywhere."""
    if sys.platform == "win32":
        pytest.skip("permissions of folders work differently on Windows")
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:  # pragma: no cover - the other process
        answer = "the deed ended without an answer"
        try:
            if os.geteuid() == 0:
                os.setgid(65534)
                os.setuid(65534)
            answer = deed()
        except Exception as error:  # noqa: BLE001 - said to the test in the other process
            answer = f"{type(error).__name__}: {error}"
        finally:
            os.write(writing, answer.encode())
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        answer = pipe.read().decode()
    os.waitpid(child, 0)
    return answer


# ------------------------------------------------------------------------------------------------ values by chance

texts = st.text(max_size=12)
places = st.sampled_from(["left fore", "right hind", "udder", "whole animal"])
details = st.none() | st.sampled_from(["between the claws", "toe"])
numbers = st.floats(allow_nan=False, allow_infinity=False)
zones = st.integers(-12, 14).map(lambda hours: timezone(timedelta(hours=hours)))
moments = st.datetimes(min_value=datetime(1990, 1, 1), max_value=datetime(2100, 1, 1), timezones=zones)
days = st.none() | st.dates()

facts: st.SearchStrategy[Part] = st.one_of(
    st.builds(FindingPart, st.none() | places, texts, details, st.none() | st.sampled_from(Grade)),
    st.builds(ActionPart, st.none() | places, texts, details, st.none() | texts),
    st.builds(MeasurePart, texts, numbers),
    st.builds(FollowUpPart, texts, st.none() | st.integers(0, 400)),
    st.builds(TraitPart, texts),
    st.builds(MarkPart, texts),
    st.builds(TagPart, texts),
)

entries = st.builds(
    Entry, st.uuids().map(str), texts, facts, st.sampled_from(State), texts, st.just("s1"), moments, st.none(), texts
)

words = st.builds(HeardWord, texts, numbers, numbers, numbers)
readings = st.builds(Reading, st.lists(words, max_size=3).map(tuple), numbers)
hearings = st.builds(Hearing, texts, st.lists(readings, max_size=2).map(tuple), st.none() | numbers)
verdicts = st.builds(
    Verdict,
    st.sampled_from(Decision),
    texts,
    st.lists(texts, max_size=2).map(tuple),
    st.lists(hearings, max_size=2).map(tuple),
)
meanings = st.builds(Meaning, st.lists(facts, max_size=3).map(tuple), texts, st.none() | texts)
remarks = st.builds(
    Remark,
    st.uuids().map(str),
    st.just("s1"),
    moments,
    texts,
    meanings,
    st.none() | verdicts,
    texts,
    numbers,
    numbers,
    texts,
)

tags = st.builds(Tag, texts, texts, days, days)
animals = st.builds(
    Animal,
    id=st.uuids().map(str),
    tag=texts,
    number=texts,
    name=texts,
    sex=st.sampled_from(Sex),
    born=days,
    dam=texts,
    sire=texts,
    group=texts,
    status=texts,
    notes=texts,
    species=st.sampled_from(Species),
    breed=texts,
    electronic=texts,
    markings=texts,
    nicknames=st.lists(texts, max_size=2).map(tuple),
    due=days,
    in_milk=st.booleans(),
    past_tags=st.lists(tags, max_size=2).map(tuple),
)
