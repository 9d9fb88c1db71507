"""The evidence: its marks and pace, and its fit against scikit-learn's and SciPy's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import logsumexp
from sklearn.linear_model import LogisticRegression

from voicewalk.audio.frames import FRAME, RATE
from voicewalk.hearing.evidence import (
    AROUND,
    COMMON_PACE,
    Evidence,
    Sound,
    doublings,
    fit_evidence,
    letters_of,
    marks,
    marks_of,
)
from voicewalk.settings import AudioSettings

QUIET, LOUD = 20.0, 0.0
LISTENERS = ("letters", "words")
MARKS = marks_of(LISTENERS)
SCORES = {"letters": -8.0, "words": -3.0}
CALL = "nose tyre good"  # 12 letters


def common(words: str) -> float:
    """Seconds of a clip in which words are said at the common pace."""
    return AROUND + letters_of(words) * COMMON_PACE


# --- marks ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "letters"), [("stop", 4), (CALL, 12), ("six o'clock", 10), ("", 1), (" ", 1)]
)
def test_letters_are_counted_without_the_spaces(words, letters):
    assert letters_of(words) == letters


@pytest.mark.parametrize(
    ("snr", "share"), [(QUIET, 0.0), (60.0, 0.0), (10.0, 0.5), (LOUD, 1.0), (-4.0, 1.2), (-40, 1.2)]
)
def test_marks_stand_again_for_noise_by_how_much_there_is(snr, share):
    found = marks(LISTENERS, SCORES, CALL, Sound(2.0, snr))
    plain = [-8.0, -3.0, 12.0]
    assert found == pytest.approx([*plain, *(share * one for one in plain)])
    assert len(found) == len(MARKS)


def test_a_score_that_is_missing_counts_as_none():
    found = dict(
        zip(MARKS, marks(LISTENERS, {"letters": -8.0}, CALL, Sound(2.0, LOUD)), strict=True)
    )
    assert (found["words"], found["words in noise"]) == (0.0, 0.0)
    assert (found["letters"], found["letters in noise"]) == (-8.0, -8.0)


# --- pace ----------------------------------------------------------------------------------


@pytest.mark.parametrize("words", ["stop", CALL, "left main tyre pressure two one zero psi"])
@pytest.mark.parametrize("times", [0.5, 1.0, 2.0, 3.0])
def test_pace_is_measured_in_doublings_of_the_common_one(words, times):
    seconds = AROUND + times * (common(words) - AROUND)
    assert doublings(words, Sound(seconds, QUIET)) == pytest.approx(np.log2(times))


@pytest.mark.parametrize("seconds", [1.0, 2.0, 9.0])
def test_pace_is_that_of_the_words_however_long_the_clip_is(seconds):
    sound = Sound(seconds, 0.0, span=(0.5, 0.5 + 2 * (common(CALL) - AROUND)))
    assert doublings(CALL, sound) == pytest.approx(1.0)


def test_so_much_lies_behind_speech_as_the_endpointer_keeps():
    keeps, frame = AudioSettings(), FRAME / RATE
    assert Sound(2.0, QUIET).after == pytest.approx(keeps.postroll_frames * frame)
    assert Sound(2.0, QUIET, faint=True).after == pytest.approx(keeps.faint_postroll_frames * frame)
    assert pytest.approx((keeps.preroll_frames + keeps.postroll_frames) * frame) == AROUND


sounds = st.builds(Sound, st.floats(0, 60), st.floats(-60, 90))
words = st.lists(st.sampled_from(["stop", "tyre", "satisfactory", "x"]), max_size=12).map(" ".join)


# --- weights -------------------------------------------------------------------------------

TOGETHER = np.array([0.5, 0.3, 0.1, -0.2, -0.1, 0.05])
ALONE = np.array([0.4, 0.2, -0.3, 0.1])
WEIGH = Evidence(LISTENERS, TOGETHER, {"letters": Evidence(("letters",), ALONE)})
scores = st.fixed_dictionaries({"letters": st.floats(-1000, 0), "words": st.floats(-1000, 20)})


def test_the_evidence_of_a_known_candidate():
    """Worked out by hand: marks -8, -3, 12 and half of each."""
    sound = Sound(common(CALL), 10.0)
    assert WEIGH(SCORES, CALL, sound) == pytest.approx(-4.0 - 0.9 + 1.2 + 0.8 + 0.15 + 0.3)
    alone = WEIGH.alone["letters"]
    assert alone({"letters": -8.0}, CALL, sound) == pytest.approx(-3.2 + 2.4 + 1.2 + 0.6)


@given(scores, words, sounds)
def test_evidence_is_the_weighed_marks(scores, words, sound):
    expected = TOGETHER @ marks(LISTENERS, scores, words, sound)
    assert WEIGH(scores, words, sound) == pytest.approx(expected)


@given(scores, words, sounds, st.floats(-1000, 0))
def test_a_listener_that_is_not_weighed_changes_nothing(scores, words, sound, another):
    """So that one that was added can be heard before it is learnt of."""
    assert WEIGH({**scores, "another": another}, words, sound) == WEIGH(scores, words, sound)


@pytest.mark.parametrize(
    "weights",
    [
        np.zeros(5),
        np.zeros(7),
        np.zeros((6, 1)),
        np.array([0, 0, np.nan, 0, 0, 0]),
        TOGETHER * np.inf,
    ],
    ids=["one-less", "one-more", "a-column", "no-number", "infinite"],
)
def test_weights_that_would_give_no_number_are_refused(weights):
    with pytest.raises(ValueError, match="finite, one for each mark"):
        replace(WEIGH, weights=weights)


@pytest.mark.parametrize("name", ["length", "length in noise", "words", "words in noise"])
def test_a_listener_named_as_another_mark_is_refused(name):
    listeners = (*LISTENERS, name)
    with pytest.raises(ValueError, match="must differ"):
        Evidence(listeners, np.zeros(8))


# --- the fit -------------------------------------------------------------------------------

Sets = list[tuple[np.ndarray, np.ndarray, int]]


def drawn(seed: int, count: int, candidates: int, columns: int, told: float = 1.0) -> Sets:
    """Sets whose right candidate was drawn by weights times ``told``, columns of unlike size."""
    random = np.random.default_rng(seed)
    weights = told * random.normal(0, 1, columns)
    size = random.uniform(0.1, 50, columns)
    sets = []
    for _ in range(count):
        rows = random.normal(0, 1, (candidates, columns))
        given = random.normal(0, 1, candidates)
        odds = rows @ weights + given
        share = np.exp(odds - logsumexp(odds))
        sets.append((rows * size, given, int(random.choice(candidates, p=share / share.sum()))))
    return sets


def spread_of(sets: Sets) -> np.ndarray:
    return np.concatenate([rows for rows, _, _ in sets]).std(axis=0)


@pytest.mark.parametrize("ridge", [0.02, 1.0, 10.0])
@pytest.mark.parametrize("columns", [1, 6])
@pytest.mark.parametrize("told", [0.0, 1.0, 20.0], ids=["nothing", "some", "nearly all"])
def test_for_two_candidates_it_is_logistic_regression_on_their_difference(told, columns, ridge):
    """A well-known identity (McFadden 1974; K. Train, "Discrete Choice Methods with
    Simulation", chapter 3): the conditional logit of two is the logit of what they differ in."""
    sets = [(rows, np.zeros(2), right) for rows, _, right in drawn(5, 200, 2, columns, told)]
    spread = spread_of(sets)
    first = np.array([(rows[0] - rows[1]) / spread for rows, _, _ in sets])
    right = np.array([right == 0 for _, _, right in sets])
    # Its C is the inverse of the same penalty: half the squared weights.
    other = LogisticRegression(C=1 / ridge, fit_intercept=False, tol=1e-10, max_iter=10_000)
    expected = other.fit(first, right).coef_[0] / spread
    assert fit_evidence(sets, ridge) * spread == pytest.approx(expected * spread, abs=1e-3)


def loss_of(sets: Sets, ridge: float):
    """The penalised negative log-likelihood of scaled weights, written straight."""
    spread = spread_of(sets)

    def loss(theta: np.ndarray) -> float:
        total = 0.5 * ridge * float(theta @ theta)
        for rows, before, right in sets:
            odds = rows / spread @ theta + before
            total += float(logsumexp(odds) - odds[right])
        return total

    return loss


@pytest.mark.parametrize("candidates", [1, 2, 3, 9])
@pytest.mark.parametrize("ridge", [0.02, 1.0])
def test_weights_that_are_given_and_any_number_of_candidates_agree_with_scipy(candidates, ridge):
    sets = drawn(11, 40, candidates, 3)
    expected = minimize(loss_of(sets, ridge), np.zeros(3), method="BFGS", options={"gtol": 1e-8}).x
    assert fit_evidence(sets, ridge) * spread_of(sets) == pytest.approx(expected, abs=1e-3)


@settings(deadline=None, max_examples=60)
@given(
    st.integers(0, 999), st.integers(1, 30), st.integers(1, 5), st.integers(1, 4), st.floats(0, 30)
)
def test_no_other_weights_are_better(seed, count, candidates, columns, told):
    """The loss is convex, so no step from its least point leads lower."""
    sets = drawn(seed, count, candidates, columns, told)
    spread = spread_of(sets)
    assume((spread > 1e-6).all())
    loss = loss_of(sets, 0.02)
    theta = fit_evidence(sets) * spread
    assert np.isfinite(theta).all()
    for step in np.concatenate([np.eye(columns), -np.eye(columns)]):
        assert loss(theta) <= loss(theta + 0.01 * step) + 1e-9


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 999), st.floats(-50, 50))
def test_what_all_candidates_are_given_alike_weighs_nothing(seed, more):
    sets = drawn(seed, 20, 3, 2)
    moved = [(rows, given + more, right) for rows, given, right in sets]
    assert fit_evidence(moved) == pytest.approx(fit_evidence(sets), abs=1e-6)


