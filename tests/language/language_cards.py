"""The cards that come with the program with their graphs, and a small invented card."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Card, Item, Kind, Side, Station
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import Vocabulary, vocabulary_of

SHIPPED = ("jet-trainer", "vehicle-daily")


@dataclass(frozen=True)
class Laid:
    """A card with its words and its graph."""

    card: Card
    words: Vocabulary
    graph: PhraseGraph

    def read(self, text: str) -> list[Meaning]:
        return parse(self.graph, text)

    def answers(self, text: str, starts: Iterable[int]) -> list[Meaning]:
        """Where something was asked for."""
        return parse(self.graph, text, starts)

    def misread(self, calls: dict[str, Meaning]) -> dict[str, list[Meaning]]:
        """The calls that do not have their one meaning, with what they have."""
        assert calls
        return {
            text: found
            for text, meaning in calls.items()
            if (found := self.read(text)) != [meaning]
        }


@cache
def shipped(name: str) -> Laid:
    card = load_card(card_path(name))
    words = vocabulary_of(card)
    return Laid(card, words, phrase_graph(card, words))


def item(name: str, kind: Kind = Kind.CONDITION, **more: object) -> Item:
    id = name.replace(" ", "-")
    given = {"group": id, "aliases": (), "bare_names": (), "side": Side.NONE, **more}
    return Item(id=id, station="nose", name=name, kind=kind, **given)


def laid(*items: Item) -> Laid:
    """The graph of a small card in the words of the first shipped one."""
    words = shipped(SHIPPED[0]).words
    station = Station("nose", "nose", "power off", items)
    card = Card("small", "Small", "1", "aircraft", "Invented.", ("english",), (station,))
    return Laid(card, words, phrase_graph(card, words))
