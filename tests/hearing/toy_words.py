"""A toy word model: a short token list and a decoder that answers from a table of chance.

The table gives every string of tokens its own log-probabilities, drawn from a seed, so that a
search can be held against trying everything.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from voicewalk.hearing.word_model import Strings, log_softmax

# The first three are no text, as in the real list: nothing, begin, end.
TOKENS = ["", "", "", " a", "a", "b", " ab", "ba", " 3", "3", "5", "35", ".", ",", " c", "'c", "?"]


class ToyDecoding:
    """Answers as ``word_model.Decoding`` does; ``asked`` is how many rows each step had."""

    def __init__(self, seed: int) -> None:
        self._seed = seed
        self.asked: list[int] = []
        self.begun = self._strings([()])

    def row(self, tokens: Sequence[int]) -> np.ndarray:
        """Log-probabilities of what follows these tokens."""
        chance = np.random.default_rng([self._seed, *tokens])
        return log_softmax(chance.normal(0, 2, len(TOKENS)).astype(np.float32))

    def total(self, tokens: Sequence[int]) -> float:
        """The log-probability of the whole string with its end."""
        steps = [*tokens, 2]
        return float(sum(self.row(tokens[:at])[step] for at, step in enumerate(steps)))

    def onward(self, strings: Strings, parents: Sequence[int], tokens: Sequence[int]) -> Strings:
        before = strings.memory["tokens"]
        self.asked.append(len(parents))
        return self._strings(
            [(*before[row], token) for row, token in zip(parents, tokens, strict=True)]
        )

    def _strings(self, prefixes: list[tuple[int, ...]]) -> Strings:
        return Strings(np.array([self.row(p) for p in prefixes]), {"tokens": prefixes})
