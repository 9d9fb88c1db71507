"""The judge's rules, with a model that is always sure: what no probability overrules."""

from __future__ import annotations

import json
from dataclasses import replace
from math import log
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.errors import ModelError
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.judge import (
    CALIBRATION,
    FEATURES,
    Judge,
    Sound,
    Thresholds,
    features,
    load_judge,
    rank,
)
from voicewalk.hearing.logistic import Logistic
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import Act, Command, Expectation, Meaning

LIMITS = Thresholds(
    plain=0.90, critical=0.95, reading=0.97, bare=0.98, ask=0.5, unclear=0.1, dissent=3.0, near=2.0
)
SOUND = Sound(seconds=2.0, snr_db=20.0)
NOTHING = Expectation()

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
    flat = Logistic(
        np.zeros(len(FEATURES)),
        np.ones(len(FEATURES)),
        np.zeros(len(FEATURES)),
        log(probability / (1 - probability)),
    )
    return Judge(flat, LIMITS, frozenset(critical))


def heard(meaning: Meaning, phonemes: float = -5.0, words: float = -5.0) -> Pooled:
    return Pooled(meaning, "left main tyre good", {"phonemes": phonemes, "words": words})


def verdict(*pooled: Pooled, judge: Judge | None = None, expecting: Expectation = NOTHING):
    return (judge or sure(0.999))(list(pooled), SOUND, expecting).verdict


def test_a_sure_call_is_understood():
    judgement = sure(0.999)([heard(RADOME)], SOUND, NOTHING)
    assert judgement.verdict is Verdict.UNDERSTOOD
    assert judgement.probability == pytest.approx(0.999)
    assert judgement.ranked[0].meaning == RADOME
    assert judgement.reason


def test_nothing_pooled_is_not_for_the_tool():
    judgement = sure(0.999)([], SOUND, NOTHING)
    assert judgement.verdict is Verdict.OUTSIDE
    assert (judgement.ranked, judgement.probability) == ((), 0.0)


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


@pytest.mark.parametrize("listener", ["phonemes", "words"])
def test_a_listener_that_clearly_prefers_another_meaning_is_never_overruled(listener):
    other = {"phonemes": "words", "words": "phonemes"}[listener]
    best = heard(DOOR, **{listener: -9.0, other: -1.0})
    rival = heard(NOT_DOOR, **{listener: -5.0, other: -30.0})
    assert verdict(best, rival) is Verdict.ASK
    assert verdict(best, replace(rival, scores={listener: -7.0, other: -30.0})) is (
        Verdict.UNDERSTOOD
    )


def test_a_listener_may_prefer_any_of_the_others():
    first, far = heard(DOOR, -9.0, -1.0), heard(RADOME, -20.0, -5.0)
    assert verdict(first, far, heard(NOT_DOOR, -5.0, -40.0)) is Verdict.ASK


@pytest.mark.parametrize(("behind", "expected"), [(1.9, Verdict.ASK), (2.1, Verdict.UNDERSTOOD)])
def test_two_close_meanings_are_asked_back(behind, expected):
    assert verdict(heard(DOOR), heard(NOT_DOOR, -5.0 - behind)) is expected


def test_two_equal_meanings_are_asked_back():
    judgement = sure(0.999)([heard(DOOR), heard(NOT_DOOR)], SOUND, NOTHING)
    assert judgement.verdict is Verdict.ASK
    assert {p.meaning for p in judgement.ranked[:2]} == {DOOR, NOT_DOOR}


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


def test_a_bare_call_stands_behind_a_named_one_unless_it_was_asked_for():
    bare, named = heard(NUMBER, -4.0), heard(PRESSURE, -6.0)
    assert [p.meaning for p in rank([bare, named], NOTHING)] == [PRESSURE, NUMBER]
    asked = Expectation(item="tyre-pressure")
    assert [p.meaning for p in rank([named, bare], asked)] == [NUMBER, PRESSURE]


def test_a_weight_never_overrules_clear_speech():
    assert rank([heard(PRESSURE, -30.0), heard(NUMBER, -5.0)], NOTHING)[0].meaning == NUMBER


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


def test_a_bare_answer_needs_more_than_a_named_one_and_is_never_asked_back():
    """A short word is in everything: "say again" is as quick, and nothing is there to affirm."""
    bare = Meaning(Act.STATE, state="latched")
    asked = Expectation(item="door")
    assert verdict(heard(bare), judge=sure(0.96), expecting=asked) is Verdict.UNCLEAR
    assert verdict(heard(bare), judge=sure(0.99), expecting=asked) is Verdict.UNDERSTOOD


scores = st.floats(-300, 0)
meanings = st.sampled_from([RADOME, DOOR, NOT_DOOR, PRESSURE, NUMBER, AFFIRM, LEFT])
expectations = st.sampled_from(
    [NOTHING, Expectation(item="door"), Expectation(question=True), Expectation(side=True)]
)


