"""Chooses phrases in which all words come up soon, those less said before first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import islice

from voicewalk.language.parse import tokens
from voicewalk.language.phrases import Phrase

DRAWN = 24
"""Phrases drawn for each that is chosen: 20 then hold half as many different words again as 20
that are drawn plainly, and stay phrases as people say them."""


def spread(phrases: Iterator[Phrase], count: int) -> list[Phrase]:
    """``count`` of ``phrases``, none twice while there are others."""
    said: Counter[str] = Counter()
    chosen: list[Phrase] = []
    for _ in range(count):
        drawn = list(islice(phrases, DRAWN))
        best = max(drawn, key=lambda phrase: _worth(phrase, said))
        said.update(set(tokens(best.text)))
        chosen.append(best)
    return chosen


def _worth(phrase: Phrase, said: Counter[str]) -> float:
    """New words count in full, words said before the less the oftener. Divided by the root of
    the length: else the longest phrase would always be chosen."""
    words = tokens(phrase.text)
    return sum(1 / (1 + said[word]) ** 2 for word in set(words)) / len(words) ** 0.5
