"""The phrases to which Vosk is held: examples from which it learns what may follow what.

Vosk makes a bigram model of them: which word begins, follows another, ends. So every two words
that follow one another somewhere in the graph must do so in some phrase, and no other two.
Loops need no more phrases than that, and the list is never longer than there are such pairs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from voicewalk.language.graph import Arc, PhraseGraph

_EDGE = ""
"""Stands before the first word and after the last."""

_NAMES = ("item", "group", "command")
"""Tags of a call that stands for itself; any other answers a question."""

Words = tuple[str, ...]
Node = tuple[int, bool]
"""A state of the graph, and whether the call has named what it is about before it."""


def phrases_of(graph: PhraseGraph, *, answers: bool) -> list[str]:
    """Calls of ``graph`` in which all its pairs of words occur, the shortest ways taken.

    Args:
        answers: with calls that name no item and are no command. Where nothing was asked for
            they are no calls, and only take the place of the item's name in poor sound.
    """
    cover = _Cover(graph, answers)
    covered: set[tuple[str, str]] = set()
    phrases: list[str] = []
    for pair, call in cover.calls():
        if pair not in covered:
            edged = (_EDGE, *call, _EDGE)
            covered.update(pairwise(edged))
            phrases.append(" ".join(call))
    return phrases


class _Cover:
    """The graph without what is only written, each state split by whether a name was said."""

    def __init__(self, graph: PhraseGraph, answers: bool) -> None:
        self._arcs: list[tuple[Node, str, Node]] = [
            ((arc.src, named), arc.word, (arc.dst, named or _names(arc)))
            for arc in graph.arcs
            if not arc.written
            for named in (False, True)
        ]
        self._leaving: dict[Node, list[tuple[str, Node]]] = defaultdict(list)
        for src, word, dst in self._arcs:
            self._leaving[src].append((word, dst))
        ends = (
            (state, named)
            for state in graph.finals
            for named in ({True, False} if answers else {True})
        )
        self._after: dict[Node, Words] = dict.fromkeys(ends, ())
        self._before: dict[Node, Words] = {(0, False): ()}
        self._ends = frozenset(self._after)
        self._spread()

    def calls(self) -> Iterator[tuple[tuple[str, str], Words]]:
        """Every pair of words with the shortest call that has it."""
        before, after = self._before, self._after
        for src, word, dst in self._arcs:
            if src not in before or dst not in after:
                continue  # on no way that can be spoken
            head = (*before[src], word)
            if not before[src]:
                yield (_EDGE, word), (*head, *after[dst])
            if dst in self._ends:
                yield (word, _EDGE), head
            for following, end in self._leaving[dst]:
                if end in after:
                    yield (word, following), (*head, following, *after[end])

    def _spread(self) -> None:
        """The fewest words from the start to each node, and from each node to an end."""
        before, after = self._before, self._after
        grown = True
        while grown:
            ahead: dict[Node, Words] = {}
            back: dict[Node, Words] = {}
            for src, word, dst in self._arcs:
                if src in before and dst not in before:
                    ahead.setdefault(dst, (*before[src], word))
                if dst in after and src not in after:
                    back.setdefault(src, (word, *after[dst]))
            before |= ahead
            after |= back
            grown = bool(ahead or back)


def _names(arc: Arc) -> bool:
    return any(slot in _NAMES for slot, _ in arc.tags)
