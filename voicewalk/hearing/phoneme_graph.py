"""The phrase graph expanded into phonemes: a chain of nodes for each word's pronunciation.

Laid out as flat arrays so that the search (``phoneme_search``) moves all nodes at once. A
chain's nodes lie side by side; ``heads`` and ``tails`` are its first and last node.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from voicewalk.language.graph import PhraseGraph

Ints = NDArray[np.int64]

Pronounce = Callable[[str], tuple[tuple[int, ...], ...]]
"""A word's pronunciations, each as symbol indices of the acoustic model."""


class PhonemeGraph:
    """A phrase graph compiled for one acoustic model.

    Attributes:
        symbols: (nodes,) the acoustic model's index of each node's phoneme.
        heads, tails: (chains,) first and last node of each chain.
        arc: (chains,) the arc of the phrase graph that the chain says.
        src: (chains,) the state it leaves.
        by_dst, first, reached: the chains ordered by the state they enter; where each state's
            run begins in that order; which states those are.
        needs_blank: (nodes,) whether a blank must part the node from the one before it.
    """

    def __init__(self, graph: PhraseGraph, pronounce: Pronounce) -> None:
        self.graph = graph
        symbols: list[int] = []
        heads: list[int] = []
        arcs: list[int] = []
        for index, arc in enumerate(graph.arcs):
            for way in () if arc.written else pronounce(arc.word):
                heads.append(len(symbols))
                arcs.append(index)
                symbols.extend(way)
        self.symbols: Ints = np.array(symbols, dtype=np.int64)
        self.heads: Ints = np.array(heads, dtype=np.int64)
        self.tails: Ints = np.append(self.heads[1:], len(symbols)) - 1
        self.arc: Ints = np.array(arcs, dtype=np.int64)
        self.src: Ints = np.array([graph.arcs[a].src for a in arcs], dtype=np.int64)
        dst = np.array([graph.arcs[a].dst for a in arcs], dtype=np.int64)
        self.by_dst: Ints = np.argsort(dst, kind="stable")
        ordered = dst[self.by_dst]
        self.first: Ints = np.flatnonzero(np.append(True, ordered[1:] != ordered[:-1]))
        self.reached: Ints = ordered[self.first]
        groups = np.split(self.by_dst, self.first[1:])
        self.into: dict[int, Ints] = dict(zip(self.reached.tolist(), groups, strict=True))
        self.needs_blank = np.append(False, self.symbols[1:] == self.symbols[:-1])
        self.needs_blank[self.heads] = False
