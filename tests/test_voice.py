"""Tones that are told apart by rhythm alone, and a mouth that says replies in order, as loud and quick as is chosen."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.errors import LibraryMissing
from assistant.session.replies import Reply, ReplyKind
from assistant.sound.endpoint import RATE_HZ, silero
from assistant.voice.mouth import TONE_PEAK, VOICE_PEAK, Manner, Mouth, Say
from assistant.voice.packed import Packed
from assistant.voice.speaking import HibariVoice
from assistant.voice.tones import TONES, tone

# ------------------------------------------------------------------------------------------------------- tones


def rhythm(kind: ReplyKind) -> list[tuple[str, float]]:
    """Runs of sound and silence in the samples themselves, with their lengths in seconds; not what the table says."""
    samples = tone(kind, 24000)
    loud = np.convolve(np.abs(samples) > 0.05, np.ones(240), "same") > 0
    edges = np.flatnonzero(np.diff(loud.astype(int), prepend=0, append=0))
    return [("note", (end - start) / 24000) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def test_every_kind_of_reply_has_a_tone() -> None:
    assert set(TONES) == set(ReplyKind)


@pytest.mark.parametrize(("one", "other"), combinations(ReplyKind, 2))
def test_tones_differ_in_rhythm_and_in_pitch(one: ReplyKind, other: ReplyKind) -> None:
    """Another number of notes, or a note twice as long as its counterpart; and not the same pitches."""
    first, second = ([length for _, length in rhythm(kind)] for kind in (one, other))
    assert len(first) != len(second) or any(max(a, b) > 1.9 * min(a, b) for a, b in zip(first, second, strict=True)), (
        "told apart with the pitch taken away"
    )
    pitches = [{note.pitch_hz for note in TONES[kind]} for kind in (one, other)]
    assert not pitches[0] & pitches[1]


@pytest.mark.parametrize("kind", ReplyKind)
def test_tones_are_short_clean_and_where_old_ears_hear(kind: ReplyKind) -> None:
    samples = tone(kind, 24000)
    assert len(samples) / 24000 < 0.5
    assert 0.6 < np.abs(samples).max() <= 1.0
    assert abs(samples[0]) < 0.01, "no click at the beginning"
    assert np.abs(np.diff(samples)).max() < 0.5
    assert all(440 <= note.pitch_hz <= 1200 for note in TONES[kind])


@pytest.mark.parametrize("loudness", [1.0, 0.3, 0.05])
@pytest.mark.parametrize("kind", ReplyKind)
def test_the_voice_detector_does_not_take_a_tone_for_speech(kind: ReplyKind, loudness: float) -> None:
    """So listening need not stop for a tone; measured with the real detector, from near and from far."""
    detector = silero()
    sound = loudness * tone(kind, RATE_HZ)
    samples = np.concatenate([np.zeros(RATE_HZ // 2), sound, np.zeros(RATE_HZ)]).astype(np.float32)
    frames = samples[: len(samples) // 512 * 512].reshape(-1, 512)
    assert max(detector(frame) for frame in frames) < 0.6


# ------------------------------------------------------------------------------------------------------- mouth


class Ears:
    """A loudspeaker that remembers; it sounds in no time, or for as long as is set."""

    rate_hz = 24000
    note = ""

    def __init__(self) -> None:
        self.played: list[NDArray[np.float32]] = []
        self.left_s = 0.0
        self.n_stopped = 0

    def play(self, samples: NDArray[np.float32]) -> None:
        self.played.append(samples)

    def stop(self) -> None:
        self.n_stopped += 1
        self.left_s = 0.0

    def close(self) -> None:
        pass


class Parrot:
    """A voice whose sentences are as many samples as letters, each of the same loudness."""

    rate_hz = 24000

    def __init__(self) -> None:
        self.may_go_on = threading.Event()
        self.may_go_on.set()
        self.rates: list[float] = []

    def speak(self, text: str, rate: float = 1.0) -> Iterator[NDArray[np.float32]]:
        self.rates.append(rate)
        for sentence in text.split(". "):
            self.may_go_on.wait(5)
            yield np.full(len(sentence), 0.25, np.float32)


ASKED = Reply(ReplyKind.ASKING, "Left hind or left fore?")
TICK = Reply(ReplyKind.HEARD)
LONG = Reply(ReplyKind.ANIMAL_CHANGED, "Tansy. Last trimmed twelve weeks ago")


def said(manner: Manner, *replies: Reply) -> tuple[list[NDArray[np.float32]], Parrot]:
    ears, parrot = Ears(), Parrot()
    mouth = Mouth(ears, lambda: parrot, manner)
    mouth.say(replies)
    mouth.close(5)
    return ears.played, parrot


def test_each_reply_has_its_tone_and_then_its_words() -> None:
    played, _ = said(Manner(), TICK, ASKED, LONG)
    tones = [len(tone(kind, 24000)) for kind in (ReplyKind.HEARD, ReplyKind.ASKING, ReplyKind.ANIMAL_CHANGED)]
    assert [len(piece) for piece in played] == [tones[0], tones[1], len(ASKED.text), tones[2], 5, 29]


def test_volume_and_rate_are_what_is_chosen() -> None:
    played, parrot = said(Manner(volume=0.5, rate=1.5), ASKED)
    assert np.abs(played[0]).max() == pytest.approx(0.5 * TONE_PEAK, rel=0.2)
    assert np.abs(played[1]).max() == pytest.approx(0.5 * VOICE_PEAK)
    assert parrot.rates == [1.5]


def test_tones_alone_are_tones_alone() -> None:
    played, parrot = said(Manner(Say.TONES), ASKED, TICK)
    assert len(played) == 2
    assert parrot.rates == []


def test_quiet_is_quiet() -> None:
    assert said(Manner(Say.NOTHING), ASKED, TICK)[0] == []


def test_without_a_voice_the_tones_stay_and_it_is_told() -> None:
    def none() -> Parrot:
        raise LibraryMissing("There is no voice: replies are tones.")

    ears = Ears()
    mouth = Mouth(ears, none, Manner())
    mouth.say([ASKED])
    mouth.close(5)
    assert len(ears.played) == 1
    assert "no voice" in mouth.note


@pytest.mark.parametrize("error", [OSError("not enough memory"), RuntimeError("no such operator")])
def test_a_voice_that_cannot_be_started_leaves_the_tones_and_it_is_told(error: Exception) -> None:
    def broken() -> Parrot:
        raise error

    ears = Ears()
    mouth = Mouth(ears, broken, Manner())
    mouth.say([ASKED])
    mouth.close(5)
    assert len(ears.played) == 1
    assert str(error) in mouth.note


def test_words_that_the_voice_stumbles_over_do_not_silence_what_comes_after() -> None:
    class Stumbling(Parrot):
        def speak(self, text: str, rate: float = 1.0) -> Iterator[NDArray[np.float32]]:
            if "9" in text:
                raise IndexError("list index out of range")
            return super().speak(text, rate)

    ears = Ears()
    mouth = Mouth(ears, Stumbling, Manner())
    mouth.say([Reply(ReplyKind.TOLD, "9" * 40), ASKED])
    assert eventually(lambda: len(ears.played) == 3)
    assert not mouth.is_speaking
    mouth.close(5)
    assert len(ears.played[2]) == len(ASKED.text)


def test_closing_takes_no_longer_than_is_said() -> None:
    ears, parrot = Ears(), Parrot()
    parrot.may_go_on.clear()
    ears.left_s = 60.0
    mouth = Mouth(ears, lambda: parrot, Manner())
    mouth.say([ASKED])
    began = time.monotonic()
    mouth.close(1.0)
    assert 1.0 <= time.monotonic() - began < 1.8
    parrot.may_go_on.set()


def eventually(happens) -> bool:
    ends = time.monotonic() + 5
    while not happens() and time.monotonic() < ends:
        time.sleep(0.005)
    return happens()


def test_it_is_speaking_until_the_loudspeaker_is_silent() -> None:
    """From before the first word, so that nothing of it is listened to."""
    ears, parrot = Ears(), Parrot()
    now = [100.0]
    mouth = Mouth(ears, lambda: parrot, Manner(), lambda: now[0])
    assert not mouth.is_speaking
    parrot.may_go_on.clear()
    mouth.say([ASKED])
    assert eventually(lambda: mouth.is_speaking)
    assert len(ears.played) == 1, "only the tone yet"
    ears.left_s = 3.0
    parrot.may_go_on.set()
    assert eventually(lambda: len(ears.played) == 2)
    assert mouth.is_speaking
    now[0] += 3.1
    assert eventually(lambda: not mouth.is_speaking)
    ears.left_s = 0.0
    mouth.close(5)


def test_a_voice_that_hangs_does_not_make_it_deaf_for_ever() -> None:
    now = [100.0]
    parrot = Parrot()
    parrot.may_go_on.clear()
    mouth = Mouth(Ears(), lambda: parrot, Manner(), lambda: now[0])
    mouth.say([ASKED])
    assert eventually(lambda: mouth.is_speaking)
    now[0] += 25
    assert not mouth.is_speaking
    parrot.may_go_on.set()
    mouth.close(5)


def test_hush_ends_the_sentence_and_what_waits() -> None:
    ears, parrot = Ears(), Parrot()
    mouth = Mouth(ears, lambda: parrot, Manner())
    parrot.may_go_on.clear()
    mouth.say([LONG, ASKED])
    assert eventually(lambda: mouth.is_speaking)
    mouth.hush()
    parrot.may_go_on.set()
    mouth.say([TICK])
    mouth.close(5)
    assert ears.n_stopped == 1
    heard = {len(piece) for piece in ears.played}
    assert len(ASKED.text) not in heard
    assert 5 not in heard
    assert len(tone(ReplyKind.HEARD, 24000)) in heard, "what comes after is said"


# ------------------------------------------------------------------------------------------------------- voice


def test_the_real_voice_speaks_at_once_and_alike() -> None:
    """First sound within 200 ms of the wish once it is started: the best of several, the machine may be busy."""
    pytest.importorskip("hibari")
    voice = HibariVoice()
    waits = []
    for text in ("Four one seven or four one one?", "Tansy. Last trimmed twelve weeks ago.", "Left fore?") * 2:
        begun = time.perf_counter()
        first = next(iter(voice.speak(text)))
        waits.append(time.perf_counter() - begun)
    assert min(waits) < 0.2
    assert 0.02 < np.abs(first).max() <= 1.0
    slow, usual = (sum(map(len, voice.speak("Left hind.", rate))) for rate in (0.7, 1.0))
    assert slow > 1.2 * usual
    assert np.array_equal(next(iter(voice.speak("Left fore?"))), first), "the same words sound the same"


VALUES = {
    "tansy": "tˈænzi",
    "read": {"DEFAULT": "ɹˈid", "VBD": "ɹˈɛd"},
    "ö": [1.5, -2],
    "": None,
    "Tansy": 0.25,
    "tan": "",
}


@pytest.mark.parametrize("values", [VALUES, {}, {"one": 1}])
def test_a_packed_dictionary_gives_what_was_put_in(values: dict) -> None:
    packed = Packed(values)
    assert len(packed) == len(values)
    assert {key: packed.get(key, "none") for key in values} == values
    assert all(key in packed for key in values)


@pytest.mark.parametrize("key", ["tans", "tansyx", "z", "a", "READ", "\U0001f410"])
def test_a_packed_dictionary_has_nothing_else(key: str) -> None:
    packed = Packed(VALUES)
    assert key not in packed
    assert packed.get(key) is None
    assert packed.get(key, 7) == 7


def test_the_real_voice_says_words_as_its_library_does() -> None:
    """Its word lists and weights are packed."""
    hibari = pytest.importorskip("hibari")
    ours, plain = HibariVoice()._engine, hibari.Hibari()
    for text in (
        "Tansy. Last trimmed twelve weeks ago. Left hind had a hollow wall.",
        "Left hind, between the claws and right hind, or neither?",
        "Pared back or trimmed? Re-check on the ninth, two and a half.",
        "Burdock and Betony read the list; Bryony lives near the wound.",
    ):
        assert ours.phonemize(text) == plain.phonemize(text)


def test_the_real_voice_takes_little_memory_and_leaves_its_libraries_as_they_were() -> None:
    """Word lists and weights are packed as they are read, and a package is not loaded that it does without."""
    pytest.importorskip("hibari")
    probe = """