def test_a_mark_that_never_differs_weighs_nothing():
    sets = drawn(3, 60, 3, 2)
    flat = [(np.column_stack([rows, np.full(3, 7.0)]), given, right) for rows, given, right in sets]
    fitted = fit_evidence(flat)
    assert fitted[2] == pytest.approx(0.0, abs=1e-9)
    assert fitted[:2] == pytest.approx(fit_evidence(sets))


def test_the_true_weights_are_found_again():
    """Within four standard errors, by the Fisher information of the sets."""
    random = np.random.default_rng(1)
    true = np.array([0.8, -0.5, 0.3])
    sets, information = [], np.zeros((3, 3))
    for _ in range(2000):
        rows = random.normal(0, 2, (4, 3))
        share = np.exp(rows @ true - logsumexp(rows @ true))
        information += np.cov(rows.T, aweights=share, bias=True)
        sets.append((rows, np.zeros(4), int(random.choice(4, p=share / share.sum()))))
    error = np.sqrt(np.diag(np.linalg.inv(information)))
    assert (np.abs(fit_evidence(sets) - true) < 4 * error).all()
    assert (error < 0.05).all()


def test_no_sets_teach_nothing():
    with pytest.raises(ValueError, match="right meaning among the candidates"):
        fit_evidence([])
