"""The word model's tokens: by their letters, and from text.

Letters are what is left of written text without spaces, punctuation and case: "Left main
tyre 210." is ``leftmaintyre210``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise

import numpy as np

MARKS = frozenset({",", ".", "-", " "})
"""Tokens that add no letter. Two of them never follow each other."""


def letters_of(text: str) -> str:
    """The letters of a token; "" where it holds anything that no phrase holds."""
    bare = text.strip().lower().replace("'", "")
    return bare if bare == "." or (bare.isascii() and bare.isalnum()) else ""


def text_of(texts: Sequence[str], tokens: Sequence[int]) -> str:
    """What a string of tokens reads; ``texts`` as ``WordModel.tokens``."""
    return "".join(texts[token] for token in tokens).strip()


@dataclass
class TrieNode:
    """The tokens that end here, and the letters that lead on."""

    children: dict[str, TrieNode] = field(default_factory=dict)
    tokens: list[int] = field(default_factory=list)


class TokenTrie:
    """The tokens of a word model by their letters.

    Attributes:
        letters: the letters of each token.
        marks: ids of the tokens that may stand for no letter.
        points: of these, the ids that are a full stop.
        digit: whether each token begins with a digit.
    """

    def __init__(self, texts: Sequence[str]) -> None:
        self.root = TrieNode()
        self.letters = [letters_of(text) for text in texts]
        self.marks = [token for token, text in enumerate(texts) if text in MARKS]
        self.points = frozenset(token for token in self.marks if texts[token] == ".")
        self.digit = np.array([letters[:1].isdigit() for letters in self.letters])
        for token, letters in enumerate(self.letters):
            node = self.root
            for letter in letters:
                node = node.children.setdefault(letter, TrieNode())
            if letters:
                node.tokens.append(token)


class Tokenizer:
    """Text to tokens by byte-pair merges: the pair whose joining has the lowest id first.

    No token reaches over a space, so each word is merged by itself.
    """

    def __init__(self, texts: Sequence[str]) -> None:
        self._ids = {text: token for token, text in enumerate(texts) if text}

    def __call__(self, text: str) -> tuple[int, ...]:
        """Tokens of ``text``: plain ASCII letters, digits and marks."""
        return tuple(token for word in text.split() for token in self._word(word))

    @cache  # noqa: B019 - one tokenizer lives as long as the program
    def _word(self, word: str) -> tuple[int, ...]:
        parts = list(" " + word)
        while True:
            joins = [
                (self._ids[a + b], at)
                for at, (a, b) in enumerate(pairwise(parts))
                if a + b in self._ids
            ]
            if not joins:
                return tuple(self._ids[part] for part in parts)
            at = min(joins)[1]
            parts[at : at + 2] = [parts[at] + parts[at + 1]]
