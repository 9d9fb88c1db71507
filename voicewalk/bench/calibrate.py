"""Learns the judge: the logistic model and the thresholds, from observations of named data.

The speakers are dealt into as many parts as there are folds; each part is judged by a model
that never heard its speakers, and the thresholds are chosen on those judgements. The model
that is kept is then fitted on all of them.
"""

from __future__ import annotations

import json
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


LEAST = 0.8
"""No threshold for understanding lies below this, however good the data look."""

DISSENT = 8.0
"""Where one listener prefers another meaning by more than this, a person is asked. The word
listener exaggerates: in noise it prefers a wrong meaning by up to 6 in one right hearing of
five, and by more than 8 in one of ten."""

ASK = 0.5
"""A meaning is worth asking about where it is likelier right than wrong."""

REFUSED = 0.9
"""So much of the speech that is not for the tool is to pass without a word from it; the rest
gets a "say again", as does a call that cannot be made out."""

NEAR = 2.5
"""Where both together prefer the best meaning by less than this, a person is asked."""


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


def calibration_of(
    observations: Sequence[Observation], sources: Sequence[str], seed: int
) -> tuple[str, list[str]]:
    """The calibration file's text, and a report of what it was learnt from.

    Raises:
        ValueError: no observation was right, or no speech was outside the vocabulary.
    """
    data = judged(observations)
    if not data.outside.any():
        raise ValueError("speech that is not for the tool is needed to learn to refuse it")
    probability = held_out(data)
    view = dict(zip(FEATURES, data.rows.T, strict=True))
    close = (np.minimum(view["phonemes_margin"], view["words_margin"]) >= -DISSENT) & (
        view["margin"] >= NEAR
    )
    bare = close & (view["bare"] == 1)
    agreed = close & (view["bare"] == 0)
    plain = above_wrong(probability[agreed], data.right[agreed], LEAST)
    number = agreed & data.numbers
    calls = ~data.outside
    thresholds = {
        "plain": plain,
        "critical": round(plain + (1 - plain) * ROOM, 4),
        "reading": above_wrong(probability[number], data.right[number], plain),
        "bare": above_wrong(probability[bare], data.right[bare], plain),
        "ask": ASK,
        "unclear": round(float(np.quantile(probability[data.outside], REFUSED)), 4),
        "dissent": DISSENT,
        "near": NEAR,
    }
    understood = agreed & (probability >= np.where(data.numbers, thresholds["reading"], plain))
    error = expected_error(probability, data.right)
    speakers = len(set(data.speakers.tolist()))
    provenance = {
        "clips": list(sources),
        "seed": seed,
        "hearings": len(data.rows),
        "speakers": speakers,
        "expected calibration error, speakers held out": round(error, 4),
    }
    text = json.dumps(
        {
            "learnt from": provenance,
            "model": as_json(fit(data.rows, data.right)),
            "thresholds": thresholds,
        },
        indent=2,
    )
    return text + "\n", [
        f"{len(data.rows)} hearings of {speakers} speakers, {int(data.outside.sum())} not calls",
        f"calls understood, speakers held out: {understood[calls].mean():.3f}",
        f"wrong among the understood: {int((understood & ~data.right).sum())}",
        f"expected calibration error, speakers held out: {error:.3f}",
        *(f"{name}: {value}" for name, value in thresholds.items()),
    ]
