"""Learns the calibration from trials of named data: how the listeners' scores weigh, how likely
a hearing is right, and what it must reach.

The speakers are dealt into as many parts as there are folds; each part is judged by models that
never heard its speakers, and the thresholds are chosen on those judgements. The models that are
kept are then fitted on all of them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voicewalk.bench.observe import Trial
from voicewalk.hearing.calibration import FEATURES
from voicewalk.hearing.evidence import MARKS, WORDS, Evidence, Sound, fit_evidence, marks, pace_odds
from voicewalk.hearing.judge import features, rank, weight
from voicewalk.hearing.logistic import Logistic, fit
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import Expectation, Meaning

Doubles = NDArray[np.float64]

FOLDS = 4

WRONG = 0.0005
"""So much of all calls may be understood wrongly, on speakers held out: thresholds are set to
keep both the share counted and the share expected by the probabilities below it."""

LEAST = 0.8
"""No threshold for understanding lies below this, however good the data look."""

CRITICAL = 0.5
"""A critical item needs so much of the remaining doubt less than a plain one."""

ASK = 0.5
"""A meaning is worth asking about where it is likelier right than wrong."""

REFUSED = 0.9
"""So much of the speech that is not for the tool is to pass without a word from it; the rest
gets a "say again", as does a call that cannot be made out."""

NEAR, PAIR = 2.5, 4.0
"""Where the evidence prefers the best meaning by less, a person is asked: odds of 12 to 1, and
of 55 to 1 against what differs in one thing, which more often than others is what was said."""

AGREED = 0.99
"""So much of the right hearings pass the rule that no listener may prefer another meaning."""


@dataclass(frozen=True)
class Heard:
    """One piece of a trial, for learning."""

    pooled: tuple[Pooled, ...]
    sound: Sound
    expectation: Expectation
    truth: Meaning | None
    speaker: str

    def candidates(self) -> tuple[Doubles, Doubles]:
        """The candidates' marks and given log weights, as ``fit_evidence`` takes them."""
        rows = np.array([marks(p.scores, p.words, self.sound) for p in self.pooled])
        given = [
            weight(p.meaning, self.expectation) + pace_odds(p.words, self.sound)
            for p in self.pooled
        ]
        return rows, np.array(given)


@dataclass(frozen=True)
class Judged:
    """What a judge that never heard the speakers makes of every piece.

    Attributes:
        rows: (n, features).
        probability: (n,) that the best meaning is right.
        right: whether it is.
        outside: whether the speech was not for the tool.
        numbers: whether the best meaning holds a number.
    """

    rows: Doubles
    probability: Doubles
    right: NDArray[np.bool_]
    outside: NDArray[np.bool_]
    numbers: NDArray[np.bool_]

    def column(self, name: str) -> Doubles:
        """One feature."""
        return np.asarray(self.rows[:, FEATURES.index(name)])


def heard(trials: Sequence[Trial]) -> list[Heard]:
    """The pieces in which anything was heard. A part of a call is not the call."""
    return [
        Heard(piece.pooled, piece.sound, trial.expectation, trial.truth, trial.recording.speaker)
        for trial in trials
        for piece in trial.pieces
        if piece.pooled
    ]


def learn_evidence(pieces: Sequence[Heard]) -> Evidence:
    """How the scores weigh, from the calls whose right meaning was among the candidates."""
    sets: list[tuple[Doubles, Doubles, int]] = []
    for piece in pieces:
        meanings = [p.meaning for p in piece.pooled]
        if piece.truth in meanings:
            sets.append((*piece.candidates(), meanings.index(piece.truth)))
    words = np.array([WORDS not in mark for mark in MARKS], dtype=float)
    alone = [(rows * words, given, right) for rows, given, right in sets]
    return Evidence(fit_evidence(sets), fit_evidence(alone))


def weighed(pieces: Sequence[Heard], weigh: Evidence) -> list[Heard]:
    """The pieces with their candidates' evidence by other weights."""
    return [
        replace(
            piece,
            pooled=tuple(
                replace(p, evidence=weigh(p.scores, p.words, piece.sound)) for p in piece.pooled
            ),
        )
        for piece in pieces
    ]


def rows_of(pieces: Sequence[Heard], weigh: Evidence) -> tuple[Doubles, NDArray[np.bool_], Doubles]:
    """Features of each piece, whether its best meaning is right, and whether that is a number."""
    rows, right, numbers = [], [], []
    for piece in weighed(pieces, weigh):
        ranked = rank(list(piece.pooled), piece.expectation)
        best = ranked[0].meaning
        rows.append(features(ranked, piece.sound, piece.expectation, weigh))
        right.append(best == piece.truth)
        numbers.append(bool(best.value or best.size))
    return np.array(rows), np.array(right), np.array(numbers)


def parts(pieces: Sequence[Heard]) -> Iterator[tuple[list[Heard], NDArray[np.bool_]]]:
    """For each fold the pieces of the speakers outside it, and which pieces lie inside."""
    speakers = sorted({piece.speaker for piece in pieces})
    part = np.array([speakers.index(piece.speaker) % FOLDS for piece in pieces])
    for fold in range(FOLDS):
        yield [p for p, own in zip(pieces, part == fold, strict=True) if not own], part == fold


