"""The two listeners: unlike in what they model, alike in what they answer.

Each hears a clip once and then answers two questions: which meanings are likeliest, and how
likely is this wording. Scores are log-probabilities relative to what the same model would say
if nothing held it, so 0 is as good as it gets and speech outside the vocabulary scores low.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from voicewalk.errors import ModelError
from voicewalk.hearing import word_search
from voicewalk.hearing.letter_graph import LetterGraph
from voicewalk.hearing.lexicon import Lexicon
from voicewalk.hearing.phoneme_graph import PhonemeGraph
from voicewalk.hearing.phoneme_model import PhonemeModel
from voicewalk.hearing.phoneme_search import Trellis
from voicewalk.hearing.tokens import Tokenizer, TokenTrie, text_of
from voicewalk.hearing.word_model import Decoding, WordModel
from voicewalk.hearing.wording import Guess, Wording, guess_of, in_digits, spoken
from voicewalk.language.graph import GraphBuilder, PhraseGraph

Floats = NDArray[np.float32]

Starts = tuple[int, ...]
"""States of the phrase graph at which a call may begin, in order."""

MARGIN = 60.0
"""Paths of the phoneme search worse than the best by more are not read: far beyond any
difference at which the second meaning was right."""

OPENED = 600
"""Partial paths opened while reading the phoneme search's best meanings, in a search of common
width; in one that is wider, so many times as many, as is ``BEAM``."""

UNFIT = -1000.0
"""Least score of a wording. One with more sounds than the clip has frames has none at all; it
must still be a number, for the judge reckons with it."""

BEAM = 8
"""Width of the word search."""


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


class PhonemeHearing:
    """One clip in the ears of the phoneme listener."""

    name = "phonemes"

    def __init__(self, listener: PhonemeListener, frames: Floats, starts: Starts) -> None:
        self._listener = listener
        self._frames = frames
        self._starts = starts
        self.free = float(frames.max(axis=1).sum())

    @property
    def text(self) -> str:
        """The phonemes it hears when nothing holds it."""
        best = self._frames.argmax(axis=1)
        changes = best[np.append(True, best[1:] != best[:-1])]
        symbols = self._listener.symbols
        return " ".join(symbols[i] for i in changes if i != self._listener.model.blank)

    def guesses(self, count: int) -> list[Guess]:
        """The ``count`` likeliest meanings, best first."""
        listener = self._listener
        trellis = Trellis(listener.phonemes, self._frames, listener.model.blank, self._starts)
        found: list[Guess] = []
        meanings: set[object] = set()
        for path in trellis.paths(MARGIN, OPENED * listener.width):
            guess = guess_of(listener.graph, path.arcs, path.score - self.free)
            if guess is not None:
                found.append(guess)
                meanings.add(guess.meaning)
            if len(meanings) == count:
                break
        return best_by_meaning(found, count)

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        """The score of each wording."""
        if not wordings:
            return []
        builder = GraphBuilder()
        for wording in wordings:
            end = builder.state()
            builder.final(end)
            builder.phrase(0, end, " ".join(spoken(wording)))
        graph = builder.freeze()
        phonemes = PhonemeGraph(graph, self._listener.pronounce)
        trellis = Trellis(phonemes, self._frames, self._listener.model.blank)
        return [max(UNFIT, trellis.best(state) - self.free) for state in sorted(graph.finals)]


class PhonemeListener:
    """Listener A: an exact search of CTC frames over the whole graph in phonemes."""

    def __init__(
        self, model: PhonemeModel, lexicon: Lexicon, graph: PhraseGraph, width: int = 1
    ) -> None:
        self.model = model
        self.graph = graph
        self.width = width
        self._lexicon = lexicon
        self.symbols = {index: symbol for symbol, index in model.phonemes.items()}
        self.phonemes = PhonemeGraph(graph, self.pronounce)

    def pronounce(self, word: str) -> tuple[tuple[int, ...], ...]:
        """Pronunciations of a word as indices of the model's symbols.

        Raises:
            ModelError: the lexicon has a phoneme that the model does not.
        """
        index, ways = self.model.phonemes, self._lexicon.pronounce(word)
        if unknown := {p for way in ways for p in way} - index.keys():
            raise ModelError(
                f"the phoneme model emits no {' '.join(sorted(unknown))}, as in {word!r}",
                "Correct the word's line in the lexicon.",
            )
        return tuple(tuple(index[p] for p in way) for way in ways)

    def hear(self, samples: Floats, starts: Starts = (0,)) -> PhonemeHearing:
        """Hear a clip: mono, 16 kHz, -1 to 1; ``starts`` as in ``Listeners.listen``."""
        return PhonemeHearing(self, self.model.log_probs(samples), starts)


class WordHearing:
    """One clip in the ears of the word listener."""

    name = "words"

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
    """Listener B: an encoder-decoder of words whose beam is held to the graph in letters."""

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
        """Hear a clip: mono, 16 kHz, -1 to 1; ``starts`` as in ``Listeners.listen``."""
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
