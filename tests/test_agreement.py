"""Verdicts from hearings: who must share a meaning before it is accepted, and what is asked otherwise."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.hearing.agreement import NOTHING, Limits, Trust, verdict
from assistant.values import Decision, HeardWord, Hearing, Reading

ACCEPTED, ASK, ASIDE, UNHEARD = Decision.ACCEPTED, Decision.ASK, Decision.ASIDE, Decision.UNHEARD
LIMITS = Limits(
    least_lead=2.0,
    aside_lead=1.0,
    trust={
        "a": Trust(weight=1.0, floor=8.0, most_strain=10.0, far_strain=20.0),
        "b": Trust(weight=0.5, floor=8.0, most_strain=10.0, far_strain=20.0),
        "c": Trust(weight=0.5, floor=8.0, most_strain=10.0, far_strain=20.0),
    },
)


def meaning_of(words):
    """Fillers mean nothing of their own; "um" alone cannot be read; "steady" is said to the animal."""
    if words == "steady":
        return NOTHING
    kept = frozenset(words.split()) - {"um", "again"}
    return kept or None


def hearing(listener, *readings, strain=1.0):
    """Readings are (words, score)."""
    return Hearing(
        listener,
        tuple(
            Reading(tuple(HeardWord(w, i, i + 1) for i, w in enumerate(words.split())), score)
            for words, score in readings
        ),
        strain,
    )


CASES = [
    # the same meaning from two, in other words
    ([("a", ("sound", -1)), ("b", ("sound again", -9))], ACCEPTED, ("sound",)),
    # two meanings: the one whose listener counts more comes first
    ([("a", ("sound", -1)), ("b", ("scald", -1))], ASK, ("sound", "scald")),
    ([("b", ("scald", -1)), ("a", ("sound", -1))], ASK, ("sound", "scald")),
    # what one takes for nearly as good puts the best of another first, but is no agreement
    ([("a", ("sound", -1), ("scald", -2.1)), ("b", ("scald", -1), ("sound", -8))], ASK, ("scald", "sound")),
    # one that is nearly as good is: 0.5 × 0.4 against, and a lead of 4 less that
    ([("a", ("sound", -1)), ("b", ("scald", -1), ("sound", -1.4))], ACCEPTED, ("sound",)),
    # a second reading of all can be the first choice
    ([("a", ("sound", -1), ("scour", -1.1)), ("b", ("scald", -1), ("scour", -1.1))], ASK, ("scour", "sound", "scald")),
    # one hears nothing
    ([("a", ("sound", -1)), ("b",)], ASK, ("sound",)),
    ([("a",), ("b",)], UNHEARD, ()),
    # words without a meaning are no sentence
    ([("a", ("um", -1)), ("b", ("um", -1))], UNHEARD, ()),
    ([("a", ("um", -1), ("sound", -2)), ("b", ("sound", -1))], ACCEPTED, ("sound",)),
    # two against one that is not sure, and one that is: the lead is 9.5 and 4, less what the third says against it
    ([("a", ("sound", -1)), ("b", ("sound", -1)), ("c", ("scald", -1), ("sound", -4))], ACCEPTED, ("sound",)),
    ([("a", ("scald", -1), ("sound", -4)), ("b", ("sound", -1)), ("c", ("sound", -1))], ACCEPTED, ("sound",)),
    ([("a", ("scald", -1), ("sound", -8)), ("b", ("sound", -1)), ("c", ("sound", -1))], ASK, ("sound", "scald")),
    # three meanings
    ([("a", ("sound", -1)), ("b", ("scald", -1)), ("c", ("scour", -1))], ASK, ("sound", "scald", "scour")),
    # one of three hears nothing
    ([("a", ("sound", -1)), ("b", ("sound", -1)), ("c",)], ACCEPTED, ("sound",)),
    # one listener
    ([("a", ("sound", -1))], ASK, ("sound",)),
    ([], UNHEARD, ()),
]


@pytest.mark.parametrize(("heard", "decision", "choices"), CASES)
def test_verdicts(heard, decision, choices):
    result = verdict([hearing(*one) for one in heard], meaning_of, limits=LIMITS)
    assert (result.decision, result.choices) == (decision, choices)
    assert result.reason
    assert len(result.hearings) == len(heard)


def test_one_listener_is_enough_only_where_that_is_allowed():
    alone = [hearing("a", ("sound", -1))]
    assert verdict(alone, meaning_of, limits=Limits(accept_alone=True, trust=LIMITS.trust)).decision is ACCEPTED
    both = [*alone, hearing("b", ("scald", -1))]
    assert verdict(both, meaning_of, limits=Limits(accept_alone=True, trust=LIMITS.trust)).decision is ASK


ASIDES = [
    # what is said to the animal: let go, whoever has it, if it is the likeliest
    ([("a", ("steady", -1)), ("b", ("steady", -1))], ASIDE, ("steady",)),
    ([("a", ("steady", -1)), ("b", ("scald", -1))], ASIDE, ("steady",)),
    # likeliest by too little: what it may be instead is asked, and it is no choice itself
    ([("a", ("steady", -1), ("scald", -1.9)), ("b", ("scald", -1), ("steady", -1.2))], ASK, ("scald",)),
    # less likely than a remark
    ([("a", ("scald", -1), ("steady", -9)), ("b", ("scald", -1)), ("c", ("steady", -1))], ACCEPTED, ("scald",)),
    ([("a", ("scald", -1), ("steady", -1.5)), ("b", ("scald", -1)), ("c", ("steady", -1))], ASK, ("scald",)),
]


@pytest.mark.parametrize(("heard", "decision", "choices"), ASIDES)
def test_asides(heard, decision, choices):
    result = verdict([hearing(*one) for one in heard], meaning_of, limits=LIMITS)
    assert (result.decision, result.choices) == (decision, choices)
    n_asides = [readings[0][0] for _, *readings in heard].count("steady")
    assert result.decision is not ASIDE or result.is_close == (n_asides < 2)


OTHER_TALK = [
    # best of each, its strain; with more than 10 it is rather other talk
    (("sound", "sound"), (1, 1), ACCEPTED),
    (("sound", "sound"), (11, 1), ACCEPTED),
    (("sound", "scald"), (11, 11), UNHEARD),
    # two hardly ever hear the same in other talk
    (("sound", "sound"), (11, 11), ASK),
    (("sound", "sound", "scald"), (11, 11, 11), ASK),
    (("sound", "scald", "scour"), (11, 11, 11), UNHEARD),
    # they are not believed against a third that takes it for a remark
    (("sound", "sound", "scald"), (11, 11, 1), ASK),
    # three may too: "remember" is short
    (("sound", "sound", "sound"), (11, 11, 11), ASK),
    # far from a remark, they may hear what they like
    (("sound", "sound", "sound"), (11, 21, 11), ASIDE),
    (("sound", "scald"), (21, 11), ASIDE),
    # an aside is other talk, too, however well it fits, and two that hear one are no two that hear a remark
    (("steady", "sound"), (1, 11), UNHEARD),
    (("steady", "steady", "sound"), (1, 11, 11), ASIDE),
    (("steady", "sound", "sound"), (1, 11, 11), ASK),
    (("sound", "sound", "scald"), (21, 21, 1), ASK),
    # one that is far from it seconds nothing, two that are not do
    (("sound", "sound"), (21, 1), ASK),
    (("sound", "sound", "sound"), (21, 1, 1), ACCEPTED),
    # one that cannot tell does not speak against those that can
    (("sound", "scald"), (11, None), UNHEARD),
    (("sound", "sound"), (11, None), ASK),
    (("sound", "scald", "scour"), (11, None, 11), UNHEARD),
    (("sound",), (11,), UNHEARD),
    (("sound",), (None,), ASK),
]


@pytest.mark.parametrize(("best", "strains", "decision"), OTHER_TALK)
def test_other_talk_is_not_accepted(best, strains, decision):
    heard = [
        hearing(name, (words, -1), strain=strain) for name, words, strain in zip("abc", best, strains, strict=False)
    ]
    assert verdict(heard, meaning_of, limits=LIMITS).decision is decision


def test_one_listener_that_hears_other_talk_is_not_believed_alone():
    alone = [hearing("a", ("sound", -1), strain=11)]
    limits = Limits(accept_alone=True, trust=LIMITS.trust)
    assert verdict(alone, meaning_of, limits=limits).decision is UNHEARD


NEAR_A = ("a", ("sound", -1), ("scald", -2.5))
NEAR_B = ("b", ("scald", -1), ("sound", -2))
RIVALS = [
    # 0.5 and 1.5 below what would be best for both
    ([NEAR_A, NEAR_B], (1, 1), ("sound", "scald")),
    # a reading that is far less likely stands against nothing
    ([(*NEAR_A, ("scour", -7)), NEAR_B], (1, 1), ("sound", "scald")),
    ([NEAR_A, (*NEAR_B, ("scour", -1.2))], (1, 1), ("sound", "scald")),
    # nor does the best of one that counts less than the lead of the others
    ([NEAR_A, NEAR_B, ("c", ("scour", -1), ("sound", -2), ("scald", -2))], (1, 1, 1), ("sound", "scald")),
    # one takes it for other talk, one cannot tell
    ([NEAR_A, NEAR_B], (1, 11), ("sound", "scald")),
    ([NEAR_A, NEAR_B], (1, None), ("sound", "scald")),
    # all that hear it take it for other talk
    ([NEAR_A, NEAR_B], (11, 11), ()),
    ([NEAR_A, NEAR_B, ("c", ("scour", -1), ("sound", -2), ("scald", -2))], (11, 11, 1), ()),
    ([NEAR_A, NEAR_B], (1, 21), ()),
    # only one listener has any of what is likely as its best
    ([("a", ("sound", -1), ("scour", -1.5)), ("b", ("scald", -1))], (1, 1), ()),
    ([("a", ("sound", -1)), ("b", ("um", -1))], (1, 1), ()),
    # nothing is open
    ([("a", ("sound", -1)), ("b", ("sound", -1))], (1, 1), ()),
]


@pytest.mark.parametrize(("heard", "strains", "rivals"), RIVALS)
def test_what_stands_against_each_other(heard, strains, rivals):
    hearings = [hearing(*one, strain=strain) for one, strain in zip(heard, strains, strict=True)]
    assert verdict(hearings, meaning_of, limits=LIMITS).rivals == rivals


def test_a_rival_need_not_be_offered():
    result = verdict(
        [hearing(*NEAR_A), hearing(*NEAR_B)], meaning_of, limits=Limits(2.0, most_choices=1, trust=LIMITS.trust)
    )
    assert (result.choices, result.rivals) == (("sound",), ("sound", "scald"))


@pytest.mark.parametrize(("next_best", "is_close"), [(-2.0, True), (-3.0, False), (-9.0, False)])
def test_an_accepted_meaning_is_close_if_its_lead_is_small(next_best, is_close):
    """The lead is 1.0 × the gap of one, and 0.5 × that of the other: 1.5 and 3 of at least 2 to be said by a tick."""
    heard = [hearing(name, ("sound", -1), ("scald", next_best)) for name in ("a", "b")]
    result = verdict(heard, meaning_of, limits=replace(LIMITS, silent_lead=2.0))
    assert (result.decision, result.is_close) == (ACCEPTED, is_close)


def test_unlikely_words_are_asked():
    heard = [hearing(name, ("sound", -1)) for name in "ab"]
    assert verdict(heard, meaning_of, lambda words: words != "sound", LIMITS).decision is ASK


def test_sureness_is_the_share_of_the_likelihood():
    """0.5 × 2 below the best is a factor of e: the first has 1 / (1 + 1/e) of the whole."""
    heard = [hearing("b", ("sound", -1), ("scald", -3)), hearing("c")]
    assert verdict(heard, meaning_of, limits=LIMITS).sureness == pytest.approx(1 / (1 + math.exp(-1)))


WORDS = st.sampled_from(["sound", "scald", "scour", "sound again", "um"])
READINGS = st.lists(st.tuples(WORDS, st.floats(-20, 0)), max_size=4)
HEARD = st.tuples(READINGS, READINGS, READINGS).map(
    lambda all_of_them: [
        hearing(name, *sorted(dict(readings).items(), key=lambda pair: -pair[1]))
        for name, readings in zip("abc", all_of_them, strict=True)
    ]
)


@given(HEARD)
def test_what_is_accepted_is_the_best_of_one_and_was_heard_by_another(heard):
    result = verdict(heard, meaning_of, limits=LIMITS)
    if result.decision is not ACCEPTED:
        return
    meaning = meaning_of(result.choices[0])
    meanings = [[meaning_of(r.text) for r in one.readings if meaning_of(r.text)] for one in heard]
    assert any(found[:1] == [meaning] for found in meanings)
    assert sum(meaning in found for found in meanings) >= 2


@given(HEARD)
def test_choices_have_different_meanings_and_come_from_a_listener(heard):
    choices = verdict(heard, meaning_of, limits=LIMITS).choices
    assert len({meaning_of(words) for words in choices}) == len(choices)
    assert set(choices) <= {reading.text for one in heard for reading in one.readings}


def test_measured_limits_are_finite_numbers():
    limits = Limits()
    assert {"pocketsphinx", "phonemes", "moonshine"} <= set(limits.trust)
    assert math.isfinite(limits.least_lead)
    for trust in limits.trust.values():
        assert min(trust.weight, trust.floor, trust.most_strain) > 0
