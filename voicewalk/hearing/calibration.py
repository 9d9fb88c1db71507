"""The calibration file: everything about hearing that was learnt from named data.

``calibration.json`` is written by ``voicewalk bench calibrate``; nothing in it is tuned by hand.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicewalk.errors import ModelError
from voicewalk.hearing.evidence import MARKS, PHONEMES, WORDS, Evidence
from voicewalk.hearing.logistic import Logistic

CALIBRATION = Path(__file__).with_name("calibration.json")

FEATURES = (
    "phonemes",  # listener A's score of the best meaning, per letter
    "words",  # listener B's, per letter
    "own words",  # the log-probability of B's own text, per letter of the best meaning
    "lead",  # log-odds of the best meaning against all the others together
    "small lead",  # the same where it is small
    "phonemes in lead",  # A's score where the lead is great: then it is all that can tell
    "words in lead",
    "phonemes margin",  # over the other meaning that A's score alone speaks for most
    "words margin",  # and B's
    "pace",  # how far the seconds per letter are from those of a common call, in doublings
    "letters",  # length of the call, in doublings: short words are heard in anything
    "snr",  # in tens of dB
    "bare",  # 1 where no item's name holds the call, asked for or not
    "prior",  # the log weight of such a call before it was heard
)


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
        phonemes, words: least score of that listener for each letter: below it, one ear would
            have understood alone.
        near: by how much the evidence must prefer the best meaning.
        pair: the same against a meaning that differs in one thing.
        alike: the same against teens where tens were heard, or tens where teens were.
    """

    plain: float
    critical: float
    reading: float
    bare: float
    ask: float
    unclear: float
    dissent: float
    noisy_dissent: float
    phonemes: float
    words: float
    near: float
    pair: float
    alike: float


@dataclass(frozen=True)
class Calibration:
    """What is learnt: how scores weigh, how likely a hearing is right, and what it must reach."""

    evidence: Evidence
    model: Logistic
    thresholds: Thresholds


def load_calibration(path: Path = CALIBRATION) -> Calibration:
    """Read a calibration file.

    Raises:
        ModelError: the file is missing, or of another form.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        model, evidence = data["model"], data["evidence"]
        if model["features"] != list(FEATURES) or evidence["marks"] != list(MARKS):
            raise ValueError("it was written for other features")
        return Calibration(
            Evidence(np.array(evidence["both"]), np.array(evidence["alone"])),
            Logistic(
                np.array(model["mean"]),
                np.array(model["scale"]),
                np.array(model["weights"]),
                float(model["bias"]),
            ),
            _thresholds(data["thresholds"]),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise ModelError(
            f"the judge's calibration {path} cannot be used: {error}",
            "Restore it from the repository, or write it anew with voicewalk bench calibrate.",
        ) from error


_LOWEST = {PHONEMES: -4.0, WORDS: -4.0}
"""Thresholds that may lie below 0: log-probabilities, and the judge sees none lower than this."""


def _thresholds(data: object) -> Thresholds:
    if not isinstance(data, dict):
        raise ValueError("no thresholds")
    values = {name: value for name, value in data.items() if type(value) is float}
    wrong = [name for name in data if not values.get(name, np.nan) > _LOWEST.get(name, 0.0)]
    if wrong:
        raise ValueError(f"no threshold: {', '.join(wrong)}")
    return Thresholds(**values)
