"""An aside before or after a remark is cut off it: where that is in doubt, and only what is surely one."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from assistant.listening.apart import Pause, asides_apart
from assistant.values import Decision, Hearing, Sound, Verdict

RATE_HZ = 100
PIECE_S, PAUSE_S = 1.0, 0.4

REMARK = Verdict(Decision.ACCEPTED, "they agree", ("left hind crack",))
TAKEN = replace(REMARK, is_close=True)
"""What is taken of a sound of which something was left out is said back."""
CLOSE = Verdict(Decision.ACCEPTED, "they agree", ("left hind crack cut out",), is_close=True)
ASKED = Verdict(Decision.ASK, "they differ", ("left hind", "left fore"))
ASIDE = Verdict(Decision.ASIDE, "it is not for the record", ("good girl",))
DOUBTED = replace(ASIDE, is_close=True)
BACK = Verdict(Decision.ASIDE, "it is not for the record", ("back",))
ER = Verdict(Decision.ASIDE, "it is not for the record", ("er",))
FAR = Verdict(Decision.ASIDE, "it sounds like other talk", ())
UNHEARD = Verdict(Decision.UNHEARD, "it sounds like other talk", ())


@dataclass
class Scripted:
    """Pieces of speech as numbers, with pauses between; what is heard in each run of them is given."""

    heard: dict[str, Verdict]
    sounds: list[Sound] = field(default_factory=list)

    def judge(self, sound: Sound) -> Verdict:
        self.sounds.append(sound)
        return self.heard.get(pieces(sound), UNHEARD)


def said(n: int) -> Sound:
    """As many pieces, the first of samples 1, the second of samples 2, and so on."""
    gap = np.zeros(round(PAUSE_S * RATE_HZ), np.float32)
    all_of = [piece for i in range(1, n + 1) for piece in (np.full(round(PIECE_S * RATE_HZ), i, np.float32), gap)]
    return Sound(np.concatenate(all_of[:-1]), RATE_HZ, 5.0)


def pieces(sound: Sound) -> str:
    return "".join(str(int(one)) for one in dict.fromkeys(sound.samples.tolist()) if one)


def pauses(sound: Sound) -> list[Pause]:
    silent = np.flatnonzero(np.diff(np.concatenate([[1], (sound.samples != 0).astype(int), [1]])))
    ends = [(start / RATE_HZ, end / RATE_HZ) for start, end in zip(silent[::2], silent[1::2], strict=True)]
    return [one for one in ends if one[0] > 0 and one[1] < sound.length_s]


OTHER = Verdict(Decision.ASK, "they differ", ("left fore", "left hind"))
CASES = [
    # how many pieces, what is heard in which, what comes of it
    (1, {"1": REMARK}, REMARK),
    (1, {"1": ASKED}, ASKED),
    (2, {"12": UNHEARD, "1": ASIDE, "2": REMARK}, TAKEN),
    (2, {"12": ASKED, "1": REMARK, "2": ASIDE}, TAKEN),
    (2, {"12": CLOSE, "1": REMARK, "2": ASIDE}, TAKEN),
    # a clear remark is left as it is
    (2, {"12": REMARK, "1": ASIDE, "2": ASKED}, REMARK),
    # an aside that goes on as a remark; one that goes on as nothing clear
    (2, {"12": ASIDE, "1": ASIDE, "2": REMARK}, TAKEN),
    (2, {"12": ASIDE, "1": ASIDE, "2": ASKED}, ASIDE),
    # what is asked anyway is asked of the rest, if two heard the aside or the whole was not understood
    (2, {"12": ASKED, "1": ASIDE, "2": OTHER}, OTHER),
    (2, {"12": CLOSE, "1": ASIDE, "2": OTHER}, OTHER),
    (2, {"12": ASKED, "1": DOUBTED, "2": OTHER}, ASKED),
    (2, {"12": UNHEARD, "1": DOUBTED, "2": OTHER}, OTHER),
    (2, {"12": ASKED, "1": DOUBTED, "2": REMARK}, TAKEN),
    # neither piece is an aside, or only sounds like nothing known, or is one word, which may belong to the remark
    (2, {"12": ASKED, "1": REMARK, "2": REMARK}, ASKED),
    (2, {"12": ASKED, "1": FAR, "2": REMARK}, ASKED),
    (2, {"12": ASKED, "1": REMARK, "2": BACK}, ASKED),
    (2, {"12": ASKED, "1": ER, "2": REMARK}, TAKEN),
    # two asides before it, one at each end, one inside
    (3, {"123": UNHEARD, "1": ASIDE, "23": UNHEARD, "2": ASIDE, "3": REMARK}, TAKEN),
    (3, {"123": UNHEARD, "1": ASIDE, "23": ASKED, "3": ASIDE, "2": REMARK}, TAKEN),
    (3, {"123": ASKED, "2": ASIDE, "13": REMARK}, TAKEN),
    (3, {"123": ASKED, "2": BACK, "13": REMARK}, ASKED),
    (3, {"123": ASKED, "2": ER, "13": REMARK}, TAKEN),
    # what is left has no meaning: the whole is as it was heard
    (2, {"12": ASKED, "1": ASIDE, "2": UNHEARD}, ASKED),
    (3, {"123": ASKED, "2": ASIDE, "13": UNHEARD}, ASKED),
]


@pytest.mark.parametrize(("n", "heard", "expected"), CASES)
def test_asides_are_cut_off(n: int, heard: dict[str, Verdict], expected: Verdict) -> None:
    script = Scripted(heard)
    assert asides_apart(script.judge, pauses)(said(n)) == expected


def test_a_long_piece_is_not_tried_as_an_aside() -> None:
    long = Sound(np.concatenate([np.full(300, 1.0), np.zeros(40), np.full(300, 2.0)]).astype(np.float32), RATE_HZ)
    script = Scripted({"12": ASKED})
    assert asides_apart(script.judge, pauses)(long) == ASKED
    assert len(script.sounds) == 1


@pytest.mark.parametrize(("n", "is_cut"), [(7, True), (8, False)])
def test_talk_of_many_pieces_is_not_heard_piece_by_piece(n: int, is_cut: bool) -> None:
    script = Scripted({})
    assert asides_apart(script.judge, pauses)(said(n)) == UNHEARD
    assert (len(script.sounds) > 1) == is_cut


def test_pieces_keep_their_time_and_a_little_silence() -> None:
    script = Scripted({"12": ASKED, "1": ASIDE, "2": REMARK})
    asides_apart(script.judge, pauses)(said(2))
    _, first, second = script.sounds
    assert (first.start_s, first.length_s) == (5.0, pytest.approx(PIECE_S + 0.1))
    assert (second.start_s, second.length_s) == (
        pytest.approx(5.0 + PIECE_S + PAUSE_S - 0.1),
        pytest.approx(PIECE_S + 0.1),
    )


@pytest.mark.parametrize(("strain", "is_cut"), [(3.0, False), (30.0, True), (None, True)])
def test_a_sound_that_a_remark_fits_all_through_is_not_heard_again(strain: float | None, is_cut: bool) -> None:
    """The keeper waits for the answer meanwhile."""
    asked = replace(ASKED, hearings=(Hearing("pocketsphinx", ()), Hearing("phonemes", (), strain)))
    script = Scripted({"12": asked, "1": ASIDE, "2": REMARK})
    assert asides_apart(script.judge, pauses)(said(2)) == (TAKEN if is_cut else asked)
    assert (len(script.sounds) > 1) == is_cut
