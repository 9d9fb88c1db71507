"""Learns the calibration from trials of named data: how the listeners' scores weigh, how likely
a hearing is right, and what it must reach.

The speakers are dealt into as many parts as there are folds; each part is judged by models that
never heard its speakers, and the thresholds are chosen on those judgements. The models that are
kept are then fitted on all of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from voicewalk.bench.observe import Trial
from voicewalk.bench.score import is_harmless
from voicewalk.errors import VoicewalkError
from voicewalk.hearing.calibration import (
    Thresholds,
    features_of,
    model_features,
    model_rows,
    sealed,
)
from voicewalk.hearing.evidence import (
    Evidence,
    Sound,
    fit_evidence,
    marks,
    marks_of,
)
from voicewalk.hearing.judge import close_to, features, rank, unconfirmed, unsettled
from voicewalk.hearing.logistic import Logistic, fit
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import NO_CALL, Expectation, Meaning
from voicewalk.language.near import enters
from voicewalk.language.talk import Near

Doubles = NDArray[np.float64]

FOLDS = 4

WRONG = 0.00125
"""So much of all calls may be wrong entries, on speakers held out. The mean of what is aimed at in
quiet and at 10, 5 and 0 dB: 0.0005, 0.0005, 0.001 and 0.003."""

ACCEPTED = 0.001
"""So much of the speech that is not for the tool may be understood, counted alike."""

NEARLY = 0.00475
"""So much of the speech near a call may be recorded, counted alike: the mean of 0.002, 0.002, 0.005
and 0.01 at the same levels."""

EXPLAINED = 0.995
"""So much of the right hearings pass each rule on what a call leaves unexplained, in quiet and in
noise by itself: what they refuse is asked back, and that costs a second."""

_QUIET_FROM, _NOISY_BELOW = 15.0, 3.0
"""Decibels: which hearings are of the quiet, and which of the noise at 0 dB."""

_LEAST_TOTAL = -29.9
"""Nats: the judge sees no call score lower than -30."""

MOST_WEIGHT = 8.0
MADE = ("made", "synthetic")
"""How the sources of made speech begin."""

DOUBTS = np.round(np.geomspace(0.2, 0.002, 200), 4)
"""What is left to doubt in a hearing that is just understood: tried from the most on."""

STAKES = 0.5
"""A critical item, a reading, and what names no item, may be doubted by so much of what a plain
call may."""

ASK = 0.3
"""A meaning is worth asking about, with the second one, from here on: of the one or two that are
named, one is right oftener than not, and people are heard better than the judge believes who has
learnt from made voices."""

REFUSED = 0.9
"""So much of the speech that is not for the tool is to pass without a word from it; the rest
gets a "say again", as does a call that cannot be made out."""

NEAR, PAIR, ALIKE = 1.0, 2.5, 4.0
"""Log-odds against another meaning, against one that differs in one thing, and against teens for
tens, below which a person is asked whatever the probability: 3, 12, and 50 to 1."""

DISSENT, NOISY_DISSENT = 15.0, 4.0
"""Evidence by which one listener may prefer another meaning, in quiet and at 0 dB. In quiet one
of them errs by a speaker's accent, and the other knows better; in noise what both err in is what
is understood wrongly."""

FIT = 0.997
"""So much of the right hearings pass the rule that each listener must hear the meaning itself."""


@dataclass(frozen=True)
class Heard:
    """One piece of a trial, for learning.

    Attributes:
        near: whether it is speech near a call.
        may: what such speech may enter; of other speech what it means by itself, where nothing
            asks for it: who says "zero" to somebody else was not misheard as "zero".
        made: whether a synthetic voice spoke it.
    """

    pooled: tuple[Pooled, ...]
    sound: Sound
    expectation: Expectation
    truth: Meaning | None
    speaker: str
    near: bool = False
    may: tuple[Meaning, ...] = ()
    made: bool = True

    def is_right(self, meaning: Meaning) -> bool:
        """Whether this was called, or is what was said all the same: talk near a call is talk."""
        talk = self.near and meaning.act in NO_CALL
        return talk or meaning == self.truth or meaning in self.may

    def is_harmless(self, meaning: Meaning) -> bool:
        """Whether it would enter nothing wrong. Of speech near a call that is what enters
        nothing at all, or what an opposite says."""
        if self.near:
            return meaning in self.may or not enters(meaning)
        if meaning.act in NO_CALL:
            return True
        return meaning in self.may or is_harmless(meaning, self.truth)

    @property
    def listeners(self) -> tuple[str, ...]:
        """The names of those that heard it."""
        return tuple(self.pooled[0].scores)

    def candidates(self, listeners: tuple[str, ...]) -> tuple[Doubles, Doubles]:
        """The candidates' marks by these listeners and their given log weights, as
        ``fit_evidence`` takes them."""
        rows = np.array([marks(listeners, p.scores, p.words, self.sound) for p in self.pooled])
        return rows, np.array([p.prior for p in self.pooled])


@dataclass(frozen=True)
class Judged:
    """What a judge that never heard the speakers makes of every piece.

    Attributes:
        listeners: the names of those that heard the pieces.
        rows: (n, features).
        rules: what no probability overrules.
        settled: whether no rule speaks against the hearing.
        probability: (n,) that the best meaning is right.
        right: whether it is.
        harmless: whether it would enter nothing wrong: it is right, or names the item alone.
        outside: whether the speech was no call.
        near: whether it was near one.
        numbers: whether the best meaning holds a number.
        pieces: the pieces, their candidates weighed as they were judged.
    """

    listeners: tuple[str, ...]
    rows: Doubles
    rules: Thresholds
    settled: NDArray[np.bool_]
    probability: Doubles
    right: NDArray[np.bool_]
    harmless: NDArray[np.bool_]
    outside: NDArray[np.bool_]
    near: NDArray[np.bool_]
    numbers: NDArray[np.bool_]
    pieces: Sequence[Heard]

    def column(self, name: str) -> Doubles:
        """One feature."""
        return column_of(self.rows, self.listeners, name)


def column_of(rows: Doubles, listeners: Sequence[str], name: str) -> Doubles:
    """One feature of rows of them (n, features), by its name."""
    return np.asarray(rows[:, features_of(listeners).index(name)])


def heard(trials: Sequence[Trial]) -> list[Heard]:
    """The pieces in which anything was heard. A part of a call is not the call."""
    return [
        Heard(
            piece.pooled,
            piece.sound,
            trial.expectation,
            trial.truth,
            trial.recording.speaker,
            trial.near is not None,
            _may_enter(trial),
            trial.recording.source.startswith(MADE),
        )
        for trial in trials
        for piece in trial.pieces
        if piece.pooled and not unconfirmed(piece.sound)
    ]


def _may_enter(trial: Trial) -> tuple[Meaning, ...]:
    """What a piece of speech may enter that is no call; of two calls in a breath neither."""
    near = trial.near
    if near is None:
        return trial.said
    return () if near.kind is Near.TWO_CALLS else near.meanings


def weights_of(pieces: Sequence[Heard]) -> Doubles:
    """How much each piece counts, so that people weigh as much as made voices do. Of few people
    none counts more than ``MOST_WEIGHT`` times."""
    made = np.array([piece.made for piece in pieces])
    people = int((~made).sum())
    weight = min(MOST_WEIGHT, max(1.0, made.sum() / people)) if people else 1.0
    return np.where(made, 1.0, weight)


def learn_evidence(pieces: Sequence[Heard], deep: Collection[str]) -> Evidence:
    """How the scores weigh, from the calls whose right meaning was among the candidates.

    Args:
        deep: the listeners whose score is weighed alone too (``Traits.deep``).

    Raises:
        ValueError: there are no such calls, or not all were heard by the same listeners.
    """
    listeners = listeners_of(pieces)
    right = [
        (piece, [p.meaning for p in piece.pooled].index(piece.truth))
        for piece in pieces
        if piece.truth in [p.meaning for p in piece.pooled]
    ]

    def fitted(names: tuple[str, ...]) -> Doubles:
        return fit_evidence([(*piece.candidates(names), at) for piece, at in right])

    alone = {name: Evidence((name,), fitted((name,))) for name in listeners if name in deep}
    return Evidence(listeners, fitted(listeners), alone)


def listeners_of(pieces: Sequence[Heard]) -> tuple[str, ...]:
    """The names of those that heard the pieces.

    Raises:
        ValueError: not all were heard by the same.
    """
    found = dict.fromkeys(piece.listeners for piece in pieces)
    if len(found) != 1:
        raise ValueError("all recordings must be heard by the same listeners")
    return next(iter(found))


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


def model_of(pieces: Sequence[Heard], weigh: Evidence, rules: Thresholds) -> Logistic:
    """How likely the best meaning is right."""
    ranked, rows = rows_of(pieces, weigh)
    return fit(
        model_rows(rows, settled(ranked, rows, rules, weigh)),
        np.array([p.is_right(p.pooled[0].meaning) for p in ranked]),
        weights=weights_of(pieces),
    )


def parts(pieces: Sequence[Heard]) -> Iterator[tuple[list[Heard], NDArray[np.bool_]]]:
    """For each fold the pieces of the speakers outside it, and which pieces lie inside."""
    speakers = sorted({piece.speaker for piece in pieces})
    part = np.array([speakers.index(piece.speaker) % FOLDS for piece in pieces])
    for fold in range(FOLDS):
        yield [p for p, own in zip(pieces, part == fold, strict=True) if not own], part == fold


def judged(pieces: Sequence[Heard], deep: Collection[str]) -> Judged:
    """Every piece, judged without its speaker's part; ``deep`` as for ``learn_evidence``. The
    rules are quantiles of all pieces: a few numbers, which no speaker moves far."""
    listeners = listeners_of(pieces)
    rows = np.empty((len(pieces), len(features_of(listeners))))
    ranked: dict[int, Heard] = {}
    dealt = [(others, learn_evidence(others, deep), inside) for others, inside in parts(pieces)]
    for _, weigh, inside in dealt:
        own = np.flatnonzero(inside)
        found, rows[own] = rows_of([pieces[int(i)] for i in own], weigh)
        ranked |= {int(i): one for i, one in zip(own, found, strict=True)}
    in_order = [ranked[i] for i in range(len(pieces))]
    best = [one.pooled[0].meaning for one in in_order]
    both = list(zip(in_order, best, strict=True))
    right = np.array([one.is_right(meaning) for one, meaning in both])
    calls = right & np.array([one.truth is not None for one in in_order])
    rules = rules_of(rows, calls, listeners, deep)
    passing = np.empty(len(pieces), dtype=bool)
    probability = np.empty(len(pieces))
    for others, weigh, inside in dealt:
        own = np.flatnonzero(inside)
        passing[own] = settled([in_order[int(i)] for i in own], rows[own], rules, weigh)
        model = model_of(others, weigh, rules)
        probability[own] = model(model_rows(rows[own], passing[own]))
    return Judged(
        listeners,
        rows,
        rules,
        passing,
        probability,
        right=right,
        harmless=np.array([one.is_harmless(meaning) for one, meaning in both]),
        outside=np.array([one.truth is None for one in in_order]),
        near=np.array([one.near for one in in_order]),
        numbers=np.array([bool(meaning.value or meaning.size) for meaning in best]),
        pieces=in_order,
    )


def doubt_of(data: Judged, kind: NDArray[np.bool_], share: float, of: int) -> float:
    """The most that may be doubted in what is understood, so that no more than ``share`` of
    ``of`` hearings are understood wrongly; where nothing reaches that, the most beyond which fewer
    are wrong no more. They are counted: what the rules let pass is right far oftener than a
    probability says that was learnt of all hearings.

    Args:
        kind: the hearings that count.
    """
    stakes = np.where(data.numbers, STAKES, 1.0)

    def wrong(doubt: float) -> int:
        taken = kind & (1 - data.probability <= doubt * stakes)
        return int((taken & ~data.harmless).sum())

    most = max(share * of, wrong(float(DOUBTS[-1])))
    return next(float(doubt) for doubt in DOUBTS if wrong(float(doubt)) <= most)


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


def rules_of(
    rows: Doubles,
    calls: NDArray[np.bool_],
    listeners: Sequence[str],
    deep: Collection[str] = (),
) -> Thresholds:
    """The rules that no probability overrules; what a probability must reach is left at 0.

    Args:
        rows: (n, features).
        calls: which of them are calls whose best meaning is right.
    """
    column = partial(column_of, rows, listeners)

    def fitting(name: str) -> float:
        return round(float(np.quantile(column(name)[calls], 1 - FIT)), 2)

    def banded(name: str, share: float) -> tuple[float, float]:
        """The share's quantile of the right calls in quiet and at 0 dB."""
        snr, values = column("snr") * 10, column(name)
        quiet, noisy = (
            round(max(_LEAST_TOTAL, float(np.quantile(values[band & calls], share))), 2)
            if (band & calls).any()
            else 0.0
            for band in (snr >= _QUIET_FROM, snr < _NOISY_BELOW)
        )
        return quiet, noisy

    unexplained, noisy_unexplained = banded("unexplained", EXPLAINED)
    totals = [banded(f"{name} total", 1 - EXPLAINED) for name in deep]
    total, noisy_total = (min(ends) for ends in zip(*totals, strict=True)) if totals else (0, 0)
    return Thresholds(
        unexplained=unexplained + 0.5,
        noisy_unexplained=noisy_unexplained + 0.5,
        total=total - 0.01,
        noisy_total=noisy_total - 0.01,
        **dict.fromkeys(("plain", "critical", "reading", "bare", "ask", "unclear"), 0.0),
        dissent=DISSENT,
        noisy_dissent=NOISY_DISSENT,
        near=NEAR,
        pair=PAIR,
        alike=ALIKE,
        least={name: fitting(name) for name in listeners},
    )


