"""Learns the judge: the logistic model and the thresholds, from observations of named data.

The speakers are dealt into as many parts as there are folds; each part is judged by a model
that never heard its speakers, and the thresholds are chosen on those judgements. The model
that is kept is then fitted on all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voicewalk.bench.observe import Observation
from voicewalk.hearing.judge import FEATURES, features, rank
from voicewalk.hearing.logistic import Logistic, fit
from voicewalk.language.meaning import Expectation

Doubles = NDArray[np.float64]

FOLDS = 4

ROOM = 0.25
"""Thresholds are set so much above the surest wrong hearing, as a part of the way to 1: the
surest wrong one of other data may be surer than that of these."""


@dataclass(frozen=True)
class Judged:
    """Every observation that holds a candidate, as rows.

    Attributes:
        rows: (n, features).
        right: whether the best meaning was the true one.
        outside: whether the speech was not for the tool.
        speakers: index of each one's speaker.
        numbers: whether the best meaning holds a number.
    """

    rows: Doubles
    right: NDArray[np.bool_]
    outside: NDArray[np.bool_]
    speakers: NDArray[np.int64]
    numbers: NDArray[np.bool_]


def judged(observations: Sequence[Observation]) -> Judged:
    """The judge's view of each observation."""
    nothing = Expectation()
    seen = [(o, rank(list(o.pooled), nothing)) for o in observations if o.pooled]
    names = sorted({o.recording.speaker for o, _ in seen})
    bests = [ranked[0].meaning for _, ranked in seen]
    return Judged(
        rows=np.array([features(ranked, o.sound, nothing) for o, ranked in seen]),
        right=np.array([m == o.truth for m, (o, _) in zip(bests, seen, strict=True)]),
        outside=np.array([o.truth is None for o, _ in seen]),
        speakers=np.array([names.index(o.recording.speaker) for o, _ in seen]),
        numbers=np.array([bool(m.value or m.size) for m in bests]),
    )


def held_out(data: Judged) -> Doubles:
    """The probability of each row by a model fitted without its speaker's part."""
    probability = np.empty(len(data.rows))
    part = data.speakers % FOLDS
    for fold in range(FOLDS):
        inside = part != fold
        model = fit(data.rows[inside], data.right[inside])
        probability[~inside] = model(data.rows[~inside])
    return probability


def above_wrong(probability: Doubles, right: NDArray[np.bool_], least: float) -> float:
    """A threshold above the surest wrong hearing, and no lower than ``least``."""
    surest = float(probability[~right].max(initial=0.0))
    return round(max(least, surest + (1 - surest) * ROOM), 4)


def expected_error(probability: Doubles, right: NDArray[np.bool_], bins: int = 10) -> float:
    """Expected calibration error over equally filled bins."""
    order = np.argsort(probability)
    parts = np.array_split(order, bins)
    gaps = [len(p) * abs(probability[p].mean() - right[p].mean()) for p in parts if len(p)]
    return float(sum(gaps) / len(probability))


def as_json(model: Logistic) -> dict[str, object]:
    """The model as the calibration file holds it."""
    return {
        "features": list(FEATURES),
        "mean": [round(float(x), 6) for x in model.mean],
        "scale": [round(float(x), 6) for x in model.scale],
        "weights": [round(float(x), 6) for x in model.weights],
        "bias": round(model.bias, 6),
    }