@given(
    st.lists(st.builds(heard, meanings, scores, scores), min_size=1, unique_by=lambda p: p.meaning),
    st.floats(0, 60),
    st.floats(-40, 90),
    expectations,
)
def test_features_are_finite_and_bounded(pooled, seconds, snr, expecting):
    seen = features(rank(pooled, expecting), Sound(seconds, snr), expecting)
    assert len(seen) == len(FEATURES)
    assert all(-20.0 <= one <= 20.0 for one in seen)


def test_features_of_a_known_call():
    best, other = heard(DOOR, -8.0, -4.0), heard(NOT_DOOR, -6.0, -40.0)
    seen = dict(zip(FEATURES, features([best, other], Sound(1.2, 20.0), NOTHING), strict=True))
    assert seen == pytest.approx(
        {
            "phonemes": -0.5,  # 16 letters in "left main tyre good"
            "words": -0.25,
            "worst": -0.5,
            "margin": 20.0,
            "phonemes_margin": -2.0,
            "words_margin": 20.0,
            "pace": 0.0,
            "letters": 4.0,
            "snr": 2.0,
            "bare": 0.0,
        }
    )


# --- the calibration file ------------------------------------------------------------------


def calibration() -> dict:
    return {
        "model": {
            "features": list(FEATURES),
            "mean": [0.0] * len(FEATURES),
            "scale": [1.0] * len(FEATURES),
            "weights": [0.0] * len(FEATURES),
            "bias": log(0.93 / 0.07),
        },
        "thresholds": {
            "plain": 0.9,
            "critical": 0.95,
            "reading": 0.97,
            "bare": 0.98,
            "ask": 0.5,
            "unclear": 0.1,
            "dissent": 3.0,
            "near": 2.0,
        },
    }


def kept(folder: Path, data: object) -> Path:
    path = folder / "calibration.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def test_a_judge_of_a_file_judges_by_it(tmp_path):
    judge = load_judge(frozenset({"door"}), kept(tmp_path, calibration()))
    assert judge.thresholds == LIMITS
    assert verdict(heard(RADOME), judge=judge) is Verdict.UNDERSTOOD
    assert verdict(heard(DOOR), judge=judge) is Verdict.ASK


FAULTS = {
    "no-model": lambda d: d.pop("model"),
    "no-thresholds": lambda d: d.pop("thresholds"),
    "no-bias": lambda d: d["model"].pop("bias"),
    "other-features": lambda d: d["model"]["features"].reverse(),
    "one-feature-less": lambda d: d["model"]["features"].pop(),
    "one-weight-less": lambda d: d["model"]["weights"].pop(),
    "one-mean-too-many": lambda d: d["model"]["mean"].append(0.0),
    "a-scale-of-zero": lambda d: d["model"]["scale"].__setitem__(0, 0.0),
    "a-weight-not-a-number": lambda d: d["model"]["weights"].__setitem__(0, float("nan")),
    "a-bias-not-a-number": lambda d: d["model"].update(bias=float("nan")),
    "a-bias-of-text": lambda d: d["model"].update(bias="high"),
    "weights-of-text": lambda d: d["model"].update(weights=["heavy"] * len(FEATURES)),
    "weights-null": lambda d: d["model"].update(weights=None),
    "a-threshold-missing": lambda d: d["thresholds"].pop("near"),
    "a-threshold-unknown": lambda d: d["thresholds"].update(nearer=1.0),
    "thresholds-a-list": lambda d: d.update(thresholds=[0.9] * 7),
}


def faulty(change, folder: Path) -> Path:
    data = calibration()
    change(data)
    return kept(folder, data)


@pytest.mark.parametrize("change", FAULTS.values(), ids=FAULTS)
def test_a_broken_file_is_told(change, tmp_path):
    path = faulty(change, tmp_path)
    with pytest.raises(ModelError) as told:
        load_judge(frozenset(), path)
    assert str(path) in str(told.value)
    assert "calibrate" in told.value.what_to_do


@pytest.mark.parametrize("threshold", ["high", None, float("nan"), True], ids=str)
def test_a_threshold_that_is_no_number_is_told(threshold, tmp_path):
    path = faulty(lambda data: data["thresholds"].update(near=threshold), tmp_path)
    with pytest.raises(ModelError):
        load_judge(frozenset(), path)


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"null", b'"model"', b"\xff\xfe"], ids=repr)
def test_a_file_that_is_no_calibration_is_told(content, tmp_path):
    path = tmp_path / "calibration.json"
    path.write_bytes(content)
    with pytest.raises(ModelError):
        load_judge(frozenset(), path)


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(ModelError, match="cannot be used"):
        load_judge(frozenset(), tmp_path / "none.json")


def test_the_shipped_file_can_be_used_and_its_thresholds_are_in_order():
    limits = load_judge(frozenset(), CALIBRATION).thresholds
    assert 0 < limits.unclear < limits.ask < limits.plain <= limits.critical < 1
    assert limits.plain <= limits.reading < 1
    assert limits.near > 0
    assert limits.dissent > 0
