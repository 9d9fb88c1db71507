"""The phrase graph expanded into an acoustic model's symbols: a chain of nodes for each way in
which a word is written.

Laid out as flat arrays so that the search (``ctc_search``) moves all nodes at once. A
chain's nodes lie side by side; ``heads`` and ``tails`` are its first and last node.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from voicewalk.language.graph import PhraseGraph

Ints = NDArray[np.int64]

Spell = Callable[[str], tuple[tuple[int, ...], ...]]
"""The ways a word is written, each as indices of the acoustic model's symbols."""


class SymbolGraph:
    """A phrase graph compiled for one acoustic model.

    Attributes:
        symbols: (nodes,) the acoustic model's index of each node's symbol.
        heads, tails: (chains,) first and last node of each chain.
        arc: (chains,) the arc of the phrase graph that the chain writes.
        src: (chains,) the state it leaves.
        by_dst, first, reached: the chains ordered by the state they enter; where each state's
            run begins in that order; which states those are.
        doubled: the nodes that a blank must part from the one before them: it has their symbol.
    """

    def __init__(self, graph: PhraseGraph, spell: Spell) -> None:
        self.graph = graph
        symbols: list[int] = []
        heads: list[int] = []
        arcs: list[int] = []
        for index, arc in enumerate(graph.arcs):
            for way in () if arc.written else spell(arc.word):
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
        alike = np.append(False, self.symbols[1:] == self.symbols[:-1])
        alike[self.heads] = False
        self.doubled: Ints = np.flatnonzero(alike)
