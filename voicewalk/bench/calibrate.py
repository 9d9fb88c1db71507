"""Learns the calibration from trials of named data: how the listeners' scores weigh, how likely
a hearing is right, and what it must reach.

The speakers are dealt into as many parts as there are folds; each part is judged by models that
never heard its speakers, and the thresholds are chosen on those judgements. The models that are
kept are then fitted on all of them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voicewalk.bench.observe import Trial
from voicewalk.bench.score import is_harmless
from voicewalk.errors import VoicewalkError
from voicewalk.hearing.calibration import FEATURES, Thresholds
from voicewalk.hearing.evidence import (
    MARKS,
    PHONEMES,
    WORDS,
    Evidence,
    Sound,
    fit_evidence,
    marks,
    pace_odds,
)
from voicewalk.hearing.judge import close_to, features, rank, unsettled
from voicewalk.hearing.logistic import Logistic, fit
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import Expectation, Meaning

Doubles = NDArray[np.float64]

FOLDS = 4

WRONG = 0.00225
"""So much of all calls may be wrong entries, on speakers held out: both the share counted and the
share that the probabilities let expect. The mean of what is aimed at in quiet and at 10, 5 and
0 dB: 0.001, 0.001, 0.002 and 0.005."""

ACCEPTED = 0.002
"""So much of the speech that is not for the tool may be understood, counted alike."""

DOUBTS = np.round(np.geomspace(0.2, 0.002, 200), 4)
"""What is left to doubt in a hearing that is just understood: tried from the most on."""

STAKES = 0.5
"""A critical item, and a reading, may be doubted by so much of what a plain one may."""

ASK = 0.3
"""A meaning is worth asking about, with the second one, from here on: of the one or two that are
named, one is right oftener than not, and people are heard better than the judge believes who has
learnt from made voices."""

REFUSED = 0.9
"""So much of the speech that is not for the tool is to pass without a word from it; the rest
gets a "say again", as does a call that cannot be made out."""

NEAR, PAIR, ALIKE = 1.0, 2.5, 8.0
"""Log-odds against another meaning, against one that differs in one thing, and against teens for
tens, below which a person is asked whatever the probability: 3, 12, and 3,000 to 1. "Thirty" was
taken for "thirteen" with 400 to 1, by both listeners and in quiet."""

DISSENT, NOISY_DISSENT = 15.0, 4.0
"""Evidence by which one listener may prefer another meaning, in quiet and at 0 dB. In quiet one
of them errs by a speaker's accent, and the other knows better; in noise what both err in is what
is understood wrongly."""

FIT = 0.997
"""So much of the right hearings pass the rule that each listener must hear the meaning itself."""


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
        given = [p.prior + pace_odds(p.words, self.sound) for p in self.pooled]
        return rows, np.array(given)


@dataclass(frozen=True)
class Judged:
    """What a judge that never heard the speakers makes of every piece.

    Attributes:
        rows: (n, features).
        probability: (n,) that the best meaning is right.
        right: whether it is.
        harmless: whether it would enter nothing wrong: it is right, or names the item alone.
        outside: whether the speech was not for the tool.
        numbers: whether the best meaning holds a number.
        pieces: the pieces, their candidates weighed as they were judged.
    """

    rows: Doubles
    probability: Doubles
    right: NDArray[np.bool_]
    harmless: NDArray[np.bool_]
    outside: NDArray[np.bool_]
    numbers: NDArray[np.bool_]
    pieces: Sequence[Heard]

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


def rows_of(pieces: Sequence[Heard], weigh: Evidence) -> tuple[list[Heard], Doubles]:
    """The pieces, their candidates weighed and ranked, and their features."""
    ranked = [replace(p, pooled=tuple(rank(p.pooled))) for p in weighed(pieces, weigh)]
    return ranked, np.array([features(p.pooled, p.sound, weigh) for p in ranked])


def model_of(pieces: Sequence[Heard], weigh: Evidence) -> Logistic:
    """How likely the best meaning is right."""
    ranked, rows = rows_of(pieces, weigh)
    return fit(rows, np.array([p.pooled[0].meaning == p.truth for p in ranked]))


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
    ranked: dict[int, Heard] = {}
    for others, inside in parts(pieces):
        weigh = learn_evidence(others)
        own = np.flatnonzero(inside)
        found, rows[own] = rows_of([pieces[int(i)] for i in own], weigh)
        probability[own] = model_of(others, weigh)(rows[own])
        ranked |= {int(i): one for i, one in zip(own, found, strict=True)}
    in_order = [ranked[i] for i in range(len(pieces))]
    both = [(one.pooled[0].meaning, one.truth) for one in in_order]
    return Judged(
        rows,
        probability,
        right=np.array([meaning == truth for meaning, truth in both]),
        harmless=np.array([is_harmless(meaning, truth) for meaning, truth in both]),
        outside=np.array([truth is None for _, truth in both]),
        numbers=np.array([bool(meaning.value or meaning.size) for meaning, _ in both]),
        pieces=in_order,
    )


def doubt_of(data: Judged, kind: NDArray[np.bool_], share: float, of: int) -> float:
    """The most that may be doubted in what is understood, so that no more than ``share`` of
    ``of`` hearings are understood wrongly, by count and by the probabilities.

    Args:
        kind: the hearings that count.
    """
    stakes = np.where(data.numbers, STAKES, 1.0)
    for doubt in DOUBTS:
        taken = kind & (1 - data.probability <= doubt * stakes)
        wrong = int((taken & ~data.harmless).sum())
        expected = float((1 - data.probability)[taken].sum())
        if max(wrong, expected) <= share * of:
            break
    return float(doubt)


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


def rules_of(data: Judged) -> Thresholds:
    """The rules that no probability overrules; what a probability must reach is left at 0."""

    def fitting(name: str) -> float:
        return round(float(np.quantile(data.column(name)[data.right], 1 - FIT)), 2)

    return Thresholds(
        **dict.fromkeys(("plain", "critical", "reading", "bare", "ask", "unclear"), 0.0),
        dissent=DISSENT,
        noisy_dissent=NOISY_DISSENT,
        phonemes=fitting(PHONEMES),
        words=fitting(WORDS),
        near=NEAR,
        pair=PAIR,
        alike=ALIKE,
    )


def settled(data: Judged, rules: Thresholds) -> NDArray[np.bool_]:
    """The hearings that no rule would have asked back."""

    def one(piece: Heard, seen: Doubles) -> bool:
        best, *others = piece.pooled
        close = close_to(best, others, rules)
        return not unsettled(seen.tolist(), close, piece.sound, rules)

    return np.array([one(piece, seen) for piece, seen in zip(data.pieces, data.rows, strict=True)])


def thresholds_of(data: Judged) -> Thresholds:
    """What a hearing must reach."""
    rules = rules_of(data)
    passing = settled(data, rules)
    bare = data.column("bare") == 1
    calls = passing & ~data.outside & ~bare
    doubt = doubt_of(data, calls, WRONG, int((~data.outside & ~bare).sum()))
    other = doubt_of(data, passing & data.outside, ACCEPTED, int(data.outside.sum()))
    short = doubt_of(data, passing & bare, WRONG, int(bare.sum()))
    return replace(
        rules,
        plain=round(1 - doubt, 4),
        critical=round(1 - doubt * STAKES, 4),
        reading=round(1 - doubt * STAKES, 4),
        bare=round(1 - min(doubt, short, other), 4),
        ask=ASK,
        unclear=round(float(np.quantile(data.probability[data.outside], REFUSED)), 4),
    )


def calibration_of(
    trials: Sequence[Trial], sources: Sequence[str], seed: int
) -> tuple[str, list[str]]:
    """The calibration file's text, and a report of what it was learnt from.

    Raises:
        VoicewalkError: too few speakers, no speech that is not for the tool, or too few calls that
            were heard.
    """
    pieces = heard(trials)
    speakers = len({piece.speaker for piece in pieces})
    if speakers < FOLDS:
        raise _too_little(f"speech of {FOLDS} speakers at the least is needed")
    if all(piece.truth is not None for piece in pieces):
        raise _too_little("speech that is not for the tool is needed to learn to refuse it")
    try:
        data = judged(pieces)
    except ValueError as error:
        raise _too_little(str(error)) from error
    thresholds = asdict(thresholds_of(data))
    off = expected_error(data.probability, data.right)
    weigh = learn_evidence(pieces)
    text = json.dumps(
        {
            "learnt from": {
                "clips": list(sources),
                "seed": seed,
                "hearings": len(pieces),
                "speakers": speakers,
                "expected calibration error, speakers held out": round(off, 4),
                "reliability, speakers held out": [
                    [count, round(said, 4), round(was, 4)]
                    for count, said, was in bins_of(data.probability, data.right)
                ],
            },
            "evidence": _as_json(weigh),
            "model": _model_as_json(model_of(pieces, weigh)),
            "thresholds": thresholds,
        },
        indent=2,
    )
    return text + "\n", [
        f"{len(pieces)} hearings of {speakers} speakers, {int(data.outside.sum())} not calls",
        f"right meaning likeliest: {data.right[~data.outside].mean():.3f} of calls",
        f"expected calibration error, speakers held out: {off:.3f}",
        *(f"{name}: {value}" for name, value in thresholds.items()),
    ]


def _too_little(needed: str) -> VoicewalkError:
    return VoicewalkError(
        f"the judge cannot be learnt: {needed}", "Add a folder of such recordings with --clips."
    )


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