def judged(pieces: Sequence[Heard]) -> Judged:
    """Every piece, judged without its speaker's part."""
    rows = np.empty((len(pieces), len(FEATURES)))
    probability = np.empty(len(pieces))
    right, numbers = np.empty((2, len(pieces)), dtype=bool)
    for others, inside in parts(pieces):
        weigh = learn_evidence(others)
        model = fit(*rows_of(others, weigh)[:2])
        own = [p for p, is_own in zip(pieces, inside, strict=True) if is_own]
        rows[inside], right[inside], numbers[inside] = rows_of(own, weigh)
        probability[inside] = model(rows[inside])
    outside = np.array([piece.truth is None for piece in pieces])
    return Judged(rows, probability, right, outside, numbers)


def least_probability(probability: Doubles, right: NDArray[np.bool_], share: float) -> float:
    """The lowest threshold, from ``LEAST`` on, above which no more than ``share`` of all
    hearings are wrong, both as counted and as their probabilities let expect."""
    order = np.argsort(-probability)
    wrong = np.cumsum(~right[order]) / len(right)
    expected = np.cumsum(1 - probability[order]) / len(right)
    bad = np.flatnonzero((wrong > share) | (expected > share))
    if not len(bad):
        return LEAST
    return round(max(LEAST, float(probability[order][bad[0]]) + 5e-5), 4)


def expected_error(probability: Doubles, right: NDArray[np.bool_], bins: int = 10) -> float:
    """Expected calibration error over equally filled bins."""
    filled = bins_of(probability, right, bins)
    return sum(count * abs(said - was) for count, said, was in filled) / len(probability)


def bins_of(
    probability: Doubles, right: NDArray[np.bool_], bins: int = 10
) -> list[tuple[int, float, float]]:
    """Equally filled bins by probability: how many hearings, their mean probability, and the
    share that was right."""
    cuts = np.array_split(np.argsort(probability), bins)
    return [
        (len(cut), float(probability[cut].mean()), float(right[cut].mean()))
        for cut in cuts
        if len(cut)
    ]


def thresholds_of(data: Judged) -> dict[str, float]:
    """What a hearing must reach."""
    prefers = np.minimum(data.column("phonemes margin"), data.column("words margin"))
    dissent = round(float(-np.quantile(prefers[data.right], 1 - AGREED)), 2)
    passing = (prefers >= -dissent) & (data.column("margin") >= NEAR)
    bare = passing & (data.column("bare") == 1)
    named = passing & (data.column("bare") == 0)

    def least(kind: NDArray[np.bool_]) -> float:
        return least_probability(data.probability[kind], data.right[kind], WRONG)

    plain = least(named & ~data.numbers)
    return {
        "plain": plain,
        "critical": round(1 - (1 - plain) * CRITICAL, 4),
        "reading": max(plain, least(named & data.numbers)),
        "bare": max(plain, least(bare)),
        "ask": ASK,
        "unclear": round(float(np.quantile(data.probability[data.outside], REFUSED)), 4),
        "dissent": dissent,
        "near": NEAR,
        "pair": PAIR,
    }


def calibration_of(
    trials: Sequence[Trial], sources: Sequence[str], seed: int
) -> tuple[str, list[str]]:
    """The calibration file's text, and a report of what it was learnt from.

    Raises:
        ValueError: no call's meaning was heard, or no speech was outside the vocabulary.
    """
    pieces = heard(trials)
    data = judged(pieces)
    if not data.outside.any():
        raise ValueError("speech that is not for the tool is needed to learn to refuse it")
    thresholds = thresholds_of(data)
    error = expected_error(data.probability, data.right)
    speakers = len({piece.speaker for piece in pieces})
    weigh = learn_evidence(pieces)
    text = json.dumps(
        {
            "learnt from": {
                "clips": list(sources),
                "seed": seed,
                "hearings": len(pieces),
                "speakers": speakers,
                "expected calibration error, speakers held out": round(error, 4),
                "reliability, speakers held out": [
                    [count, round(said, 4), round(was, 4)]
                    for count, said, was in bins_of(data.probability, data.right)
                ],
            },
            "evidence": _as_json(weigh),
            "model": _model_as_json(fit(*rows_of(pieces, weigh)[:2])),
            "thresholds": thresholds,
        },
        indent=2,
    )
    return text + "\n", [
        f"{len(pieces)} hearings of {speakers} speakers, {int(data.outside.sum())} not calls",
        f"right meaning likeliest: {data.right[~data.outside].mean():.3f} of calls",
        f"expected calibration error, speakers held out: {error:.3f}",
        *(f"{name}: {value}" for name, value in thresholds.items()),
    ]


def _rounded(numbers: Doubles) -> list[float]:
    return [round(float(number), 6) for number in numbers]


def _as_json(weigh: Evidence) -> dict[str, object]:
    return {"marks": list(MARKS), "both": _rounded(weigh.both), "alone": _rounded(weigh.alone)}


def _model_as_json(model: Logistic) -> dict[str, object]:
    """The model as the calibration file holds it."""
    return {
        "features": list(FEATURES),
        "mean": _rounded(model.mean),
        "scale": _rounded(model.scale),
        "weights": _rounded(model.weights),
        "bias": round(model.bias, 6),
    }
