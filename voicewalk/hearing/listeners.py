"""What a listener is: made once with a phrase graph, it hears clips and answers two questions.

Which meanings are likeliest, and how likely is this wording? Scores are log-probabilities
relative to what the same model would say if nothing held it, so 0 is as good as it gets and
speech outside the vocabulary scores low. All that the pool, the judge and its calibration know
of a listener stands in its ``Traits``: another one is a module like ``letter_listener``, its
place in ``ears``, and a run of ``voicewalk bench calibrate``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from voicewalk.hearing.wording import Guess, Wording

Floats = NDArray[np.float32]

Starts = tuple[int, ...]
"""States of the phrase graph at which a call may begin, in order."""


@dataclass(frozen=True, slots=True)
class Traits:
    """What is to be known of a listener besides its answers.

    Attributes:
        name: as records and the calibration call it.
        read: meanings asked of it at the most, in a search of common width; of one that is
            wider, so many times as many, and likewise of ``taken``.
        taken: so many of them are scored by the others too.
        deep: whether ``read`` goes so deep that its own order is not enough to take by: short
            words are heard in anything, so they are taken by what its score and the length say
            together.
        reduced: whether it hears the sound with its noise reduced, or as it is.
        version: of its model, for the record.
    """

    name: str
    read: int
    taken: int
    deep: bool
    reduced: bool
    version: str = ""


class Hearing(Protocol):
    """One clip in one listener's ears."""

    @property
    def traits(self) -> Traits:
        """The listener's."""

    @property
    def text(self) -> str:
        """What it hears when nothing holds it."""

    @property
    def free(self) -> float:
        """The log-probability of what it hears when nothing holds it."""

    @property
    def span(self) -> tuple[float, float] | None:
        """Where in the clip lies what it hears when nothing holds it, from the first sound to the
        last, in seconds; ``None`` where it hears nothing or cannot tell."""

    def guesses(self, count: int) -> list[Guess]:
        """The ``count`` likeliest meanings, best first."""

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        """The score of each wording, relative to ``free``."""


class Listener(Protocol):
    """Hears clips over the phrase graph of one card. Deterministic for the same clip, graph and
    versions."""

    @property
    def traits(self) -> Traits:
        """What is to be known of it."""

    def hear(self, samples: Floats, starts: Starts = (0,)) -> Hearing:
        """Hear a clip: mono, 16 kHz, -1 to 1.

        Args:
            starts: where in the graph calls may begin just now.
        """


def guessed(
    listener: Listener, samples: Floats, starts: Starts, width: int = 1
) -> tuple[Hearing, list[Guess]]:
    """A clip in one listener's ears, with its guesses.

    Args:
        width: of the search, in common ones.
    """
    hearing = listener.hear(samples, starts)
    return hearing, hearing.guesses(listener.traits.read * width)


def best_by_meaning(guesses: Sequence[Guess], count: int) -> list[Guess]:
    """The ``count`` best guesses with different meanings; wordings of one meaning joined."""
    best: dict[object, Guess] = {}
    for guess in sorted(guesses, key=lambda g: -g.score):
        first = best.get(guess.meaning)
        if first is None:
            if len(best) == count:
                continue
            best[guess.meaning] = guess
        else:
            both = tuple(dict.fromkeys((*first.wordings, *guess.wordings)))
            best[guess.meaning] = Guess(guess.meaning, both, first.score)
    return list(best.values())
