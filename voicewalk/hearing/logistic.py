"""Logistic regression in a few lines: the probability that a hearing is right.

Fitted by Newton's method with a small ridge; checked in the tests against scikit-learn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]


@dataclass(frozen=True)
class Logistic:
    """``probability = 1 / (1 + exp(-(bias + weights . (x - mean) / scale)))``.

    Raises:
        ValueError: the three rows differ in length, a number is not finite, or a scale is not
            above zero. Such a model's probability would be no number, and pass any comparison.
    """

    mean: Doubles
    scale: Doubles
    weights: Doubles
    bias: float

    def __post_init__(self) -> None:
        rows = (self.mean, self.scale, self.weights)
        if len({row.shape for row in rows}) != 1:
            raise ValueError("mean, scale and weights differ in length")
        if not all(np.isfinite(row).all() for row in (*rows, self.bias)) or self.scale.min() <= 0:
            raise ValueError("mean, scale, weights and bias must be finite, scales above zero")

    def __call__(self, features: Doubles) -> Doubles:
        """Probabilities of rows of features, shape (n, features) or (features,)."""
        z = (features - self.mean) / self.scale @ self.weights + self.bias
        return np.asarray(1.0 / (1.0 + np.exp(-np.clip(z, -500, 500))))


def fit(
    features: Doubles,
    right: NDArray[np.bool_],
    ridge: float = 1.0,
    weights: Doubles | None = None,
) -> Logistic:
    """Fit to rows of features and whether each was right.

    Args:
        ridge: strength of the penalty on the weights (not on the bias), in units of one datum.
        weights: how much each row counts; 1 each where none are given.

    Raises:
        ValueError: only one of the two answers occurs.
    """
    if right.all() or not right.any():
        raise ValueError("both right and wrong hearings are needed to fit a judge")
    weigh = np.ones(len(features)) if weights is None else weights
    mean, scale = features.mean(axis=0), features.std(axis=0)
    scale = np.where(scale > 1e-6, scale, 1.0)  # a feature that never changes
    rows = np.column_stack([(features - mean) / scale, np.ones(len(features))])
    penalty = np.append(np.full(features.shape[1], ridge), 0.0)
    theta = np.zeros(rows.shape[1])
    for _ in range(100):
        p = 1.0 / (1.0 + np.exp(-np.clip(rows @ theta, -500, 500)))
        gradient = rows.T @ (weigh * (p - right)) + penalty * theta
        curvature = (rows * (weigh * p * (1 - p))[:, None]).T @ rows + np.diag(penalty + 1e-9)
        step = np.linalg.solve(curvature, gradient)
        theta -= step
        if np.abs(step).max() < 1e-10:
            break
    return Logistic(mean, scale, theta[:-1], float(theta[-1]))
