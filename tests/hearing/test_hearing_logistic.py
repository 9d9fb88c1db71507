"""Logistic regression against scikit-learn's, on data drawn here."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.linear_model import LogisticRegression
from sklearn.preprocessing import StandardScaler

from voicewalk.hearing.logistic import Logistic, fit


def drawn(seed: int, count: int, columns: int, parted: float) -> tuple[np.ndarray, np.ndarray]:
    """Rows and answers; ``parted`` is how far apart the two answers lie."""
    random = np.random.default_rng(seed)
    right = random.random(count) < 0.8
    right[:2] = True, False
    rows = random.normal(0, 1, (count, columns)) + parted * right[:, None]
    return rows * random.uniform(0.1, 50, columns) + random.uniform(-20, 20, columns), right


@pytest.mark.parametrize("parted", [0.0, 0.5, 2.0, 30.0], ids=["none", "some", "far", "wholly"])
@pytest.mark.parametrize("ridge", [0.1, 1.0, 10.0])
@pytest.mark.parametrize("columns", [1, 10])
def test_probabilities_are_those_of_scikit_learn(parted, ridge, columns):
    rows, right = drawn(7, 300, columns, parted)
    scaled = StandardScaler().fit_transform(rows)
    # Its C is the inverse of the same penalty: half the squared weights, the bias left free.
    other = LogisticRegression(C=1 / ridge, tol=1e-10, max_iter=10_000).fit(scaled, right)
    expected = other.predict_proba(scaled)[:, 1]
    model = fit(rows, right, ridge)
    assert model(rows) == pytest.approx(expected, abs=1e-3)
    assert model(rows[0]) == pytest.approx(expected[0], abs=1e-3)


@settings(deadline=None)
@given(st.integers(0, 999), st.integers(3, 60), st.integers(1, 4), st.floats(0, 100))
def test_any_data_gives_probabilities_whose_mean_is_the_share_of_right_ones(
    seed, count, columns, parted
):
    """The bias is free, so at the optimum predicted and true shares are the same."""
    rows, right = drawn(seed, count, columns, parted)
    probability = fit(rows, right)(rows)
    assert np.all((probability >= 0) & (probability <= 1))
    assert probability.mean() == pytest.approx(right.mean(), abs=1e-6)


def test_a_column_that_never_changes_says_nothing():
    rows, right = drawn(1, 50, 2, 1.0)
    flat = np.column_stack([rows, np.full(50, 3.0)])
    model = fit(flat, right)
    assert model.weights[2] == pytest.approx(0.0, abs=1e-9)
    assert model(flat) == pytest.approx(fit(rows, right)(rows))


@pytest.mark.parametrize("right", [True, False], ids=["all-right", "all-wrong"])
def test_one_answer_alone_teaches_nothing(right):
    with pytest.raises(ValueError, match="both right and wrong"):
        fit(np.arange(6.0).reshape(3, 2), np.full(3, right))


@pytest.mark.parametrize(
    "changed",
    [
        {"weights": np.ones(3)},
        {"mean": np.array([0.0, np.nan])},
        {"weights": np.array([np.inf, 0.0])},
        {"scale": np.array([0.0, 1.0])},
        {"scale": np.array([-1.0, 1.0])},
        {"bias": np.nan},
        {"bias": np.inf},
    ],
    ids=lambda changed: str(*changed),
)
def test_a_model_whose_probability_would_be_no_number_is_refused(changed):
    sound = {"mean": np.zeros(2), "scale": np.ones(2), "weights": np.ones(2), "bias": 0.0}
    assert Logistic(**sound)(np.zeros(2)) == 0.5
    with pytest.raises(ValueError):
        Logistic(**{**sound, **changed})


def test_far_features_are_no_overflow():
    model = Logistic(np.zeros(1), np.ones(1), np.array([1e6]), 0.0)
    with np.errstate(all="raise"):
        assert model(np.array([1e6])) == 1.0
        assert model(np.array([-1e6])) == pytest.approx(0.0)
