"""Learning the judge from trials: speakers held apart, what may be kept, and what may not."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from bench_trials import CUT, GOOD, NAMED, piece, pooled, trial
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.calibration import calibration_curve

from voicewalk.bench.calibrate import (
    DOUBTS,
    FOLDS,
    STAKES,
    Judged,
    bins_of,
    calibration_of,
    doubt_of,
    expected_error,
    heard,
    judged,
    learn_evidence,
    parts,
    thresholds_of,
    weighed,
)
from voicewalk.bench.observe import Trial
from voicewalk.errors import VoicewalkError
from voicewalk.hearing.calibration import Thresholds, features_of, load_calibration
from voicewalk.hearing.evidence import Evidence, fit_evidence, marks_of
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.judge import Judge
from voicewalk.language.meaning import Act, Expectation, Meaning

SPEAKERS = 12
LISTENERS = ("letters", "words")
DEEP = ("letters",)
FEATURES = features_of(LISTENERS)
COUNT = Meaning(Act.COUNT, item="lights", value="3")


def call(speaker: int, truth: Meaning | None, first: float, second: float) -> Trial:
    """One recording in which two meanings are likeliest, at those scores."""
    candidates = pooled(GOOD, "nose tyre good", first), pooled(CUT, "nose tyre cut", second)
    return trial(truth, piece(*candidates, seconds=1.5), speaker=f"speaker {speaker:02}")


def trials(seed: int = 1, count: int = 5) -> list[Trial]:
    """Of each speaker calls that fit well, some that fit another meaning better, and other
    speech that fits badly."""
    random, made = np.random.default_rng(seed), []
    for number in range(count * SPEAKERS):
        spread = random.random()
        speaker = number % SPEAKERS
        made.append(call(speaker, GOOD, -2 - spread, -14 - 6 * spread))
        made.append(call(speaker, None, -30 - 9 * spread, -31 - 10 * spread))
        if number % 5 == 0:
            made.append(call(speaker, CUT, -9 - 3 * spread, -9.5 - 3 * random.random()))
    return made


# --- what is learnt from -------------------------------------------------------------------


def test_every_piece_of_a_recording_with_anything_pooled_is_learnt_from():
    one = piece(pooled(GOOD, "nose tyre good", -2.0))
    asked = Expectation(item="nose-tyre")
    recordings = [
        trial(GOOD, one, piece(), one, speaker="ann", expectation=asked),
        trial(None, speaker="bob"),
        trial(None, one, speaker="bob"),
    ]
    found = [(one.speaker, one.truth, one.expectation) for one in heard(recordings)]
    assert found == [
        ("ann", GOOD, asked), ("ann", GOOD, asked), ("bob", None, Expectation()),
    ]  # fmt: skip


@settings(deadline=None)
@given(st.lists(st.integers(0, 9), min_size=1, max_size=40))
def test_no_speaker_is_judged_by_what_was_learnt_from_it(speakers):
    pieces = heard([call(speaker, GOOD, -2.0, -9.0) for speaker in speakers])
    dealt = list(parts(pieces))
    assert len(dealt) == FOLDS
    assert sum(inside.astype(int) for _, inside in dealt).tolist() == [1] * len(pieces)
    for others, inside in dealt:
        own = {p.speaker for p, is_own in zip(pieces, inside, strict=True) if is_own}
        assert own.isdisjoint({piece.speaker for piece in others})
        assert len(others) + int(inside.sum()) == len(pieces)


def test_what_a_speaker_said_changes_nothing_in_the_judgement_of_it():
    pieces = heard(trials())
    before = judged(pieces, DEEP)
    own = np.array([one.speaker == "speaker 03" for one in pieces])
    turned = [
        replace(one, truth=CUT if one.truth == GOOD else GOOD) if is_own else one
        for one, is_own in zip(pieces, own, strict=True)
    ]
    after = judged(turned, DEEP)
    assert after.probability[own].tolist() == before.probability[own].tolist()
    assert not np.array_equal(after.probability[~own], before.probability[~own])


def test_evidence_is_learnt_from_the_calls_whose_meaning_is_among_the_candidates():
    calls = trials()
    strange = [call(0, COUNT, -3.0, -4.0)] * 7
    pieces = heard(calls)
    fitted = learn_evidence(heard([*calls, *strange]), DEEP)
    assert fitted.weights.tolist() == learn_evidence(pieces, DEEP).weights.tolist()
    sets = [
        (*one.candidates(LISTENERS), [p.meaning for p in one.pooled].index(one.truth))
        for one in pieces
        if one.truth in (GOOD, CUT)
    ]
    assert fitted.weights == pytest.approx(fit_evidence(sets))


@pytest.mark.parametrize("deep", [(), ("letters",), ("words", "letters")])
def test_the_listeners_that_are_read_deep_are_weighed_alone_too(deep):
    pieces = heard(trials())
    found = learn_evidence(pieces, deep).alone
    assert set(found) == set(deep)
    for name, alone in found.items():
        assert alone.listeners == (name,)
        assert dict(zip(marks_of((name,)), alone.weights, strict=True))[name] > 0


def test_recordings_that_others_heard_are_not_learnt_from_together():
    pieces = heard(trials())
    other = replace(pieces[0].pooled[0], scores={"letters": -1.0})
    with pytest.raises(ValueError, match="same listeners"):
        learn_evidence([*pieces, replace(pieces[0], pooled=(other,))], DEEP)


def test_candidates_are_weighed_anew():
    weights = Evidence(LISTENERS, np.array([1.0, 2.0, 0, 0, 0, 0]))
    (before,) = heard([call(0, GOOD, -2.0, -9.0)])
    (after,) = weighed([before], weights)
    scores = before.pooled[0].scores
    assert after.pooled[0].evidence == weights(scores, "nose tyre good", before.sound)
    assert after.pooled[0] == replace(before.pooled[0], evidence=after.pooled[0].evidence)


def test_what_is_judged_is_told_apart():
    lone = pooled(NAMED, "nose tyre", -2.0), pooled(COUNT, "lights three", -2.1)
    more = [
        trial(GOOD, piece(*lone), speaker="speaker 01"),
        trial(COUNT, piece(pooled(COUNT, "lights three", -2.0)), speaker="speaker 02"),
    ]
    data = judged(heard([*trials(), *more]), DEEP)
    assert data.rows.shape == (len(data.probability), len(FEATURES))
    assert data.column(FEATURES[0]).tolist() == data.rows[:, 0].tolist()
    named, number = -2, -1
    assert not data.right[named]
    assert data.harmless[named]  # it names the item alone, and that enters nothing
    assert data.right[number]
    assert data.numbers[number]
    assert not data.outside[number]
    assert not data.harmless[data.outside].any()


# --- how sure the probabilities are --------------------------------------------------------


def drawn(seed: int, count: int = 1000) -> tuple[np.ndarray, np.ndarray]:
    random = np.random.default_rng(seed)
    probability = random.random(count)
    return probability, random.random(count) < probability**2


def test_the_calibration_error_agrees_with_scikit_learn():
    probability, right = drawn(3)
    of_right, of_probability = calibration_curve(right, probability, n_bins=10, strategy="quantile")
    theirs = float(np.abs(of_right - of_probability).mean())  # the bins hold as many each
    assert expected_error(probability, right) == pytest.approx(theirs, abs=0.005)


def test_the_bins_are_those_of_scikit_learn():
    probability, right = drawn(4)
    of_right, of_probability = calibration_curve(right, probability, n_bins=10, strategy="quantile")
    counts, said, was = zip(*bins_of(probability, right), strict=True)
    assert sum(counts) == len(right)
    assert max(counts) - min(counts) <= 1
    assert said == pytest.approx(of_probability, abs=0.002)
    assert was == pytest.approx(of_right, abs=0.02)


def test_with_fewer_hearings_than_bins_each_is_a_bin():
    found = bins_of(np.array([0.9, 0.2, 0.5]), np.array([True, False, True]))
    assert found == [(1, 0.2, 0.0), (1, 0.5, 1.0), (1, 0.9, 1.0)]


# --- thresholds ----------------------------------------------------------------------------

hearings = st.lists(
    st.tuples(st.floats(0, 1), st.booleans(), st.booleans()), min_size=1, max_size=60
)


def made(found) -> Judged:
    """Hearings by probability, whether right, and whether a number."""
    probability, right, numbers = (np.array(column) for column in zip(*found, strict=True))
    none = np.zeros(len(found), dtype=bool)
    rows = np.zeros((len(found), len(FEATURES)))
    rules = load_calibration().thresholds
    return Judged(
        LISTENERS, rows, rules, ~none, probability, right, right, none, none, numbers, pieces=[]
    )


def costs(data: Judged, doubt: float) -> int:
    """Wrong hearings understood at this doubt."""
    taken = 1 - data.probability <= doubt * np.where(data.numbers, STAKES, 1.0)
    return int((taken & ~data.harmless).sum())


@settings(deadline=None)
@given(hearings, st.floats(0.001, 0.3))
def test_the_doubt_allowed_is_the_most_that_keeps_the_share_or_the_fewest_there_are(found, share):
    data = made(found)
    doubt = doubt_of(data, np.ones(len(found), dtype=bool), share, len(found))
    assert doubt in DOUBTS
    allowed = max(share * len(found), costs(data, DOUBTS[-1]))
    assert costs(data, doubt) <= allowed
    assert all(costs(data, more) > allowed for more in DOUBTS if more > doubt)


def test_only_the_hearings_of_a_kind_count():
    data = made([(0.99, False, False)] * 5 + [(0.99, True, False)] * 500)
    kind = data.right.copy()
    assert doubt_of(data, kind, 0.001, 505) == DOUBTS[0]
    assert doubt_of(data, ~kind, 0.001, 505) < 1 - 0.99


def in_order(limits: Thresholds) -> bool:
    return (
        0 <= limits.unclear < 1
        and limits.ask < limits.plain <= min(limits.critical, limits.reading)
        and limits.plain <= limits.bare < 1
        and max(limits.critical, limits.reading) < 1
        and 0 < limits.near <= limits.pair <= limits.alike
        and 0 < limits.noisy_dissent <= limits.dissent
    )


@pytest.mark.parametrize("seed", range(2))
def test_thresholds_are_in_order(seed):
    assert in_order(thresholds_of(judged(heard(trials(seed)), DEEP)))


# --- the whole -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def learnt() -> tuple[str, list[str]]:
    return calibration_of(trials(), ["made up"], 7, DEEP)


@pytest.fixture(scope="module")
def judge(learnt, tmp_path_factory) -> Judge:
    path: Path = tmp_path_factory.mktemp("learnt") / "calibration.json"
    path.write_text(learnt[0], encoding="utf-8")
    return Judge(load_calibration(path))


def test_a_learnt_judge_takes_calls_and_refuses_other_speech(judge):
    weigh = judge._calibration.evidence
    verdicts = []
    for truth, first, second in ((GOOD, -2.5, -17.0), (None, -35.0, -36.0)):
        (one,) = weighed(heard([call(99, truth, first, second)]), weigh)
        verdicts.append(judge(list(one.pooled), one.sound, Expectation()).verdict)
    assert verdicts[0] is Verdict.UNDERSTOOD
    assert verdicts[1] in (Verdict.OUTSIDE, Verdict.UNCLEAR)


def test_the_same_trials_teach_the_same(learnt):
    assert calibration_of(trials(), ["made up"], 7, DEEP) == learnt


def test_the_file_names_its_data(learnt):
    text, told = learnt
    found = json.loads(text)["learnt from"]
    assert (found["clips"], found["seed"], found["speakers"]) == (["made up"], 7, SPEAKERS)
    assert found["hearings"] == len(heard(trials()))
    assert (
        sum(count for count, _, _ in found["reliability, speakers held out"]) == (found["hearings"])
    )
    assert told[0].startswith(f"{found['hearings']} hearings of {SPEAKERS} speakers")


def test_the_thresholds_are_told(learnt):
    text, told = learnt
    for name, value in json.loads(text)["thresholds"].items():
        assert f"{name}: {value}" in told


def of_speakers(count: int) -> list[Trial]:
    names = {f"speaker {number:02}" for number in range(count)}
    return [one for one in trials() if one.recording.speaker in names]


TOO_LITTLE = {
    "no other speech": ([one for one in trials() if one.truth is not None], "not for the tool"),
    "no calls": ([one for one in trials() if one.truth is None], "calls with their right meaning"),
    "no call heard": (
        [one if one.truth is None else replace(one, truth=COUNT) for one in trials()],
        "calls with their right meaning",
    ),
    "nothing heard": ([replace(one, pieces=()) for one in trials()], "4 speakers"),
    "three speakers": (of_speakers(FOLDS - 1), "4 speakers"),
    "nothing": ([], "4 speakers"),
}


@pytest.mark.parametrize(("data", "needed"), TOO_LITTLE.values(), ids=TOO_LITTLE)
def test_too_little_to_learn_from_is_told(data, needed):
    with pytest.raises(VoicewalkError, match=needed) as told:
        calibration_of(data, ["made up"], 1, DEEP)
    assert "--clips" in told.value.what_to_do


def test_as_many_speakers_as_parts_are_enough():
    text, _ = calibration_of(of_speakers(FOLDS), ["made up"], 1, DEEP)
    assert in_order(Thresholds(**json.loads(text)["thresholds"]))
