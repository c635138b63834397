"""The phoneme listener: what it hears of the demonstration recording, and the network that it searches."""

from functools import cache

import kaldi_decoder
import numpy as np
import pytest
from listener_stage import REMARKS, check_nothing_is_left, check_readings, check_times, check_weighing, graph, said

from assistant.errors import BadAudio, UnknownWord
from assistant.hearing.phoneme_listener import SYMBOLS, PhonemeListener
from assistant.hearing.phoneme_network import BETWEEN, INSIDE, LABEL, Costs, PhonemeNetwork, lattice_arcs
from assistant.hearing.pronunciation import PHONES, Lexicon
from assistant.hearing.sentences import only
from assistant.values import Sound


@cache
def listener():
    return PhonemeListener(graph(), Lexicon())


@pytest.mark.parametrize("words", REMARKS[1:])
def test_remarks_are_heard(words):
    assert listener().hear(said(words)).readings[0].text == words


def test_what_sounds_alike_is_among_the_readings():
    """The network hears "one" as o, n and e, which could begin "one eight" as well."""
    assert REMARKS[0] in [reading.text for reading in listener().hear(said(REMARKS[0])).readings[:2]]


def test_readings_are_sentences_best_first_each_once():
    check_readings(listener().hear(said(REMARKS[1])))


def test_word_times_are_in_order_and_inside_the_sound():
    hearing = listener().hear(said(REMARKS[1]))
    check_times(hearing, said(REMARKS[1]))
    assert all(word.end_s > word.start_s for word in hearing.readings[0].words)


def test_strain_tells_a_sentence_of_the_grammar_from_another():
    """The same sound, once with its own grammar and once with one that lacks the sentence."""
    ears = PhonemeListener(graph("tag"), Lexicon())
    strange = ears.hear(said(REMARKS[1])).strain
    assert strange is None or strange > 2 * listener().hear(said(REMARKS[1])).strain


def test_a_sound_leaves_nothing_behind_for_the_next():
    check_nothing_is_left(listener())


def test_silence_and_nothing_give_no_error():
    for samples in (np.zeros(16_000, np.float32), np.zeros(0, np.float32)):
        assert listener().hear(Sound(samples, 16_000)).listener == "phonemes"


def test_unknown_word_is_named_and_leaves_the_listener_as_it_was():
    ears = PhonemeListener(graph(), Lexicon())
    with pytest.raises(UnknownWord, match="xqz3"):
        ears.expect(graph("made_up"))
    assert ears.hear(said(REMARKS[1])).readings[0].text == REMARKS[1]


def test_another_rate_is_refused():
    with pytest.raises(BadAudio, match="8000"):
        listener().hear(Sound(np.zeros(8000, np.float32), 8000))


def test_every_sound_of_the_dictionary_has_a_symbol():
    assert SYMBOLS.keys() == PHONES


IMPOSSIBLE = 1000.0


def cost_of(labels):
    """The cheapest way to read labels, one a frame, as "tag", said in one of two ways; None if there is none."""
    said_as = {"tag": [("T", "AE", "G"), ("T", "EY", "G")]}
    network = PhonemeNetwork(only(["tag"]), said_as.__getitem__, Costs(dropped=4.0, variant=0.5))
    frames = np.full((len(labels), len(LABEL) + 2), -IMPOSSIBLE, np.float32)
    for frame, label in enumerate(labels):
        frames[frame, label - 1] = 0.0
    decoder = kaldi_decoder.FasterDecoder(network.fst, kaldi_decoder.FasterDecoderOptions(beam=100))
    decoder.decode(kaldi_decoder.DecodableCtc(frames))
    if not decoder.reached_final():
        return None
    arcs, _ = lattice_arcs(decoder.get_best_path()[1])
    cost = sum(arc.cost for arc in arcs)
    return cost if cost < IMPOSSIBLE else None


T, AE, EY, G = (LABEL[phone] for phone in ("T", "AE", "EY", "G"))


@pytest.mark.parametrize(
    ("labels", "cost"),
    [
        ([T, AE, G], 0.0),
        ([BETWEEN, BETWEEN, T, T, INSIDE, AE, INSIDE, INSIDE, G, BETWEEN], 0.0),
        ([T, EY, G], 0.5),
        ([AE, G], 4.0),
        ([T, G], 4.0),
        ([T, AE], 4.0),
        ([T, AE, BETWEEN, G], None),
        ([G], None),
    ],
)
def test_what_the_network_takes_and_what_it_costs(labels, cost):
    assert cost_of(labels) == (cost if cost is None else pytest.approx(cost))


def test_given_sentences_are_weighed_and_its_best_reading_stays_first():
    check_weighing(listener())
