"""Where the words of a card's calls are written: for faults that are found long after loading.

Only texts that are spoken count: names and states of the card, terms of its vocabularies.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from voicewalk.card.load import vocabulary_paths
from voicewalk.card.model import Card
from voicewalk.card.source import Place, Source
from voicewalk.card.spoken import fold

_OF_ITEMS = {"name", "also", "good", "bad", "on_the_way", "counted"}
_OF_VOCABULARY = {
    "results", "because", "reasons", "families", "places", "commands", "left", "right",
    "first", "second", "fillers", "vague", "both", "owners", "promises", "somebody", "mine", "by",
    "acknowledged", "near_calls",
}  # fmt: skip
_UNITS = "size_units"


def where_said(card: Card, word: str) -> str:
    """``file:line:column`` of the first text with ``word``, which is folded, as a graph has it.

    A word that is written nowhere, such as the side of a mirrored item, is at its item's name;
    one that no item has either, at the card.
    """
    for where, text in _texts(card):
        if word in fold(text.replace("/", " ")).split():
            return where
    owners = (item for item in card if word in fold(item.name).split())
    return f"{card.path}:{next((item.line for item in owners), 1)}:1"


def _texts(card: Card) -> Iterator[tuple[str, str]]:
    source = Source(Path(card.path))
    for place, text in source.texts():
        if _key(place) in _OF_ITEMS:
            yield source.where(place), text
    for path in vocabulary_paths(card):
        source = Source(path)
        for place, text in source.texts():
            if place[0] in _OF_VOCABULARY and _key(place) != _UNITS:
                yield source.where(place), text


def _key(place: Place) -> str | int:
    """The innermost key of a place, whatever list it is in."""
    return next((part for part in reversed(place) if isinstance(part, str)), "")