def settled(
    ranked: Sequence[Heard], rows: Doubles, rules: Thresholds, weigh: Evidence
) -> NDArray[np.bool_]:
    """The hearings that no rule would have asked back."""
    names = features_of(weigh.listeners)

    def one(piece: Heard, row: Doubles) -> bool:
        best, *others = piece.pooled
        close = close_to(best, others, rules)
        seen = dict(zip(names, row.tolist(), strict=True))
        return not unsettled(best, seen, close, piece.sound, rules, weigh.alone)

    return np.array([one(piece, row) for piece, row in zip(ranked, rows, strict=True)])


def thresholds_of(data: Judged) -> Thresholds:
    """What a hearing must reach."""
    bare = data.column("bare") == 1
    calls = data.settled & ~data.outside & ~bare
    doubt = doubt_of(data, calls, WRONG, int((~data.outside & ~bare).sum()))
    far = data.outside & ~data.near
    other = doubt_of(data, data.settled & far, ACCEPTED, int(far.sum()))
    if data.near.any():
        close = doubt_of(data, data.settled & data.near, NEARLY, int(data.near.sum()))
        doubt = min(doubt, close)
    short = doubt_of(data, data.settled & bare, WRONG, int(bare.sum()))
    return replace(
        data.rules,
        plain=round(1 - doubt, 4),
        critical=round(1 - doubt * STAKES, 4),
        reading=round(1 - doubt * STAKES, 4),
        bare=round(1 - min(doubt, short, other) * STAKES, 4),
        ask=ASK,
        unclear=round(float(np.quantile(data.probability[far], REFUSED)), 4),
    )


