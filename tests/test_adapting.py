"""PocketSphinx's models are fitted to a voice that they were not trained on: by the rule, and by what is heard then."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from childs_remarks import childs_remarks
from listener_stage import DEMO, SMALL, graph

from assistant import spoken, wiring
from assistant.errors import BadSetting
from assistant.hearing.acoustic_model import CEPSTRA, STREAMS, AcousticModel, features
from assistant.hearing.adapting import NOBODYS, Voice, fitted, learnt_voice
from assistant.hearing.pocketsphinx_listener import PocketSphinxListener, model_folder
from assistant.hearing.pronunciation import Lexicon
from assistant.values import Sound

CHANCE = np.random.default_rng(7)


@pytest.fixture(scope="module")
def model() -> AcousticModel:
    return AcousticModel.load(model_folder())


def test_the_model_has_every_sound_of_the_dictionary_in_its_wheel(model) -> None:
    lines = (model_folder().parent / "cmudict-en-us.dict").read_text(encoding="utf-8").splitlines()
    assert {phone for line in lines for phone in line.split()[1:]} < set(model.phones)
    assert model.means.shape == model.variances.shape == (len(model.phones), STREAMS, 128, CEPSTRA)
    assert model.variances.min() > 0


def test_differences_are_those_of_the_frames_around() -> None:
    cepstra = CHANCE.standard_normal((12, CEPSTRA))
    seen = features(cepstra)
    assert seen[:, 0] == pytest.approx(cepstra - cepstra.mean(axis=0))
    assert seen[5, 1] == pytest.approx(cepstra[7] - cepstra[3])
    assert seen[5, 2] == pytest.approx(cepstra[8] - cepstra[4] - cepstra[6] + cepstra[2])
    assert seen[0, 1] == pytest.approx(cepstra[2] - cepstra[0]), "before the beginning it goes on as it began"


def one_each(phones: int = 40) -> AcousticModel:
    """A model with one distribution for each sound, of variance 1."""
    shape = phones, STREAMS, 1, CEPSTRA
    return AcousticModel(tuple(map(str, range(phones))), CHANCE.standard_normal(shape), np.ones(shape))


def test_with_one_distribution_a_sound_it_is_least_squares() -> None:
    # External check: numpy's lstsq. With one distribution a sound and equal variances the likelihood has its maximum
    # where the squares of the distances are least.
    model = one_each()
    heard = {phone: CHANCE.standard_normal((5 + phone % 3, STREAMS, CEPSTRA)) for phone in range(len(model.phones))}
    voice = fitted(model, heard)
    for stream in range(STREAMS):
        means = np.concatenate([np.repeat(model.means[one, stream], len(seen), axis=0) for one, seen in heard.items()])
        seen = np.concatenate([frames[:, stream] for frames in heard.values()])
        expected = np.linalg.lstsq(np.hstack([means, np.ones((len(means), 1))]), seen, rcond=None)[0]
        assert voice.matrices[stream] == pytest.approx(expected[:-1].T)
        assert voice.offsets[stream] == pytest.approx(expected[-1])


def test_the_change_that_frames_were_made_with_is_found(model) -> None:
    true = Voice(
        NOBODYS.matrices + 0.05 * CHANCE.standard_normal((STREAMS, CEPSTRA, CEPSTRA)),
        CHANCE.standard_normal((STREAMS, CEPSTRA)),
    )
    changed = true.of(model)
    heard = {}
    for phone in range(2, 42):
        which = CHANCE.integers(128, size=400)
        noise = CHANCE.standard_normal((400, STREAMS, CEPSTRA)) * np.sqrt(model.variances[phone][:, which]).swapaxes(
            0, 1
        )
        heard[phone] = changed[phone][:, which].swapaxes(0, 1) + noise

    def away(voice: Voice) -> float:
        return float(np.sqrt(((voice.of(model) - changed) ** 2 / model.variances).mean()))

    assert away(fitted(model, heard)) < 0.4 * away(NOBODYS)


# ------------------------------------------------------------------------------------------------------ with real sound


@pytest.fixture(scope="module")
def farm() -> wiring.Farm:
    return wiring.Farm(wiring.Register(wiring.read_register(DEMO / "register.csv").animals))


def test_a_child_is_heard_better_once_its_voice_is_known(farm, tmp_path) -> None:
    said = childs_remarks(50)
    voice = learnt_voice(said[::2], farm.lexicon)
    assert voice is not None
    file = tmp_path / "voice.mllr"
    file.write_text(voice.text, encoding="ascii")
    sentences, key = farm.interpreter.grammar.graph("remark"), farm.interpreter.key

    def right(known: Path | None) -> int:
        listener = PocketSphinxListener(sentences, farm.lexicon, voice=known)
        heard = [(listener.hear(sound).readings, words) for sound, words in said[1::2]]
        return sum(bool(readings) and key(readings[0].text) == key(words) for readings, words in heard)

    assert right(file) >= right(None) + 5


def test_nobodys_voice_changes_nothing(tmp_path) -> None:
    file = tmp_path / "voice.mllr"
    file.write_text(NOBODYS.text, encoding="ascii")
    sound, lexicon = childs_remarks(1)[0][0], Lexicon()
    plain, same = (PocketSphinxListener(graph(), lexicon, voice=one).hear(sound) for one in (None, file))
    assert [one.text for one in plain.readings] == [one.text for one in same.readings]
    assert plain.readings[0].score == pytest.approx(same.readings[0].score, rel=0.01)


def test_too_little_speech_and_words_that_do_not_fit_teach_nothing(farm) -> None:
    said = childs_remarks(3)
    assert learnt_voice(said, farm.lexicon) is None
    assert learnt_voice([(Sound(np.zeros(16000, np.float32), 16000), "who is left")] * 3, farm.lexicon) is None
    assert learnt_voice([], farm.lexicon) is None


DAMAGED = ["", "garbage", NOBODYS.text[:-200], NOBODYS.text.replace("1.0", "nan", 1), "2" + NOBODYS.text]


@pytest.mark.parametrize("text", DAMAGED)
def test_a_damaged_file_is_told_with_what_to_do(tmp_path, text) -> None:
    file = tmp_path / spoken.VOICE
    file.write_text(text, encoding="ascii")
    with pytest.raises(BadSetting, match="Remove it, and learn again"):
        spoken.ears(SMALL.graph("remark"), Lexicon(), ["pocketsphinx"], tmp_path)
