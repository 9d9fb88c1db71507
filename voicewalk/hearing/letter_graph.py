"""The phrase graph expanded into letters, and which tokens of a word model it allows.

Without spaces, punctuation and case, digit strings and split or joined words need no special
case. A hypothesis stands on a *set* of places in the graph (subset construction); which
tokens may follow a set, and to which set they lead, is worked out once and kept.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voicewalk.hearing.tokens import TokenTrie
from voicewalk.language.graph import PhraseGraph

Ints = NDArray[np.int64]
Place = int
Places = frozenset[int]

Spell = Callable[[str], tuple[str, ...]]
"""The ways a word is written, lower case; the first is the usual one."""


_NO_LETTERS = str.maketrans("", "", "'-")
"""What is left out of a spelling; ``p-s-i`` is only for who hears it letter by letter."""


@dataclass(frozen=True, slots=True)
class Following:
    """What may follow a set of places: tokens, and the number of the set each leads to."""

    tokens: Ints
    sets: Ints


class LetterGraph:
    """A phrase graph over letters. Place n < states is state n; others lie inside a word."""

    def __init__(self, graph: PhraseGraph, spell: Spell, trie: TokenTrie) -> None:
        self.graph = graph
        self._trie = trie
        self._step: dict[Place, dict[str, list[Place]]] = defaultdict(lambda: defaultdict(list))
        self._back: dict[tuple[Place, str], list[tuple[Place, int]]] = defaultdict(list)
        self._places = graph.states
        for index, arc in enumerate(graph.arcs):
            # What is written as it stands, the "-" of a number below zero among it, is no word.
            words = () if arc.written else spell(arc.word)
            ways = (way.translate(_NO_LETTERS) for way in words)
            for letters in (arc.word,) if arc.written else dict.fromkeys(ways):
                self._lay(index, arc.src, arc.dst, letters)
        self._numbers: dict[Places, int] = {}
        self._sets: list[Places] = []
        self._following: dict[int, Following] = {}

    def start(self, states: Iterable[int] = (0,)) -> int:
        """The number of the set on which phrases that begin at one of ``states`` begin."""
        return self._number(frozenset(states))

    def _lay(self, index: int, src: Place, dst: Place, letters: str) -> None:
        for letter in letters[:-1]:
            self._step[src][letter].append(self._places)
            self._back[self._places, letter].append((src, index))
            src = self._places
            self._places += 1
        self._step[src][letters[-1]].append(dst)
        self._back[dst, letters[-1]].append((src, index))

    def _number(self, places: Places) -> int:
        if places not in self._numbers:
            self._numbers[places] = len(self._sets)
            self._sets.append(places)
        return self._numbers[places]

    def can_end(self, number: int) -> bool:
        """Whether a phrase may end on this set."""
        return not self.graph.finals.keys().isdisjoint(self._sets[number])

    def following(self, number: int) -> Following:
        """The tokens allowed after a set."""
        if number not in self._following:
            tokens: list[int] = []
            sets: list[int] = []
            todo = [(self._trie.root, self._sets[number])]
            while todo:
                node, places = todo.pop()
                if node.tokens:
                    tokens.extend(node.tokens)
                    sets.extend([self._number(places)] * len(node.tokens))
                for letter, child in node.children.items():
                    if reached := self._after(places, letter):
                        todo.append((child, reached))
            order = np.argsort(np.array(tokens, dtype=np.int64), kind="stable")
            self._following[number] = Following(
                np.array(tokens, dtype=np.int64)[order], np.array(sets, dtype=np.int64)[order]
            )
        return self._following[number]

    def _after(self, places: Places, letter: str) -> Places:
        step = self._step
        return frozenset(q for p in places if letter in step[p] for q in step[p][letter])

    def paths(self, letters: str, states: Iterable[int] = (0,)) -> list[tuple[int, ...]]:
        """All ways from one of ``states`` to an end, as arcs, that are written with these
        letters."""
        layers = [frozenset(states)]
        for letter in letters:
            layers.append(self._after(layers[-1], letter))
        found: list[tuple[int, ...]] = []
        todo: list[tuple[int, Place, tuple[int, ...]]] = [
            (len(letters), place, ()) for place in layers[-1] if place in self.graph.finals
        ]
        while todo:
            at, place, arcs = todo.pop()
            if at == 0:
                found.append(arcs)
                continue
            for before, index in self._back[place, letters[at - 1]]:
                if before in layers[at - 1]:
                    begun = before < self.graph.states
                    todo.append((at - 1, before, (index, *arcs) if begun else arcs))
        return found
