"""The judge's rules, with a model that is always sure: what no probability overrules."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicewalk.hearing.calibration import (
    Calibration,
    Thresholds,
    features_of,
    load_calibration,
    model_features,
)
from voicewalk.hearing.evidence import AROUND, COMMON_PACE, Evidence, Sound
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.judge import Judge, features, pair, rank
from voicewalk.hearing.logistic import Logistic
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import Act, Command, Expectation, Meaning

LIMITS = Thresholds(
    plain=0.90,
    critical=0.95,
    reading=0.97,
    bare=0.98,
    ask=0.5,
    unclear=0.1,
    dissent=3.0,
    noisy_dissent=1.0,
    near=2.0,
    pair=4.0,
    alike=7.0,
    unexplained=1.5,
    noisy_unexplained=4.5,
    total=-2.0,
    noisy_total=-6.0,
    least={"letters": -3.0, "words": -3.0},
)
LISTENERS = ("letters", "words")
FEATURES = features_of(LISTENERS)
SOUND = Sound(seconds=2.0, snr_db=20.0)
FAINT = replace(SOUND, faint=True, span=(0.4, 1.4))
NOTHING = Expectation()
WORDS = "left main tyre good"  # 16 letters

# Each listener's score counts as it is.
PLAIN = Evidence(LISTENERS, np.array([1.0, 1.0, 0, 0, 0, 0]))

RADOME = Meaning(Act.SATISFACTORY, item="radome")
DOOR = Meaning(Act.STATE, item="door", state="latched")
NOT_DOOR = replace(DOOR, state="not latched")
PRESSURE = Meaning(Act.READING, item="tyre-pressure", value="210", unit="psi")
NUMBER = Meaning(Act.READING, value="210", unit="psi")
AFFIRM = Meaning(Act.COMMAND, command=Command.AFFIRM)
NEGATIVE = Meaning(Act.COMMAND, command=Command.NEGATIVE)
LEFT = Meaning(Act.SIDE, side="left")
FIRST = Meaning(Act.CHOICE, choice="first")


def sure(probability: float, *critical: str) -> Judge:
    """A judge whose model gives one probability to everything."""
    size = len(model_features(FEATURES))
    flat = Logistic(
        np.zeros(size),
        np.ones(size),
        np.zeros(size),
        log(probability / (1 - probability)),
    )
    return Judge(Calibration(PLAIN, flat, LIMITS), frozenset(critical))


@cache
def shipped() -> Judge:
    """The judge of the calibration that comes with the program."""
    return Judge(load_calibration())


def heard(
    meaning: Meaning,
    letters: float = -5.0,
    words: float = -5.0,
    *,
    prior: float = 0.0,
    said: str = WORDS,
) -> Pooled:
    """A meaning whose evidence is the sum of its scores."""
    scores, free = {"letters": letters, "words": words}, {"letters": -9.0, "words": -4.0}
    return Pooled(meaning, said, scores, free, letters + words, prior)


def verdict(*pooled: Pooled, judge: Judge | None = None, expecting: Expectation = NOTHING):
    return (judge or sure(0.999))(list(pooled), SOUND, expecting).verdict


def test_a_sure_call_is_understood():
    judgement = sure(0.999)([heard(RADOME), heard(PRESSURE, -9.0)], SOUND, NOTHING)
    assert judgement.verdict is Verdict.UNDERSTOOD
    assert judgement.probability == pytest.approx(0.999)
    assert [one.meaning for one in judgement.ranked] == [RADOME, PRESSURE]
    assert judgement.candidates == (heard(RADOME),)
    assert judgement.reason


@pytest.mark.parametrize(
    ("probability", "without"), [(0.999, Verdict.UNDERSTOOD), (0.7, Verdict.ASK)]
)
def test_faint_sound_in_which_no_letter_is_heard_is_none(probability, without):
    judge = sure(probability)
    assert judge([heard(DOOR)], SOUND, NOTHING).verdict is without
    judgement = judge([heard(DOOR)], replace(SOUND, faint=True), NOTHING)
    assert (judgement.verdict, judgement.candidates) == (Verdict.OUTSIDE, ())
    assert judge([heard(DOOR)], FAINT, NOTHING).verdict is Verdict.ASK


NEXT = Meaning(Act.COMMAND, command=Command.NEXT)
ANYTHING = Expectation(item="door", question=True, side=True, between=(DOOR, NOT_DOOR))


@pytest.mark.parametrize(
    "meaning",
    [RADOME, DOOR, NOT_DOOR, PRESSURE, NUMBER, AFFIRM, LEFT, FIRST]
    + [Meaning(Act.COMMAND, command=one) for one in (Command.DISREGARD, Command.CLOSE)],
)
def test_a_faint_call_is_never_taken_at_once(meaning):
    """What is heard of it may be the rest of another: it is asked back however sure it seems."""
    judge = sure(1 - 1e-12)
    assert judge([heard(meaning)], SOUND, ANYTHING).verdict is Verdict.UNDERSTOOD
    asked = judge([heard(meaning)], FAINT, ANYTHING)
    assert asked.verdict is Verdict.ASK
    assert [one.meaning for one in asked.candidates] == [meaning]


@pytest.mark.parametrize("meaning", [NEGATIVE, NEXT])
def test_a_faint_answer_that_confirms_nothing_is_taken(meaning):
    assert sure(0.999)([heard(meaning)], FAINT, ANYTHING).verdict is Verdict.UNDERSTOOD


def test_nobody_is_asked_to_say_again_what_was_faint_and_unclear():
    bare = heard(Meaning(Act.COUNT, value="3"), said="three")
    unclear = sure(0.999)([bare], SOUND, NOTHING)
    faint = sure(0.999)([bare], FAINT, NOTHING)
    assert (unclear.verdict, faint.verdict) == (Verdict.UNCLEAR, Verdict.OUTSIDE)


def test_nothing_pooled_is_not_for_the_tool():
    judgement = sure(0.999)([], SOUND, NOTHING)
    assert judgement.verdict is Verdict.OUTSIDE
    assert (judgement.ranked, judgement.candidates, judgement.probability) == ((), (), 0.0)


@pytest.mark.parametrize(
    ("probability", "expected"),
    [
        (0.05, Verdict.OUTSIDE),
        (0.3, Verdict.UNCLEAR),
        (0.7, Verdict.ASK),
        (0.89, Verdict.ASK),
        (0.91, Verdict.UNDERSTOOD),
    ],
)
def test_verdicts_by_probability(probability, expected):
    assert verdict(heard(RADOME), judge=sure(probability)) is expected


@pytest.mark.parametrize("listener", ["letters", "words"])
def test_a_listener_that_clearly_prefers_another_meaning_is_never_overruled(listener):
    other = {"letters": "words", "words": "letters"}[listener]
    best = heard(DOOR, **{listener: -9.0, other: -1.0})
    rival = heard(NOT_DOOR, **{listener: -5.0, other: -30.0})
    assert verdict(best, rival) is Verdict.ASK
    agreeing = heard(NOT_DOOR, **{listener: -7.0, other: -30.0})
    assert verdict(best, agreeing) is Verdict.UNDERSTOOD


@pytest.mark.parametrize(
    ("snr", "allowed"), [(-5.0, 1.0), (0.0, 1.0), (10.0, 2.0), (20.0, 3.0), (60.0, 3.0)]
)
def test_the_noisier_it_is_the_more_the_listeners_must_agree(snr, allowed):
    sound = replace(SOUND, snr_db=snr)

    def given(dissent: float) -> Verdict:
        pooled = [heard(DOOR, -9.0, -1.0), heard(RADOME, -9.0 + dissent, -30.0)]
        return sure(0.999)(pooled, sound, NOTHING).verdict

    assert given(allowed - 0.1) is Verdict.UNDERSTOOD
    assert given(allowed + 0.1) is Verdict.ASK


@pytest.mark.parametrize("listener", ["letters", "words"])
@pytest.mark.parametrize(("each", "expected"), [(-3.1, Verdict.ASK), (-2.9, Verdict.UNDERSTOOD)])
def test_no_ear_understands_alone_what_the_other_hears_little_of(listener, each, expected):
    assert verdict(heard(RADOME, **{listener: 16 * each})) is expected  # 16 letters


def test_a_listener_may_prefer_any_of_the_others():
    first, far = heard(DOOR, -9.0, -1.0), heard(RADOME, -20.0, -5.0)
    assert verdict(first, far, heard(NOT_DOOR, -5.0, -40.0)) is Verdict.ASK


@pytest.mark.parametrize(
    ("rival", "behind", "expected"),
    [
        (NOT_DOOR, 3.9, Verdict.ASK),
        (NOT_DOOR, 4.1, Verdict.UNDERSTOOD),
        (PRESSURE, 1.9, Verdict.ASK),
        (PRESSURE, 2.1, Verdict.UNDERSTOOD),
    ],
    ids=["pair-close", "pair-apart", "close", "apart"],
)
def test_two_close_meanings_are_asked_back_and_a_near_pair_sooner(rival, behind, expected):
    assert verdict(heard(DOOR), heard(rival, -5.0 - behind)) is expected


@pytest.mark.parametrize(
    ("said", "behind", "expected"),
    [
        ("battery voltage thirteen volts", 6.9, Verdict.ASK),
        ("battery voltage thirteen volts", 7.1, Verdict.UNDERSTOOD),
        ("battery voltage forty volts", 4.1, Verdict.UNDERSTOOD),
    ],
    ids=["teens-for-tens", "teens-for-tens-apart", "another-number"],
)
def test_teens_for_tens_must_be_further_apart_than_other_pairs(said, behind, expected):
    best = heard(PRESSURE, said="battery voltage thirty volts")
    rival = heard(replace(PRESSURE, value="13"), -5.0 - behind, said=said)
    assert verdict(best, rival) is expected


def test_two_equal_meanings_are_asked_back():
    judgement = sure(0.999)([heard(DOOR), heard(NOT_DOOR)], SOUND, NOTHING)
    assert judgement.verdict is Verdict.ASK
    assert {one.meaning for one in judgement.candidates} == {DOOR, NOT_DOOR}


def test_at_most_two_meanings_are_asked_about_the_likeliest_first():
    others = [heard(replace(DOOR, state=f"state {n}"), -5.0 - n / 10) for n in range(1, 5)]
    judgement = sure(0.999)([*reversed(others), heard(DOOR)], SOUND, NOTHING)
    assert judgement.candidates == (heard(DOOR), others[0])


def test_where_one_stands_out_and_is_not_sure_it_alone_is_asked_about():
    pooled = [heard(DOOR), heard(NOT_DOOR, -50.0)]
    judgement = sure(0.7)(pooled, SOUND, NOTHING)
    assert (judgement.verdict, judgement.candidates) == (Verdict.ASK, (heard(DOOR),))


@pytest.mark.parametrize("probability", [0.05, 0.3], ids=["outside", "unclear"])
def test_what_is_not_understood_names_nothing(probability):
    assert sure(probability)([heard(DOOR)], SOUND, NOTHING).candidates == ()


@pytest.mark.parametrize(
    "meaning",
    [
        NUMBER,
        replace(NUMBER, unit=""),
        Meaning(Act.COUNT, value="4"),
        Meaning(Act.STATE, state="off"),
        Meaning(Act.SATISFACTORY),
        Meaning(Act.DISCREPANCY, defect="crack"),
        LEFT,
        FIRST,
    ],
    ids=lambda meaning: meaning.act.value,
)
def test_a_bare_call_that_was_not_asked_for_is_never_understood(meaning):
    assert verdict(heard(meaning)) is Verdict.UNCLEAR


@pytest.mark.parametrize(
    ("meaning", "expecting"),
    [
        (NUMBER, Expectation(item="tyre-pressure")),
        (Meaning(Act.STATE, state="off"), Expectation(item="battery-switch")),
        (LEFT, Expectation(side=True)),
        (FIRST, Expectation(between=(DOOR, NOT_DOOR))),
        (Meaning(Act.STATE, state="latched"), Expectation(between=(DOOR, RADOME))),
        (NUMBER, Expectation(between=(PRESSURE, RADOME))),
        (AFFIRM, Expectation(question=True)),
        (NEGATIVE, Expectation(question=True)),
        (Meaning(Act.COMMAND, command=Command.STOP), NOTHING),
        (Meaning(Act.COMMAND, command=Command.NEXT), NOTHING),
        (Meaning(Act.SATISFACTORY, group="pitot-cover"), NOTHING),
    ],
)
def test_what_was_asked_for_or_needs_no_asking_is_understood(meaning, expecting):
    assert verdict(heard(meaning), expecting=expecting) is Verdict.UNDERSTOOD


@pytest.mark.parametrize(
    ("meaning", "expecting"),
    [
        (LEFT, Expectation(item="pitot-cover")),
        (NUMBER, Expectation(question=True, side=True)),
        (FIRST, Expectation(between=(DOOR,))),
        (NUMBER, Expectation(between=(DOOR, NOT_DOOR))),
    ],
    ids=[
        "side-where-a-result-is-asked-for",
        "number-where-affirm-is-asked-for",
        "first-where-one-call-was-read",
        "number-where-neither-call-has-it",
    ],
)
def test_an_answer_to_another_question_was_not_asked_for(meaning, expecting):
    assert verdict(heard(meaning), expecting=expecting) is Verdict.UNCLEAR


@pytest.mark.parametrize("meaning", [AFFIRM, NEGATIVE], ids=["affirm", "negative"])
def test_an_answer_without_a_question_is_heard_since_it_is_no_result(meaning):
    assert verdict(heard(meaning)) is Verdict.UNDERSTOOD


def test_rare_calls_stand_behind_common_ones_that_fit_about_as_well():
    bare, named = heard(NUMBER, -4.0, prior=-4.0), heard(PRESSURE, -6.0)
    assert [one.meaning for one in rank([bare, named])] == [PRESSURE, NUMBER]
    asked = replace(bare, prior=0.0)
    assert [one.meaning for one in rank([named, asked])] == [NUMBER, PRESSURE]


def test_a_weight_never_overrules_clear_speech():
    assert rank([heard(PRESSURE, -30.0), heard(NUMBER, -5.0, prior=-4.0)])[0].meaning == NUMBER


@pytest.mark.parametrize("behind", [0.0, 2.0, 3.9, -3.9, -2.0])
def test_no_weight_decides_between_two_numbers_that_sound_alike(behind):
    """A reading far off the limits is rare, and just what must be heard: "nineteen" for a tyre
    that should have ninety. Which was said, the ears must tell, or the person."""
    ninety = heard(replace(PRESSURE, value="90"))
    nineteen = heard(replace(PRESSURE, value="19"), -5.0 + behind, prior=-4.0)
    judgement = sure(0.999)([ninety, nineteen], SOUND, NOTHING)
    assert judgement.verdict is Verdict.ASK
    assert {one.meaning.value for one in judgement.candidates} == {"90", "19"}


@pytest.mark.parametrize("behind", [0.0, 2.0, 3.9, -3.9])
def test_no_weight_bends_a_wrong_unit_into_the_right_one(behind):
    bar = heard(replace(PRESSURE, unit="bar"), -5.0 + behind, prior=-4.0)
    assert verdict(heard(PRESSURE), bar) is Verdict.ASK


def test_a_number_and_the_same_without_its_unit_are_told_apart_by_weight_too():
    """The shorter lies inside the longer, so that it nearly always fits as well."""
    short = heard(replace(PRESSURE, unit=""), -5.5, prior=-4.0)
    assert verdict(heard(PRESSURE), short) is Verdict.UNDERSTOOD


@pytest.mark.parametrize(
    ("one", "other", "near"),
    [
        (DOOR, NOT_DOOR, True),
        (PRESSURE, replace(PRESSURE, value="201"), True),
        (PRESSURE, replace(PRESSURE, unit="bar"), True),
        (PRESSURE, replace(PRESSURE, unit="bar", value="2"), False),
        (RADOME, replace(RADOME, item="nose"), True),
        (DOOR, replace(DOOR, item="left-door"), True),
        (DOOR, replace(NOT_DOOR, item="left-door"), False),
        (RADOME, Meaning(Act.DISCREPANCY, item="radome", defect="crack", place="lower"), True),
        (RADOME, Meaning(Act.DISCREPANCY, item="nose", defect="crack"), False),
        (RADOME, Meaning(Act.ITEM, item="radome"), True),
        (LEFT, replace(LEFT, side="right"), True),
        (AFFIRM, NEGATIVE, True),
        (DOOR, replace(DOOR, corrects=True), True),
    ],
)
def test_what_differs_in_one_thing_is_a_near_pair(one, other, near):
    assert pair(one, other) is near
    assert pair(other, one) is near


@pytest.mark.parametrize(
    ("probability", "meaning", "expected"),
    [
        (0.93, RADOME, Verdict.UNDERSTOOD),
        (0.93, DOOR, Verdict.ASK),
        (0.96, DOOR, Verdict.UNDERSTOOD),
        (0.96, PRESSURE, Verdict.ASK),
        (0.98, PRESSURE, Verdict.UNDERSTOOD),
        (0.96, Meaning(Act.COUNT, item="wicks", value="3"), Verdict.ASK),
        (0.96, Meaning(Act.DISCREPANCY, item="tyre", defect="cut", size="2"), Verdict.ASK),
        (0.93, Meaning(Act.DISCREPANCY, item="tyre", defect="cut"), Verdict.UNDERSTOOD),
        (0.93, Meaning(Act.DISCREPANCY, item="door", defect="dent"), Verdict.ASK),
    ],
)
def test_more_is_asked_of_critical_items_and_of_numbers(probability, meaning, expected):
    assert verdict(heard(meaning), judge=sure(probability, "door")) is expected


def test_an_answer_at_a_critical_item_needs_as_much_as_the_item():
    limits = replace(LIMITS, bare=0.91)
    judge = Judge(replace(sure(0.93)._calibration, thresholds=limits), frozenset({"door"}))
    bare = heard(Meaning(Act.STATE, state="latched"))
    assert verdict(bare, judge=judge, expecting=Expectation(item="door")) is Verdict.ASK
    assert verdict(bare, judge=judge, expecting=Expectation(item="cover")) is Verdict.UNDERSTOOD


def test_a_bare_answer_needs_more_than_a_named_one_and_is_asked_back_as_one():
    """A short word is in everything; read back with its item, the caller can tell."""
    bare = Meaning(Act.STATE, state="latched")
    asked = Expectation(item="door")
    assert verdict(heard(bare), judge=sure(0.96), expecting=asked) is Verdict.ASK
    assert verdict(heard(bare), judge=sure(0.99), expecting=asked) is Verdict.UNDERSTOOD


@pytest.mark.parametrize(
    ("meaning", "asked"),
    [
        (AFFIRM, Expectation(question=True)),
        (LEFT, Expectation(side=True)),
        (FIRST, Expectation(between=(DOOR, NOT_DOOR))),
    ],
    ids=["affirm", "side", "choice"],
)
def test_what_only_answers_a_question_is_to_be_said_again_and_not_asked_about(meaning, asked):
    assert verdict(heard(meaning), judge=sure(0.96), expecting=asked) is Verdict.UNCLEAR
    assert verdict(heard(meaning), judge=sure(0.99), expecting=asked) is Verdict.UNDERSTOOD


# --- features ------------------------------------------------------------------------------

scores = st.floats(-1000, 60)
meanings = st.sampled_from([RADOME, DOOR, NOT_DOOR, PRESSURE, NUMBER, AFFIRM, LEFT])
pools = st.lists(
    st.builds(heard, meanings, scores, scores, prior=st.sampled_from([0.0, -4.0])),
    min_size=1,
    unique_by=lambda one: one.meaning,
)
sounds = st.builds(Sound, st.floats(0, 60), st.floats(-40, 90))


@settings(deadline=None)
@given(pools, sounds)
def test_features_are_finite_and_bounded(pooled, sound):
    seen = features(rank(pooled), sound, PLAIN)
    assert len(seen) == len(FEATURES)
    assert all(-30.0 <= one <= 20.0 for one in seen)


@settings(deadline=None)
@given(pools, sounds)
def test_the_order_in_which_meanings_were_pooled_changes_nothing(pooled, sound):
    if len({one.odds for one in pooled}) == len(pooled):
        judge = shipped()
        assert judge(pooled, sound, NOTHING) == judge(pooled[::-1], sound, NOTHING)


def view(pooled: list[Pooled], sound: Sound) -> dict[str, float]:
    return dict(zip(FEATURES, features(pooled, sound, PLAIN), strict=True))


def test_features_of_a_known_call():
    sound = Sound(AROUND + 2 * 16 * COMMON_PACE, 20.0)
    best, other = heard(DOOR, -8.0, -4.0), heard(NOT_DOOR, -6.0, -10.0, prior=-1.0)
    seen = view([best, other], sound)
    expected = {
        "letters": -0.5,  # 16 letters
        "letters total": -8.0,
        "own letters": -9 / 16,
        "letters in lead": -0.5 * 5 / 8,
        "words": -0.25,
        "words total": -4.0,
        "own words": -0.25,
        "lead": 5.0,  # of odds, the weight of such a call included
        "letters margin": -2.0,
        "words margin": 6.0,
        "pace": 1.0,
        "length": 4.0,
        "snr": 2.0,
        "bare": 0.0,
    }
    assert {name: seen[name] for name in expected} == pytest.approx(expected)


@pytest.mark.parametrize("listener", ["letters", "words"])
def test_nothing_fits_better_than_what_a_listener_hears_by_itself(listener):
    """In faint noise the word listener babbles, and any short call is likelier than that."""
    babbled, same = (view([heard(DOOR, **{listener: score})], SOUND) for score in (40.0, 0.0))
    assert babbled[listener] == same[listener] == 0.0
    assert babbled[f"{listener} total"] == 0.0


def test_what_does_not_fit_counts_as_much_in_a_long_call():
    """Per letter it is thinned by all that fits; in all it is not, up to where nothing fits."""
    long = " ".join([WORDS] * 4)
    short, longer = (view([heard(DOOR, -12.0, said=said)], SOUND) for said in (WORDS, long))
    assert longer["letters"] == pytest.approx(short["letters"] / 4)
    assert longer["letters total"] == short["letters total"] == -12.0
    assert view([heard(DOOR, -31.0)], SOUND)["letters total"] == -30.0


def test_the_lead_is_over_all_the_others_together():
    """Three of equal odds leave a quarter each: the odds of the first are 1 to 3."""
    others = [heard(replace(DOOR, state=f"state {n}")) for n in range(3)]
    assert view([heard(DOOR), *others], SOUND)["lead"] == pytest.approx(-log(3))


def test_a_lone_meaning_leads_by_no_more_than_one_that_stands_far_out():
    alone, far = [heard(DOOR)], [heard(DOOR), heard(NOT_DOOR, -900.0, -900.0)]
    assert view(alone, SOUND) == view(far, SOUND)


# --- the shipped calibration ---------------------------------------------------------------


@settings(deadline=None)
@given(
    st.lists(
        st.builds(heard, meanings, st.floats(-1000, -48), st.floats(-1000, -48)),
        min_size=1,
        unique_by=lambda one: one.meaning,
    ),
    st.floats(0.3, 20),
    st.floats(-20, 60),
)
def test_what_fits_badly_in_both_ears_is_never_understood(pooled, seconds, snr):
    """Three nats a letter off what each listener hears by itself, far worse than any call that
    was right. Of a closed list something always fits best."""
    judgement = shipped()(pooled, Sound(seconds, snr), Expectation(item="door"))
    assert judgement.verdict is not Verdict.UNDERSTOOD


def said(meaning: Meaning, words: str, *texts: str, score: float = -0.5) -> Pooled:
    """A meaning in these words, where the listeners wrote something of their own."""
    free = dict.fromkeys(LISTENERS, -9.0)
    written = dict(zip(LISTENERS, texts, strict=False))
    return Pooled(meaning, words, dict.fromkeys(LISTENERS, score), free, 0.0, texts=written)


@pytest.mark.parametrize(
    "text",
    [
        "left main tyre good no",
        "is the left main tyre good",
        "left main tyre isn't good",
        "left main tyre good except for a cut",
        "left main tyre almost good",
        "left main tyre good seal torn",
        "i think the left main tyre is good",
    ],
)
def test_what_a_call_does_not_explain_is_never_understood(text: str):
    assert verdict(said(RADOME, WORDS, text, WORDS)) is Verdict.ASK


def test_what_others_write_in_noise_is_a_matter_of_probability():
    """The word listener wrote such words beside 27 % of right calls; the letters beside 3 %."""
    call = said(RADOME, WORDS, WORDS, "Left main tire good, no.")
    assert verdict(call) is Verdict.UNDERSTOOD
    seen = dict(zip(FEATURES, features([call], SOUND, PLAIN), strict=True))
    assert (seen["doubt"], seen["doubt elsewhere"]) == (0.0, 1.0)


def test_a_call_that_is_all_that_was_said_is_understood():
    assert verdict(said(RADOME, WORDS, "left main tire good", "Left main tyre good.")) is (
        Verdict.UNDERSTOOD
    )


def test_noise_leaves_room_for_letters_that_nobody_said():
    call = said(RADOME, WORDS, "left main tyre gooduhm")
    quiet, loud = Sound(2.0, 25.0), Sound(2.0, 0.0)
    assert sure(0.999)([call], quiet, NOTHING).verdict is Verdict.ASK
    assert sure(0.999)([call], loud, NOTHING).verdict is Verdict.UNDERSTOOD


def test_a_long_call_has_no_more_room_for_what_does_not_fit_than_a_short_one():
    """The score of the whole call counts, not that of each letter."""
    alone = replace(PLAIN, alone={"letters": Evidence(("letters",), np.array([1.0, 1.0, 0, 0]))})
    judge = Judge(Calibration(alone, sure(0.999)._calibration.model, LIMITS))
    for words in (WORDS, f"{WORDS} {WORDS} {WORDS}"):
        fits, lacks = (said(RADOME, words, words, score=s) for s in (-1.5, -2.5))
        assert judge([fits], SOUND, NOTHING).verdict is Verdict.UNDERSTOOD
        assert judge([lacks], SOUND, NOTHING).verdict is Verdict.ASK


# --- what only comes near a call -------------------------------------------------------------

TALK = Meaning(Act.TALK, item="door")
MIXED = Meaning(Act.MIXED, item="door")


@pytest.mark.parametrize("near", [TALK, MIXED])
def test_what_is_surely_no_call_is_told_as_that(near):
    judgement = sure(0.999)([heard(near), heard(DOOR, -20.0)], SOUND, NOTHING)
    assert judgement.verdict is Verdict.UNDERSTOOD
    assert [one.meaning for one in judgement.candidates] == [near]


@pytest.mark.parametrize("near", [TALK, MIXED])
@pytest.mark.parametrize("probability", [0.5, 0.7, 0.89, 0.999])
def test_talk_that_a_call_comes_close_to_is_asked_back_as_the_call(near, probability):
    judgement = sure(probability)([heard(near), heard(DOOR, -5.5)], SOUND, NOTHING)
    assert judgement.verdict is Verdict.ASK
    assert [one.meaning for one in judgement.candidates] == [DOOR]


@pytest.mark.parametrize("probability", [0.05, 0.3, 0.7])
def test_talk_that_is_not_sure_is_left_alone_and_two_calls_are_asked_for_again(probability):
    judge = sure(probability)
    assert verdict(heard(TALK), heard(DOOR, -20.0), judge=judge) is Verdict.OUTSIDE
    again = Verdict.OUTSIDE if probability < LIMITS.unclear else Verdict.UNCLEAR
    assert verdict(heard(MIXED), heard(DOOR, -20.0), judge=judge) is again


@given(
    st.floats(0.001, 0.999), st.sampled_from([TALK, MIXED]), st.floats(-20.0, 0.0), st.booleans()
)
def test_talk_is_never_asked_about_nor_a_call_near_it_understood(probability, near, score, asked):
    expecting = Expectation(item="door") if asked else NOTHING
    judgement = sure(probability)([heard(near, 0.0), heard(DOOR, score)], SOUND, expecting)
    found = {one.meaning for one in judgement.candidates}
    if judgement.verdict is Verdict.ASK:
        assert found == {DOOR}
    else:
        assert DOOR not in found


def test_a_call_that_talk_comes_close_to_is_asked_back_and_the_talk_is_not():
    judgement = sure(0.999)([heard(DOOR, -5.0), heard(TALK, -6.0)], SOUND, NOTHING)
    assert judgement.verdict is Verdict.ASK
    assert [one.meaning for one in judgement.candidates] == [DOOR]


def test_a_lost_side_and_a_lost_unit_are_near_pairs():
    sided = Meaning(Act.STATE, item="left-door", state="latched")
    assert pair(sided, Meaning(Act.STATE, group="door", state="latched"))
    assert pair(sided, replace(sided, item="right-door"))
    assert pair(PRESSURE, replace(PRESSURE, unit=""))
    assert not pair(sided, Meaning(Act.STATE, group="door", state="closed"))


@pytest.mark.parametrize(
    ("text", "snr", "verdict"),
    [
        ("the radome is good", 20.0, Verdict.UNDERSTOOD),
        ("the radome is good", 5.0, Verdict.ASK),  # "is the radome good", its first word hidden
        ("mind radome is good", 20.0, Verdict.ASK),
    ],
)
def test_a_sentence_counts_where_its_small_words_are_surely_heard(text, snr, verdict):
    call = replace(heard(RADOME), words="the radome is good", texts={"letters": text})
    assert sure(0.999)([call], Sound(2.0, snr), NOTHING).verdict is verdict


def test_a_call_that_lost_its_side_is_not_named_beside_the_whole():
    whole = Meaning(Act.STATE, item="left-fuel-cap", state="secure")
    less = replace(whole, item="", group="fuel-cap")
    asked = sure(0.999)([heard(whole), heard(less, -5.5)], SOUND, NOTHING)
    assert asked.verdict is Verdict.ASK
    assert [one.meaning for one in asked.candidates] == [whole]


def test_a_call_without_its_side_is_asked_about_where_it_is_the_likeliest():
    less = Meaning(Act.STATE, group="fuel-cap", state="secure")
    other = replace(less, state="loose")
    asked = sure(0.999)([heard(less), heard(other, -5.5)], SOUND, NOTHING)
    assert [one.meaning for one in asked.candidates] == [less, other]


@pytest.mark.parametrize(
    ("sound", "verdict"),
    [
        (Sound(2.0, 30.0, behind=0.5), Verdict.UNDERSTOOD),  # the room
        (Sound(2.0, 30.0, behind=0.25, loud=0.1), Verdict.UNDERSTOOD),
        (Sound(2.0, 30.0, behind=0.3, loud=0.06), Verdict.ASK),
        (Sound(2.0, 30.0, behind=0.25, loud=0.12), Verdict.ASK),
        (Sound(2.0, 10.0, behind=0.6, loud=0.3), Verdict.UNDERSTOOD),  # the end is found late
    ],
)
def test_what_is_said_behind_a_call_is_asked_about_though_no_letter_is_heard_of_it(sound, verdict):
    assert sure(0.999)([heard(RADOME)], sound, NOTHING).verdict is verdict


def test_a_short_word_behind_a_call_is_asked_about():
    call = replace(heard(RADOME), words="radome good", texts={"letters": "radome good o"})
    assert sure(0.999)([call], SOUND, NOTHING).verdict is Verdict.ASK
