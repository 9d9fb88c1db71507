"""Listener B: an encoder-decoder of words whose beam is held to the graph in letters."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from voicewalk.hearing import word_model, word_search
from voicewalk.hearing.letter_graph import LetterGraph
from voicewalk.hearing.lexicon import Lexicon
from voicewalk.hearing.listeners import Starts, Traits, best_by_meaning
from voicewalk.hearing.tokens import Tokenizer, TokenTrie, text_of
from voicewalk.hearing.word_model import Decoding, WordModel
from voicewalk.hearing.wording import Guess, Wording, guess_of, in_digits, spoken
from voicewalk.language.graph import PhraseGraph

Floats = NDArray[np.float32]

TRAITS = Traits("words", read=12, taken=8, deep=False, reduced=True, version=word_model.VERSION)
"""Of calls at 10 dB, 0.93 were understood with the noise as it was and 0.99 with it reduced
(docs/decisions/0001-two-listeners.md, both listeners of that time)."""

BEAM = 8
"""Width of the search in one of common width."""


class WordHearing:
    """One clip in the ears of the word listener."""

    traits = TRAITS
    span = None  # its words have no place in time

    def __init__(self, listener: WordListener, decoding: Decoding, starts: Starts) -> None:
        self._listener = listener
        self._decoding = decoding
        self._starts = starts
        self._unheld = word_search.free(decoding)
        self.free = self._unheld.score

    @property
    def text(self) -> str:
        """The text it writes when nothing holds it."""
        return text_of(self._listener.model.tokens, self._unheld.tokens)

    def guesses(self, count: int) -> list[Guess]:
        """The ``count`` likeliest meanings, best first."""
        listener = self._listener
        start = listener.letters.start(self._starts)
        beam = BEAM * listener.width
        texts = word_search.search(self._decoding, listener.trie, listener.letters, start, beam)
        found = [
            guess
            for text in texts
            for path in listener.letters.paths(text.letters, self._starts)
            if (guess := guess_of(listener.graph, path, text.score - self.free))
        ]
        return best_by_meaning(found, count)

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        """The score of each wording: its best way of being written."""
        surfaces = [self._listener.surfaces(wording) for wording in wordings]
        texts = list(dict.fromkeys(text for ways in surfaces for text in ways))
        scores = dict(zip(texts, word_search.score(self._decoding, texts), strict=True))
        return [max(scores[text] for text in ways) - self.free for ways in surfaces]


class WordListener:
    """The word listener over the phrase graph of one card.

    Args:
        width: how wide it searches, in common searches.
    """

    traits = TRAITS

    def __init__(
        self, model: WordModel, lexicon: Lexicon, graph: PhraseGraph, width: int = 1
    ) -> None:
        self.model = model
        self.graph = graph
        self.width = width
        self._lexicon = lexicon
        self._tokenize = Tokenizer(model.tokens)
        self.trie = TokenTrie(model.tokens)
        self.letters = LetterGraph(graph, lexicon.spell, self.trie)

    def hear(self, samples: Floats, starts: Starts = (0,)) -> WordHearing:
        """As ``Listener.hear``."""
        return WordHearing(self, self.model.hear(samples), starts)

    def surfaces(self, wording: Wording) -> list[tuple[int, ...]]:
        """How the model would write a wording: as a sentence, numbers in words and in digits.

        It nearly always ends with a full stop; where it does not, all wordings lose alike.
        """
        spell = self._lexicon.spell
        texts = dict.fromkeys(
            " ".join(spell(word)[0] for word in words)
            for words in (spoken(wording), in_digits(wording))
        )
        return [self._tokenize(text[0].upper() + text[1:] + ".") for text in texts]
