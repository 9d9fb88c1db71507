"""What the listeners' scores are worth together: the log-odds of one meaning over another.

A log-linear model of a candidate's scores and its length, learnt from named data (``voicewalk
bench calibrate``). Listeners do not deserve equal weight, nor the same in noise as in quiet; and
a short phrase leaves less to be wrong than a long one, for which its letters make up.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]

LEAST = 0.05
"""Seconds that speech lasts at least, so that it has a pace."""

COMMON_PACE = 0.075
"""Seconds of speech per letter of a common call; only the origin of a measure."""

AROUND = 0.64
"""Seconds of a clip that lie around its speech: what ``audio.endpoint`` keeps on both sides."""

AFTER_FAINT = 0.576
"""Seconds of it that lie behind faint speech: there it keeps more (``AudioSettings``)."""

_QUIET_DB = 20.0


@dataclass(frozen=True, slots=True)
class Sound:
    """What is known of a clip besides its words.

    Attributes:
        seconds: of the clip, with the little silence around the speech.
        snr_db: speech against the noise around it.
        faint: that it holds any speech is not sure (``audio.endpoint``).
        span: where in it the words begin and end, in seconds, as a listener hears them; ``None``
            where none hears any or can tell.
        behind: seconds of speech behind the words; ``loud`` of these as loud as the words.
    """

    seconds: float
    snr_db: float
    faint: bool = False
    span: tuple[float, float] | None = None
    behind: float = 0.0
    loud: float = 0.0

    @property
    def spoken(self) -> float | None:
        """Seconds that the words took; ``None`` where it is not known where they lie."""
        return None if self.span is None else self.span[1] - self.span[0]

    @property
    def after(self) -> float:
        """Seconds of the clip that lie behind the speech."""
        return AFTER_FAINT if self.faint else AROUND / 2


def letters_of(words: str) -> int:
    """The length of a wording; at least 1."""
    return max(1, len(words.replace(" ", "")))


def doublings(words: str, sound: Sound) -> float:
    """How much slower than a common call the words were said, as a power of two.

    Measured on the words where a listener tells where they lie: noise lengthens the clip, and
    not them.
    """
    spoken = sound.seconds - AROUND if sound.spoken is None else sound.spoken
    return float(np.log2(max(spoken, LEAST) / letters_of(words) / COMMON_PACE))


def marks_of(listeners: tuple[str, ...]) -> tuple[str, ...]:
    """The names of a candidate's marks: each listener's score, the letters of the wording, and
    all of these again for noise."""
    plain = (*listeners, "length")
    return (*plain, *(f"{name} in noise" for name in plain))


def marks(
    listeners: tuple[str, ...], scores: Mapping[str, float], words: str, sound: Sound
) -> Doubles:
    """The marks of a candidate, in the order of ``marks_of``; a score that is missing counts 0."""
    plain = [*(scores.get(name, 0.0) for name in listeners), letters_of(words)]
    noise = float(np.clip((_QUIET_DB - sound.snr_db) / _QUIET_DB, 0.0, 1.2))
    return np.array([*plain, *(noise * mark for mark in plain)])


@dataclass(frozen=True)
class Evidence:
    """Weights of the marks of some listeners.

    Attributes:
        listeners: their names.
        weights: in the order of ``marks_of``.
        alone: what one listener's score is worth by itself, by its name: of those whose guesses
            are read so deep that they are to be ordered by it.

    Raises:
        ValueError: a listener has the name of another mark; not as many weights as marks, or one
            that is not finite.
    """

    listeners: tuple[str, ...]
    weights: Doubles
    alone: Mapping[str, Evidence] = field(default_factory=dict)

    def __post_init__(self) -> None:
        names = marks_of(self.listeners)
        if len(set(names)) < len(names):
            raise ValueError(f"the names of marks must differ: {', '.join(names)}")
        if self.weights.shape != (len(names),) or not np.isfinite(self.weights).all():
            raise ValueError("the weights of the evidence must be finite, one for each mark")

    def __call__(self, scores: Mapping[str, float], words: str, sound: Sound) -> float:
        """Log-odds of a candidate, up to a constant of the clip."""
        found = marks(self.listeners, scores, words, sound)
        return float(self.weights @ found)


def fit_evidence(sets: list[tuple[Doubles, Doubles, int]], ridge: float = 0.02) -> Doubles:
    """Weights under which the right candidate of each set is the likeliest.

    The conditional logit (D. McFadden, 1974), by Newton's method with a small ridge.

    Args:
        sets: for each clip the candidates' marks (n, marks), log weights that are given (n,),
            and which of them is right.

    Raises:
        ValueError: no sets.
    """
    if not sets:
        raise ValueError("calls with their right meaning among the candidates are needed")
    spread = np.concatenate([rows for rows, _, _ in sets]).std(axis=0)
    spread = np.where(spread > 1e-9, spread, 1.0)
    scaled = [(rows / spread, given, right) for rows, given, right in sets]
    theta = np.zeros(len(spread))
    for _ in range(100):
        loss, gradient, curvature = _logit(scaled, theta, ridge)
        step = np.linalg.solve(curvature, gradient)
        if np.abs(step).max() < 1e-8:
            break
        # Where the sets part too well a whole step leads far beyond the least loss.
        while _logit(scaled, theta - step, ridge)[0] > loss and np.abs(step).max() > 1e-9:
            step = step / 2
        theta = theta - step
    return np.asarray(theta / spread)


def _logit(
    sets: list[tuple[Doubles, Doubles, int]], theta: Doubles, ridge: float
) -> tuple[float, Doubles, Doubles]:
    """The loss at these weights, its gradient and its curvature."""
    loss = 0.5 * ridge * float(theta @ theta)
    gradient = ridge * theta
    curvature = ridge * np.eye(len(theta))
    for rows, given, right in sets:
        odds = rows @ theta + given
        every = float(np.logaddexp.reduce(odds))
        loss += every - float(odds[right])
        share = np.exp(odds - every)
        mean = share @ rows
        gradient = gradient + mean - rows[right]
        curvature = curvature + (rows * share[:, None]).T @ rows - np.outer(mean, mean)
    return loss, gradient, curvature