import sys, onnxruntime
from assistant.voice.packed import Packed
from assistant.voice.speaking import HibariVoice
engine = HibariVoice()._engine
assert "scipy" not in sys.modules
from hibari import g2p
assert (onnxruntime.SessionOptions.__name__, g2p._load_json.__name__) == ("SessionOptions", "_load_json")
held = engine.g2p.lexicon.golds.d, engine.g2p.lexicon.silvers.d, engine.g2p.tagger.weights, engine.g2p.tagger.tagdict
assert all(isinstance(one, Packed) for one in held), held
assert not engine.sess.get_session_options().enable_cpu_mem_arena
"""
    subprocess.run([sys.executable, "-c", probe], check=True)


@pytest.mark.parametrize("rate", [0.7, 1.0, 1.6])
def test_the_real_voice_begins_at_once_and_is_not_silent_for_long_after_it(rate: float) -> None:
    """Silence at its beginning is waited for; at its end the keeper would speak to one who does not listen."""
    pytest.importorskip("hibari")
    sentences = list(HibariVoice().speak("Tansy done. Eleven left.", rate))
    loud = [np.flatnonzero(np.abs(one) > 0.02 * np.abs(one).max()) / HibariVoice.rate_hz for one in sentences]
    assert len(sentences) == 2
    assert loud[0][0] < 0.05
    for one, heard in zip(sentences, loud, strict=True):
        assert len(one) / HibariVoice.rate_hz - heard[-1] < 0.15
    assert loud[1][0] > 0.1, "but there is a pause between sentences"
