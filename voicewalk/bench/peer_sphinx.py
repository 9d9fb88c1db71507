"""A peer: PocketSphinx, a classical recogniser of hidden Markov models, held to the same grammar.

Its own English model and dictionary, which are in its wheel, and the phrase graph as a grammar
of words with equal chances at every fork. What it hears is read by the same graph. It refuses
where no path ends well, or where its own probability of the path is low.

Two settings are not its own defaults, because it hears far more with them: cepstral means over
the whole clip ("batch"; the default adapts from clip to clip, which also makes what it hears
depend on what it heard before), and a faint hiss under the sound, for digital silence upsets
these means. Of 30 clean calls it got 25 right with both, of 40 it got 4 with neither. Wider
beams and other weights of the grammar made no difference that could be told from chance.
"""

from __future__ import annotations

import importlib
from collections import Counter
from importlib.metadata import version
from typing import Any

import numpy as np

from voicewalk.bench.clips import Floats
from voicewalk.errors import ModelError
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.parse import parse
from voicewalk.language.phonetic import phonemes

PRONOUNCED = {
    "chocks": "CH AA K S",
    "crazing": "K R EY Z IH NG",
    "delaminated": "D IY L AE M AH N EY T IH D",
    "delamination": "D IY L AE M AH N EY SH AH N",
    "fogged": "F AA G D",
    "fower": "F OW ER",
    "kink": "K IH NG K",
    "kinked": "K IH NG K T",
    "misaligned": "M IH S AH L AY N D",
    "overfilled": "OW V ER F IH L D",
    "pitot": "P IY T OW",
    "preflight": "P R IY F L AY T",
    "psi": "P IY EH S AY",  # the dictionary has the Greek letter
    "radome": "R EY D OW M",
    "sidewall": "S AY D W AO L",
    "tailplane": "T EY L P L EY N",
    "underinflated": "AH N D ER IH N F L EY T IH D",
    "unlatched": "AH N L AE CH T",
    "walkaround": "W AO K ER AW N D",
}
"""Words of the cards that come with the program and that its dictionary lacks, or has as
another word, written by hand in its phones from the dictionary's entries for their parts. The
words of other cards that it lacks are spelt by ``language.phonetic``'s rule."""

HISS = 1e-3
"""Standard deviation of the noise added, -60 dBFS: below any microphone's own."""


LEAST = 0.2
"""Least probability of a path to count. Of 60 calls, half of them clean and half at 10 dB, it
keeps 36 of 38 that were right, and refuses 4 of 10 that were wrong and 10 of 18 that it heard
in 40 recordings of other speech."""


class SphinxPeer:
    """PocketSphinx for one graph.

    Attributes:
        added: words that its dictionary lacked, by what gave their pronunciation.

    Raises:
        ModelError: the package is not installed.
    """

    def __init__(self, graph: PhraseGraph) -> None:
        try:
            sphinx = importlib.import_module("pocketsphinx")
        except ImportError as error:
            raise ModelError(
                "the package pocketsphinx is not installed", "Run script/setup."
            ) from error
        self.name = f"PocketSphinx {version('pocketsphinx')}"
        self._graph = graph
        self._decoder: Any = sphinx.Decoder(lm=None, cmn="batch", loglevel="FATAL")
        self.added = self._add_words()
        fsg = self._decoder.create_fsg("calls", 0, graph.states, transitions(graph))
        self._decoder.add_fsg("calls", fsg)
        self._decoder.activate_search("calls")

    def _add_words(self) -> dict[str, int]:
        added: Counter[str] = Counter()
        for word in sorted(self._graph.words):
            if word in PRONOUNCED:
                known = self._decoder.lookup_word(word) is not None
                self._decoder.add_word(f"{word}(2)" if known else word, PRONOUNCED[word], False)
                added["by hand"] += 1
            elif self._decoder.lookup_word(word) is None:
                self._decoder.add_word(word, " ".join(phonemes(word)), False)
                added["by rule"] += 1
        return dict(added)

    def hear(self, samples: Floats) -> Meaning | None:
        """As ``Peer.hear``."""
        hiss = HISS * np.random.default_rng(1).standard_normal(len(samples))
        sound = (np.clip(samples + hiss, -1, 1) * 32767).astype("<i2").tobytes()
        self._decoder.start_utt()
        self._decoder.process_raw(sound, no_search=False, full_utt=True)
        self._decoder.end_utt()
        heard = self._decoder.hyp()
        if heard is None or heard.prob < LEAST:
            return None
        meanings = parse(self._graph, heard.hypstr)
        return meanings[0] if len(meanings) == 1 else None


def transitions(graph: PhraseGraph) -> list[tuple[int, int, float] | tuple[int, int, float, str]]:
    """The graph as arcs with chances, and a last state that every end leads to."""
    arcs: list[tuple[int, int, float] | tuple[int, int, float, str]] = []
    for state in range(graph.states):
        spoken = {
            (arc.dst, arc.word)
            for arc in (graph.arcs[index] for index in graph.leaving[state])
            if not arc.written
        }
        ways = len(spoken) + (state in graph.finals)
        arcs += [(state, dst, 1 / ways, word) for dst, word in sorted(spoken)]
        if state in graph.finals:
            arcs.append((state, graph.states, 1 / ways))
    return arcs
