"""Several remarks heard at once: the order, the errors, and the death of a worker."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import partial

import numpy as np
import pytest

from assistant.errors import ListenerMissing
from assistant.listening_pool import ListeningPool, heard
from assistant.values import Decision, Sound, Verdict


@dataclass
class Counting:
    """Tells how long a remark is; one without samples kills whoever hears it."""

    unit: str
    names: tuple[str, ...] = ("counting",)
    notices: tuple[str, ...] = ("It counts only.",)

    def judge(self, sound: Sound) -> Verdict:
        if not len(sound.samples):
            os._exit(3)
        return Verdict(Decision.ACCEPTED, "", (f"{len(sound.samples)} {self.unit}",), ())


def refuse() -> Counting:
    raise ListenerMissing("There is no listener 'bat'.")


def sound(length: int) -> Sound:
    return Sound(np.zeros(length, np.float32), 16_000)


@pytest.mark.parametrize("workers", [1, 2])
def test_verdicts_belong_to_their_remarks(workers: int) -> None:
    with ListeningPool(partial(Counting, "samples"), workers) as pool:
        assert (pool.names, pool.notices) == (("counting",), ("It counts only.",))
        begun = [pool.begin(sound(n)) for n in range(1, 9)]
        assert [heard(one).choices for one in begun] == [(f"{n} samples",) for n in range(1, 9)]
        assert pool.judge(sound(3)).choices == ("3 samples",)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_listener_that_cannot_start_is_said_at_once(workers: int) -> None:
    with pytest.raises(ListenerMissing, match="no listener 'bat'"):
        ListeningPool(refuse, workers)


def test_a_worker_that_dies_is_said_in_a_sentence() -> None:
    with ListeningPool(partial(Counting, "samples"), 2) as pool, pytest.raises(ListenerMissing, match="--workers 1"):
        pool.judge(sound(0))
