"""What can be said in which language: English has numbers, sides and the letters a to z.

Numbers (``number_grammar``), units and the words put before mirrored items are English. In any
other language a card that needs them is refused: half a number understood is worse than none.
"""

from __future__ import annotations

from collections.abc import Iterator

from voicewalk.card.model import Card, Item, Kind
from voicewalk.card.spoken import unknown_words
from voicewalk.errors import SourceError

ENGLISH = "en"


def unspeakable(phrase: str, language: str) -> list[str]:
    """The words of ``phrase`` that cannot be spoken as written in ``language``."""
    if bad := unknown_words(phrase):
        return bad
    return [word for word in phrase.split() if language == ENGLISH and not word.isascii()]


def beyond(card: Card, language: str) -> Iterator[SourceError]:
    """What a card asks that its language cannot say."""
    for item in card:
        for message, what_to_do in _english(item) if language == ENGLISH else _other(item):
            yield SourceError(f"{card.path}:{item.line}:1", message, what_to_do)


def _english(item: Item) -> Iterator[tuple[str, str]]:
    states = (way for state in item.states for way in (state.name, *state.words))
    for way in (item.name, *item.aliases, *states):
        for word in unspeakable(way, ENGLISH):
            yield f"unknown word '{word}'", "Write it in lower-case letters from a to z."


def _other(item: Item) -> Iterator[tuple[str, str]]:
    if item.kind in (Kind.READING, Kind.COUNT):
        yield (
            f"'{item.name}' asks for a number, and numbers are understood in English only",
            "Ask for a state or the condition instead, or write the card in English.",
        )
    if item.side:
        yield (
            f"'{item.name}' has a side, and sides are named in English only",
            "Write an item for each side, its side as a part of its name.",
        )
