"""The terms of a card and of its vocabulary: what can be said in more ways than one.

A term is an item's name, a state, a result word, a defect, a place, and so on, with all ways
to say it. Practice looks among them for safer ways.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from voicewalk.card.model import Card
from voicewalk.language.parse import tokens
from voicewalk.language.units import UNITS
from voicewalk.language.vocabulary import Term, Vocabulary

Words = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to say a term.

    Attributes:
        sort: what the term is ("item", "result", "place", ...): terms of one sort are taken
            for one another.
        term: the term's name, unique within its sort.
        words: as the graph has them.
    """

    sort: str
    term: str
    words: Words

    @property
    def text(self) -> str:
        """The words in a row."""
        return " ".join(self.words)


class Terms:
    """All terms of a card."""

    def __init__(self, card: Card, vocabulary: Vocabulary) -> None:
        self.ways = tuple(dict.fromkeys(_ways(card, vocabulary)))
        self._by_words: dict[Words, list[Way]] = defaultdict(list)
        self._by_sort: dict[str, list[Way]] = defaultdict(list)
        for way in self.ways:
            self._by_words[way.words].append(way)
            self._by_sort[way.sort].append(way)
        self._longest = max(map(len, self._by_words))

    def within(self, text: str) -> list[Way]:
        """The terms said in ``text``: from the left, the longest at each place."""
        words = tuple(tokens(text))
        found: list[Way] = []
        at = 0
        while at < len(words):
            lengths = range(min(self._longest, len(words) - at), 0, -1)
            length = next((n for n in lengths if words[at : at + n] in self._by_words), 0)
            found += self._by_words.get(words[at : at + length], [])
            at += length or 1
        return found

    def others(self, way: Way) -> list[Way]:
        """The other ways to say the same."""
        same = (one for one in self._by_sort[way.sort] if one.term == way.term)
        return [one for one in same if one.words != way.words]

    def rivals(self, way: Way) -> list[Way]:
        """What else of its sort there is to be said."""
        return [one for one in self._by_sort[way.sort] if one.term != way.term]


def _ways(card: Card, vocabulary: Vocabulary) -> Iterator[Way]:
    for item in card:
        yield from _said("item", item.id, (item.name, *item.aliases))
        yield from _said("item", f"{item.group} of either side", item.bare_names)
        for state in item.states:
            yield from _said("result", state.name, (state.name, *state.words))
    sized = (unit for family in vocabulary.families.values() for unit in family.size_units)
    for unit in dict.fromkeys([*(item.unit for item in card if item.unit), *sized]):
        yield from _said("unit", unit, UNITS[unit].words)
    results = (vocabulary.satisfactory, vocabulary.not_inspected, vocabulary.not_applicable)
    defects = (defect for family in vocabulary.families.values() for defect in family.defects)
    yield from _terms("result", (*results, *defects))
    yield from _said("opening of a reason", "because", vocabulary.because)
    yield from _terms("reason", vocabulary.reasons)
    yield from _terms("place", vocabulary.places)
    yield from _terms("side", (vocabulary.left, vocabulary.right))
    yield from _terms("command", vocabulary.commands.values())


def _terms(sort: str, terms: Iterable[Term]) -> Iterator[Way]:
    for term in terms:
        yield from _said(sort, term.name, term.words)


def _said(sort: str, term: str, phrases: Iterable[str]) -> Iterator[Way]:
    for phrase in phrases:
        yield Way(sort, term, tuple(tokens(phrase)))
