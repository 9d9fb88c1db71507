"""Calls drawn from a card, each with its meaning and with what must be asked for it.

What is drawn, and how often, is ``language.draw``'s; the meaning is the graph's own reading of
the words, so that whoever measures or practises with them need not believe the drawing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from random import Random

from voicewalk.card.model import Card
from voicewalk.language.build import phrase_graph
from voicewalk.language.draw import asked, draw_call
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Expectation, Meaning
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import Vocabulary

SIDE, QUESTION = "which side", "affirm or negative"
"""What is asked for where no item is. No item's id has a blank."""

GIVEN = "given"
"""The kind of a phrase that was not drawn."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One drawn call.

    Attributes:
        kind: as ``draw_call`` gives it, or ``GIVEN``.
        expectation: what must be asked for the words to be a call; nothing for most.
    """

    text: str
    kind: str
    meaning: Meaning
    expectation: Expectation

    @property
    def asked(self) -> str:
        """An item's id, ``SIDE``, ``QUESTION``, or "" for a call that needs no question."""
        if self.expectation.side:
            return SIDE
        return QUESTION if self.expectation.question else self.expectation.item

    def to_json(self) -> dict[str, object]:
        """With ``asked`` only where something must be asked."""
        drawn: dict[str, object] = {
            "text": self.text,
            "kind": self.kind,
            "meaning": self.meaning.to_json(),
        }
        return {**drawn, "asked": self.asked} if self.asked else drawn


def phrases(card: Card, vocabulary: Vocabulary, random: Random) -> Iterator[Phrase]:
    """Calls without end. Words that the graph gives several meanings are drawn anew."""
    graph = phrase_graph(card, vocabulary)
    while True:
        kind, text = draw_call(card, vocabulary, random)
        if (phrase := phrase_of(card, graph, text)) is not None:
            yield replace(phrase, kind=kind)


def phrase_of(card: Card, graph: PhraseGraph, text: str) -> Phrase | None:
    """A given text as a phrase; ``None`` where it is no call of the card, or more than one."""
    meanings = parse(graph, text)
    if len(meanings) != 1:
        return None
    return Phrase(text, GIVEN, meanings[0], asked(card, graph, text, meanings[0]))


def draw_phrases(card: Card, vocabulary: Vocabulary, count: int, seed: int) -> list[Phrase]:
    """``count`` calls; the same card, words and seed draw the same."""
    return list(islice(phrases(card, vocabulary, Random(seed)), count))
