"""The calibration file: everything about hearing that was learnt from named data.

``calibration.json`` is written by ``voicewalk bench calibrate``; nothing in it is tuned by hand,
and a digest of its own in it tells where something was.
It names the listeners that it was learnt of: marks, features and least scores are made for each.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voicewalk.errors import ModelError
from voicewalk.hearing.evidence import Evidence, marks_of
from voicewalk.hearing.logistic import Logistic

Doubles = NDArray[np.float64]

_SEAL = "sha256"
CALIBRATION = Path(__file__).with_name("calibration.json")

_OF_LISTENER = (
    "{}",  # its score of the best meaning, per letter
    "{} total",  # the same of the whole wording: what does not fit is not thinned by what does
    "own {}",  # the log-probability of its own text, per letter of the best meaning
    "{} in lead",  # its score per letter where the lead is great: then it is all that can tell
    "{} bare",  # its score per letter where no item's name holds the call: one listener is too few
    "{} margin",  # over the other meaning that its score alone speaks for most
)

_OF_CALL = (
    "lead",  # log-odds of the best meaning against all the others together
    "small lead",  # the same where it is small
    "pace",  # how far the seconds per letter are from those of a common call, in doublings
    "length",  # letters of the call, in doublings: short words are heard in anything
    "snr",  # in tens of dB
    "bare",  # 1 where no item's name holds the call, asked for or not
    "unexplained",  # letters that the first listener hears beside those of the call
    "lost",  # letters of the call that it does not hear
    "doubt",  # words that it hears that deny, ask, order or except
    "doubt elsewhere",  # such words in the others' free texts, where noise puts many
    "prior",  # the log weight of such a call before it was heard
)


def features_of(listeners: Iterable[str]) -> tuple[str, ...]:
    """The names of the judge's features, for listeners of these names."""
    return (*(form.format(name) for name in listeners for form in _OF_LISTENER), *_OF_CALL)


def model_features(names: Iterable[str]) -> tuple[str, ...]:
    """What the probability is made of: all features, whether no rule speaks against the hearing,
    and all features once more where none does. What tells right from wrong among hearings that
    pass the rules is not what tells it among the others, of which most are no calls."""
    names = tuple(names)
    return (*names, "settled", *(f"settled {name}" for name in names))


def model_rows(features: Doubles, settled: NDArray[np.bool_]) -> Doubles:
    """Features (n, features) and whether each hearing is settled (n,), as ``model_features``
    names them."""
    sure = settled.astype(float)[:, None]
    return np.hstack([features, sure, sure * features])


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What a hearing must reach.

    Attributes:
        plain, critical, reading: least probabilities to be understood, by what is at stake.
        bare: the same for a call that names no item: much else sounds like so short a word.
        ask: least probability to be worth asking about.
        unclear: below it, it is not for the tool.
        dissent, noisy_dissent: by how much one listener may prefer another meaning, in evidence:
            in quiet, and at 0 dB, where both may err.
        near: by how much the evidence must prefer the best meaning.
        pair: the same against a meaning that differs in one thing.
        alike: the same against teens where tens were heard, or tens where teens were.
        unexplained, noisy_unexplained: most letters that a call may leave unexplained, in quiet
            and at 0 dB.
        total, noisy_total: least score of the whole call by the listener whose guesses are read
            deep, however long it is, in quiet and at 0 dB.
        least: by listener, its least score for each letter: below it, the others would have
            understood without it.
    """

    plain: float
    critical: float
    reading: float
    bare: float
    ask: float
    unclear: float
    dissent: float
    noisy_dissent: float
    near: float
    pair: float
    alike: float
    unexplained: float
    noisy_unexplained: float
    total: float
    noisy_total: float
    least: Mapping[str, float]


@dataclass(frozen=True)
class Calibration:
    """What is learnt: how scores weigh, how likely a hearing is right, and what it must reach."""

    evidence: Evidence
    model: Logistic
    thresholds: Thresholds

    def probability(self, features: Sequence[float], *, settled: bool) -> float:
        """How likely the best meaning is right.

        Args:
            features: as ``features_of`` names them.
            settled: whether no rule speaks against it.
        """
        row = model_rows(np.array([features]), np.array([settled]))
        return float(self.model(row)[0])


def sealed(data: Mapping[str, Any]) -> str:
    """The file's text for what was learnt, JSON-ready: with a SHA-256 of it in front."""
    return json.dumps({_SEAL: _digest(data), **data}, indent=2) + "\n"


def _digest(data: Mapping[str, Any]) -> str:
    """Of what the file says but for the seal itself, however it is laid out."""
    said = {name: value for name, value in data.items() if name != _SEAL}
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def load_calibration(path: Path = CALIBRATION) -> Calibration:
    """Read a calibration file.

    Raises:
        ModelError: the file is missing, was altered, or is of another form.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data[_SEAL] != _digest(data):
            raise ValueError("it is not as it was learnt: something in it was changed")
        model, evidence = data["model"], data["evidence"]
        weigh = _evidence(evidence)
        if model["features"] != list(model_features(features_of(weigh.listeners))):
            raise ValueError("it was written for other features")
        return Calibration(
            weigh,
            Logistic(
                np.array(model["mean"]),
                np.array(model["scale"]),
                np.array(model["weights"]),
                float(model["bias"]),
            ),
            _thresholds(data["thresholds"], weigh.listeners),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise ModelError(
            f"the judge's calibration {path} cannot be used: {error}",
            "Restore it from the repository, or write it anew with voicewalk bench calibrate.",
        ) from error


def _evidence(data: dict[str, Any]) -> Evidence:
    listeners = tuple(map(str, data["listeners"]))
    if data["marks"] != list(marks_of(listeners)):
        raise ValueError("it was written for other marks")
    alone = {name: Evidence((name,), np.array(weights)) for name, weights in data["alone"].items()}
    if strange := alone.keys() - set(listeners):
        raise ValueError(f"no listener: {', '.join(sorted(strange))}")
    return Evidence(listeners, np.array(data["weights"]), alone)


_LEAST = -4.0
"""A score for each letter is a log-probability; the judge sees none lower than this."""

_LOWEST = {"total": -30.0, "noisy_total": -30.0}
"""Thresholds that may lie below 0: the judge sees no whole call score lower than this."""


def _thresholds(data: dict[str, Any], listeners: Sequence[str]) -> Thresholds:
    least = data["least"]
    if list(least) != list(listeners):
        raise ValueError("the listeners have no least scores, or others have")
    plain = {name: value for name, value in data.items() if name != "least"}
    wrong = [name for name, value in plain.items() if not _above(value, _LOWEST.get(name, 0.0))]
    wrong += [name for name, value in least.items() if not _above(value, _LEAST)]
    if wrong:
        raise ValueError(f"no threshold: {', '.join(wrong)}")
    return Thresholds(**plain, least=dict(least))


def _above(value: object, lowest: float) -> bool:
    return type(value) is float and value > lowest
