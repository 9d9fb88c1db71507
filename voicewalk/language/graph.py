"""The phrase graph: a finite-state acceptor over words whose arcs carry meaning.

Everything that listens or reads takes this one graph: the letter listener expands its words into
frames of letters, the word listener into tokens, and the text parser walks it word by word. It
may have loops (digit strings) and optional parts, so its phrases are never enumerated.

Building a graph from a card is ``language.build``; what a path means is ``language.tags``.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cached_property

Tag = tuple[str, str]
"""(slot, value): one piece of meaning picked up along a path."""

Tags = tuple[Tag, ...]


@dataclass(frozen=True, slots=True)
class Arc:
    """One word from state ``src`` to state ``dst``.

    Attributes:
        word: lower case, spoken as one unit.
        tags: what passing this arc adds to the meaning, in order.
        written: the word is a single character as a decoder writes it ("2", "."), and is never
            spoken; listeners of sounds skip such arcs.
    """

    src: int
    dst: int
    word: str
    tags: Tags = ()
    written: bool = False


@dataclass(frozen=True)
class PhraseGraph:
    """A trimmed acceptor without empty arcs.

    Attributes:
        states: number of states; state 0 is the start.
        arcs: ordered by ``src``.
        finals: final states, each with the tags that ending there adds.
        entries: further states at which a phrase may be entered where that is asked for, by name.
    """

    states: int
    arcs: tuple[Arc, ...]
    finals: dict[int, Tags]
    entries: dict[str, int] = field(default_factory=dict)

    @cached_property
    def leaving(self) -> tuple[tuple[int, ...], ...]:
        """Indices of the arcs that leave each state."""
        leaving: list[list[int]] = [[] for _ in range(self.states)]
        for index, arc in enumerate(self.arcs):
            leaving[arc.src].append(index)
        return tuple(map(tuple, leaving))

    @cached_property
    def entering(self) -> tuple[tuple[int, ...], ...]:
        """Indices of the arcs that enter each state."""
        entering: list[list[int]] = [[] for _ in range(self.states)]
        for index, arc in enumerate(self.arcs):
            entering[arc.dst].append(index)
        return tuple(map(tuple, entering))

    @cached_property
    def words(self) -> frozenset[str]:
        """All words that can be spoken."""
        return frozenset(arc.word for arc in self.arcs if not arc.written)

    @cached_property
    def names(self) -> tuple[tuple[str, ...], ...]:
        """The words of each name: the ways from the start to a word that names an item or a group,
        without words that carry another meaning or may be said over and over."""
        found: dict[tuple[str, ...], None] = {}
        todo: list[tuple[int, tuple[str, ...], frozenset[int]]] = [(0, (), frozenset())]
        while todo:
            at, words, passed = todo.pop()
            for arc in (self.arcs[index] for index in self.leaving[at]):
                slots = {slot for slot, _ in arc.tags}
                if slots & {"item", "group"}:
                    found[*words, arc.word] = None
                elif not slots and not arc.written and arc.dst not in passed | {at}:
                    todo.append((arc.dst, (*words, arc.word), passed | {at}))
        return tuple(sorted(found))


class GraphBuilder:
    """Collects states, word arcs and empty arcs; ``freeze`` makes the graph."""

    def __init__(self) -> None:
        self._arcs: list[Arc] = []
        self._empty: dict[int, list[tuple[int, Tags]]] = defaultdict(list)
        self._finals: dict[int, Tags] = {}
        self._entries: dict[str, int] = {}
        self._states = 1
        self._shared: dict[tuple[int, str], int] = {}

    def state(self) -> int:
        """A new state."""
        self._states += 1
        return self._states - 1

    def arc(self, src: int, dst: int, word: str, *tags: Tag, written: bool = False) -> None:
        """Add one word."""
        self._arcs.append(Arc(src, dst, word, tags, written))

    def empty(self, src: int, dst: int, *tags: Tag) -> None:
        """Add a step that needs no word."""
        self._empty[src].append((dst, tags))

    def phrase(self, src: int, dst: int, phrase: str, *tags: Tag) -> None:
        """Say ``phrase`` between two states; ``tags`` are picked up with its last word.

        Phrases from the same state share their beginnings. The last word is laid anew for
        each, so that what follows a state is never copied for the sake of a tag. Hyphens part
        words, and an apostrophe at a word's end is not heard.
        """
        *first, last = (word.rstrip("'") for word in phrase.replace("-", " ").split())
        for word in first:
            if (src, word) not in self._shared:
                self._shared[src, word] = self.state()
                self.arc(src, self._shared[src, word], word)
            src = self._shared[src, word]
        self.arc(src, dst, last, *tags)

    def final(self, state: int, *tags: Tag) -> None:
        """Let phrases end at ``state``, in one way only."""
        if self._finals.setdefault(state, tags) != tags:
            raise RuntimeError(f"two endings of state {state}")

    def entry(self, name: str, state: int) -> None:
        """Let phrases be entered at ``state`` too, where ``name`` is asked for."""
        self._entries[name] = state

    def freeze(self) -> PhraseGraph:
        """Remove empty arcs and whatever lies on no way from the start to an end.

        Where empty arcs give two ways between the same states by the same word, both are
        kept when their tags differ. A loop of empty arcs, or empty arcs from one state to two
        endings with different tags, is a ``RuntimeError``.
        """
        closures = {state: self._closure(state) for state in range(self._states)}
        finals: dict[int, Tags] = {}
        leaving: dict[int, list[Arc]] = defaultdict(list)
        for arc in self._arcs:
            leaving[arc.src].append(arc)
        arcs: dict[Arc, None] = {}
        for state, closure in closures.items():
            for reached, before in closure:
                if reached in self._finals:
                    ending = before + self._finals[reached]
                    if finals.setdefault(state, ending) != ending:
                        raise RuntimeError(f"two endings of state {state}")
                for arc in leaving[reached]:
                    arcs[Arc(state, arc.dst, arc.word, before + arc.tags, arc.written)] = None
        return _trim(list(arcs), finals, self._entries)

    def _closure(self, state: int) -> list[tuple[int, Tags]]:
        found: list[tuple[int, Tags]] = []

        def visit(at: int, tags: Tags, path: frozenset[int]) -> None:
            if at in path:
                raise RuntimeError(f"a loop of empty arcs through state {at}")
            found.append((at, tags))
            for nxt, more in self._empty.get(at, ()):
                visit(nxt, tags + more, path | {at})

        visit(state, (), frozenset())
        return found


def _trim(arcs: list[Arc], finals: dict[int, Tags], entries: dict[str, int]) -> PhraseGraph:
    starts = {0, *entries.values()}
    forward = _reach(starts, [(arc.src, arc.dst) for arc in arcs])
    useful = forward & _reach(set(finals), [(arc.dst, arc.src) for arc in arcs])
    number = {state: index for index, state in enumerate(sorted(useful | {0}))}
    kept = sorted(
        (
            Arc(number[a.src], number[a.dst], a.word, a.tags, a.written)
            for a in arcs
            if a.src in useful and a.dst in useful
        ),
        key=lambda a: a.src,
    )
    return PhraseGraph(
        states=len(number),
        arcs=tuple(kept),
        finals={number[s]: tags for s, tags in finals.items() if s in useful},
        entries={name: number[state] for name, state in entries.items() if state in useful},
    )


def _reach(starts: set[int], steps: list[tuple[int, int]]) -> set[int]:
    following: dict[int, list[int]] = defaultdict(list)
    for src, dst in steps:
        following[src].append(dst)
    seen = set(starts)
    todo = list(starts)
    while todo:
        for state in following[todo.pop()]:
            if state not in seen:
                seen.add(state)
                todo.append(state)
    return seen
