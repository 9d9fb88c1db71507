"""Listener A: an exact search of frames of letters over the whole graph.

Its model was trained to write down whatever is said, near calls among it, so what it writes when
nothing holds it is nearly always what was said: speech that is no call lies far from every call.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from voicewalk.errors import ModelError
from voicewalk.hearing import letter_model
from voicewalk.hearing.ctc_search import Trellis
from voicewalk.hearing.letter_model import BEGINS, FRAME_SECONDS, PADDED_SECONDS
from voicewalk.hearing.lexicon import SPELT_OUT, Lexicon
from voicewalk.hearing.listeners import Starts, Traits, best_by_meaning
from voicewalk.hearing.symbol_graph import SymbolGraph
from voicewalk.hearing.wording import Guess, Wording, guess_of, spoken
from voicewalk.language.graph import GraphBuilder, PhraseGraph

Floats = NDArray[np.float32]

TRAITS = Traits(
    "letters", read=80, taken=20, deep=True, reduced=False, version=letter_model.VERSION
)
"""Noise reduction takes away what it would still have heard: it was trained in noise."""

MARGIN = 60.0
"""Paths of the search worse than the best by more are not read: far beyond any difference at which
the second meaning was right."""

LAST = 0.25
"""Seconds of speech from the frame of a call's last letter on: of 89 made calls without noise 8 of
10 end 0.14 to 0.28 s later by the detector of speech, and begin 0.04 s before the first letter; so
much makes the words as long as it says, in the median."""

PAUSE = 0.25
"""Longer without a letter, in seconds, lies between two words: within a word of 353 clips (calls
and spelt words, in quiet, at 5 and 0 dB) there were at most 0.2, and 0.3 where the sign between two
words was missed."""

OPENED = 600
"""Partial paths opened while reading the search's best meanings, in a search of common width; in
one that is wider, so many times as many."""

UNFIT = -1000.0
"""Least score of a wording. One with more letters than the clip has frames has none at all; it
must still be a number, for the judge reckons with it."""


class FrameModel(Protocol):
    """Gives each frame of a sound the log-probabilities of symbols, a blank among them."""

    @property
    def symbols(self) -> Mapping[str, int]:
        """The index of each symbol."""

    @property
    def blank(self) -> int:
        """That of the blank."""

    def log_probs(self, samples: Floats) -> Floats:
        """Shape (frames, symbols); ``samples`` mono, 16 kHz, -1 to 1."""


class LetterHearing:
    """One clip in the ears of the letter listener."""

    traits = TRAITS

    def __init__(self, listener: LetterListener, frames: Floats, starts: Starts) -> None:
        self._listener = listener
        self._frames = frames
        self._starts = starts

    @cached_property
    def free(self) -> float:
        """The log-probability of the likeliest symbol of each frame."""
        return float(self._frames.max(axis=1).sum())

    @cached_property
    def _likeliest(self) -> NDArray[np.intp]:
        """(frames,) the likeliest symbol of each."""
        symbols: NDArray[np.intp] = self._frames.argmax(axis=1)
        return symbols

    @cached_property
    def text(self) -> str:
        """The words it hears when nothing holds it."""
        listener, pause = self._listener, round(PAUSE / FRAME_SECONDS)
        letters, before, last = "", listener.model.blank, 0
        for frame, symbol in enumerate(self._likeliest):
            if symbol != listener.model.blank:
                if frame - last > pause + 1:
                    letters += " "
                if symbol != before:
                    letters += listener.letters[symbol]
                last = frame
            before = symbol
        return " ".join(letters.replace(BEGINS, " ").split())

    @cached_property
    def span(self) -> tuple[float, float] | None:
        """From the first letter that it hears to the last, and what a last letter takes. The sign
        that begins a word is none: it may stand long before the word. What sounds at the very
        edge of the clip may be heard a little beyond it."""
        model = self._listener.model
        signs = (model.blank, model.symbols.get(BEGINS, model.blank))
        sounds = np.flatnonzero(~np.isin(self._likeliest, signs))
        if not len(sounds):
            return None
        first, last = (float(frame) * FRAME_SECONDS - PADDED_SECONDS for frame in sounds[[0, -1]])
        return first, last + LAST

    def guesses(self, count: int) -> list[Guess]:
        """The ``count`` likeliest meanings, best first."""
        listener = self._listener
        trellis = Trellis(listener.symbols, self._frames, listener.model.blank, self._starts)
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
        symbols = SymbolGraph(graph, self._listener.spell)
        trellis = Trellis(symbols, self._frames, self._listener.model.blank)
        return [max(UNFIT, trellis.best(state) - self.free) for state in sorted(graph.finals)]


class LetterListener:
    """The letter listener over the phrase graph of one card.

    Args:
        width: how wide it searches, in common searches.

    Raises:
        ModelError: a word has a letter that the model does not know.
    """

    traits = TRAITS

    def __init__(
        self, model: FrameModel, lexicon: Lexicon, graph: PhraseGraph, width: int = 1
    ) -> None:
        self.model = model
        self.graph = graph
        self.width = width
        self._lexicon = lexicon
        self.letters = {index: symbol for symbol, index in model.symbols.items()}
        self.symbols = SymbolGraph(graph, self.spell)

    def spell(self, word: str) -> tuple[tuple[int, ...], ...]:
        """The ways a word is written, as indices of the model's symbols.

        Raises:
            ModelError: it has a letter that the model does not know.
        """
        index = self.model.symbols
        ways = [
            [BEGINS + part for part in way.split(SPELT_OUT) if part]
            for way in self._lexicon.spell(word)
        ]
        if unknown := {s for way in ways for part in way for s in part} - index.keys():
            raise ModelError(
                f"the letter model writes no {' '.join(sorted(unknown))}, as in {word!r}",
                "Add a spelling of the word to the lexicon, in letters that it writes.",
            )
        return tuple(tuple(index[s] for part in way for s in part) for way in ways)

    def hear(self, samples: Floats, starts: Starts = (0,)) -> LetterHearing:
        """As ``Listener.hear``."""
        return LetterHearing(self, self.model.log_probs(samples), starts)