def calibration_of(
    trials: Sequence[Trial], sources: Sequence[str], seed: int, deep: Collection[str]
) -> tuple[str, list[str]]:
    """The calibration file's text, and a report of what it was learnt from.

    Args:
        deep: the listeners whose score is weighed alone too (``Traits.deep``).

    Raises:
        VoicewalkError: too few speakers, no speech that is not for the tool, or too few calls that
            were heard.
    """
    pieces = heard(trials)
    speakers = len({piece.speaker for piece in pieces})
    if speakers < FOLDS:
        raise _too_little(f"speech of {FOLDS} speakers at the least is needed")
    if all(piece.truth is not None or piece.near for piece in pieces):
        raise _too_little("speech that is not for the tool is needed to learn to refuse it")
    try:
        data = judged(pieces, deep)
    except ValueError as error:
        raise _too_little(str(error)) from error
    thresholds = asdict(thresholds_of(data))
    off = expected_error(data.probability, data.right)
    made = np.array([piece.made for piece in data.pieces])
    apart = {
        name: round(expected_error(data.probability[own], data.right[own]), 4)
        for name, own in (("made voices", made), ("people", ~made))
        if own.any()
    }
    weigh = learn_evidence(pieces, deep)
    text = sealed(
        {
            "learnt from": {
                "clips": list(sources),
                "seed": seed,
                "hearings": len(pieces),
                "speakers": speakers,
                "expected calibration error, speakers held out": round(off, 4),
                "the same apart": apart,
                "reliability, speakers held out": [
                    [count, round(said, 4), round(was, 4)]
                    for count, said, was in bins_of(data.probability, data.right)
                ],
            },
            "evidence": _as_json(weigh),
            "model": _model_as_json(
                model_of(pieces, weigh, data.rules),
                model_features(features_of(weigh.listeners)),
            ),
            "thresholds": thresholds,
        }
    )
    return text, [
        f"{len(pieces)} hearings of {speakers} speakers, {int(data.outside.sum())} not calls",
        f"right meaning likeliest: {data.right[~data.outside].mean():.3f} of calls",
        f"expected calibration error, speakers held out: {off:.3f} {apart}",
        *(f"{name}: {value}" for name, value in thresholds.items()),
    ]


def _too_little(needed: str) -> VoicewalkError:
    return VoicewalkError(
        f"the judge cannot be learnt: {needed}", "Add a folder of such recordings with --clips."
    )


def _rounded(numbers: Doubles) -> list[float]:
    return [round(float(number), 6) for number in numbers]


def _as_json(weigh: Evidence) -> dict[str, object]:
    return {
        "listeners": list(weigh.listeners),
        "marks": list(marks_of(weigh.listeners)),
        "weights": _rounded(weigh.weights),
        "alone": {name: _rounded(one.weights) for name, one in weigh.alone.items()},
    }


def _model_as_json(model: Logistic, features: Sequence[str]) -> dict[str, object]:
    """The model as the calibration file holds it."""
    return {
        "features": list(features),
        "mean": _rounded(model.mean),
        "scale": _rounded(model.scale),
        "weights": _rounded(model.weights),
        "bias": round(model.bias, 6),
    }
