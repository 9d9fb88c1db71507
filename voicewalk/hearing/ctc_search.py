"""Exact search of CTC frames through a graph of symbols, and its N best word sequences.

Viterbi in the log domain, all nodes at once. The score of every word end at every frame is
kept, so that the best word sequences are read off backwards, best first, without searching
again. This is the word-dependent N-best of speech recognition: where a word starts is taken
from its own best alignment.

Two adjacent equal symbols need a blank between them inside a word, as CTC has it (Graves et al.
2006, connectionist temporal classification). Across words they may merge; words that begin with a
symbol of their own, as the letter listener's do, never can.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voicewalk.hearing.symbol_graph import SymbolGraph

Floats = NDArray[np.float32]

_STAY, _ONWARD, _AFTER_BLANK = 0, 1, 2
"""Whence a node came to sound in a frame; a comparison writes the first two."""


@dataclass(frozen=True, slots=True)
class Path:
    """A way through the graph.

    Attributes:
        arcs: indices of the phrase graph's arcs, in order.
        begins: the frame at which each of them takes its first sound.
        score: log-probability of the frames along the best alignment.
    """

    arcs: tuple[int, ...]
    begins: tuple[int, ...]
    score: float


@dataclass(frozen=True, slots=True)
class _Suffix:
    """The end of a path, read backwards so far; ``begin`` is the frame it begins at."""

    arcs: tuple[int, ...]
    begins: tuple[int, ...]
    begin: int
    score: float


class Trellis:
    """All frames run through a graph; ``paths`` reads the ways through it, best first.

    Args:
        frames: (frames, symbols) log-probabilities.
        blank: index of the blank symbol.
        starts: states of the phrase graph at which a path may begin.
    """

    def __init__(
        self, graph: SymbolGraph, frames: Floats, blank: int, starts: Iterable[int] = (0,)
    ) -> None:
        self.graph = graph
        self._starts = sorted(starts)
        length, nodes = len(frames), len(graph.symbols)
        self._ends = np.empty((length, len(graph.tails)), dtype=np.float32)
        self._end_silent = np.empty((length, len(graph.tails)), dtype=bool)
        self._steps = np.empty((length, nodes), dtype=np.uint8)
        self._stays_silent = np.empty((length, nodes), dtype=bool)
        self._junctions = np.full((length + 1, graph.graph.states), -np.inf, dtype=np.float32)
        self._lead = np.append(0.0, np.cumsum(frames[:, blank], dtype=np.float64))
        self._begins: dict[tuple[int, int], int] = {}
        self._run(frames, blank)

    def _run(self, frames: Floats, blank: int) -> None:
        g = self.graph
        nodes, chains = len(g.symbols), len(g.tails)
        # Every frame works in the same memory: what takes time is moving it, not the sums. "wrap"
        # is the mode in which "take" writes there straight; no index is out of bounds.
        sounding = np.full(nodes, -np.inf, dtype=np.float32)
        silent, onward, rested = sounding.copy(), sounding.copy(), sounding.copy()
        said = np.empty(nodes, dtype=np.float32)
        better = np.empty(nodes, dtype=np.uint8)
        begun, loud, quiet = (np.empty(chains, dtype=np.float32) for _ in range(3))
        starts = self._starts
        self._junctions[0, starts] = 0.0
        for t, frame in enumerate(frames):
            onward[1:] = sounding[:-1]
            onward[g.doubled] = -np.inf
            np.take(self._junctions[t], g.src, out=begun, mode="wrap")
            onward[g.heads] = begun
            rested[1:] = silent[:-1]
            rested[g.heads] = -np.inf
            np.greater_equal(silent, sounding, out=self._stays_silent[t])
            np.maximum(silent, sounding, out=silent)
            silent += frame[blank]
            step = self._steps[t]
            np.greater(onward, sounding, out=step.view(bool))
            np.maximum(sounding, onward, out=sounding)
            np.greater(rested, sounding, out=better.view(bool))
            np.maximum(step, np.multiply(better, _AFTER_BLANK, out=better), out=step)
            np.maximum(sounding, rested, out=sounding)
            np.take(frame, g.symbols, out=said, mode="wrap")
            sounding += said
            np.take(sounding, g.tails, out=loud, mode="wrap")
            np.take(silent, g.tails, out=quiet, mode="wrap")
            np.greater(quiet, loud, out=self._end_silent[t])
            np.maximum(loud, quiet, out=self._ends[t])
            np.take(self._ends[t], g.by_dst, out=begun, mode="wrap")
            self._junctions[t + 1, g.reached] = np.maximum.reduceat(begun, g.first)
            self._junctions[t + 1, starts] = np.maximum(
                self._junctions[t + 1, starts], self._lead[t + 1]
            )

    def best(self, state: int) -> float:
        """Score of the best path that ends in ``state`` after the last frame."""
        return float(self._junctions[-1, state])

    def paths(self, margin: float, limit: int) -> Iterator[Path]:
        """Complete paths, best first.

        Args:
            margin: paths worse than the best by more than this are not followed.
            limit: how many partial paths may be opened before the reading stops.
        """
        length = len(self._ends)
        graph = self.graph.graph
        queue: list[tuple[float, int, _Suffix, int]] = []
        order = 0
        top = max((self.best(state) for state in graph.finals), default=-np.inf)
        if top == -np.inf:
            return  # the clip is too short for any phrase
        floor = top - margin

        def push(state: int, suffix: _Suffix) -> None:
            """Offer every way into ``state`` as the word before ``suffix``."""
            nonlocal order
            t = suffix.begin
            ways = [(-1, self._lead[t] + suffix.score)] if state in self._starts else []
            if t > 0 and state in self.graph.into:
                # Of the ways a word is written only the best: the others are the same call again,
                # and a call of ten words would have thousands of them.
                chains = self.graph.into[state]
                totals = self._ends[t - 1, chains] + suffix.score
                best: dict[int, tuple[int, float]] = {}
                for i in np.flatnonzero(totals >= floor).tolist():
                    arc, total = int(self.graph.arc[chains[i]]), float(totals[i])
                    if arc not in best or total > best[arc][1]:
                        best[arc] = int(chains[i]), total
                ways += best.values()
            for chain, total in ways:
                heapq.heappush(queue, (-total, order, suffix, chain))
                order += 1

        for state in graph.finals:
            push(state, _Suffix((), (), length, 0.0))
        for _ in range(limit):
            if not queue:
                return
            negative, _, suffix, chain = heapq.heappop(queue)
            if chain < 0:
                yield Path(suffix.arcs, suffix.begins, float(-negative))
                continue
            begin = self._begin(chain, suffix.begin - 1)
            src = int(self.graph.src[chain])
            end_score = float(self._ends[suffix.begin - 1, chain])
            word = end_score - float(self._junctions[begin, src])
            arcs = (int(self.graph.arc[chain]), *suffix.arcs)
            push(src, _Suffix(arcs, (begin, *suffix.begins), begin, suffix.score + word))

    def _begin(self, chain: int, t: int) -> int:
        """The frame at which ``chain``, ending after frame ``t``, took its first sound."""
        if (chain, t) in self._begins:
            return self._begins[chain, t]
        node, last = int(self.graph.tails[chain]), t
        silent = bool(self._end_silent[t, chain])
        while True:
            if silent:
                silent = bool(self._stays_silent[t, node])
            else:
                step = self._steps[t, node]
                if step != _STAY:
                    if step == _ONWARD and node == self.graph.heads[chain]:
                        break
                    node -= 1
                    silent = step == _AFTER_BLANK
            t -= 1
        self._begins[chain, last] = t
        return t
