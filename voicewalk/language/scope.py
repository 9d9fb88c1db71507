"""What can be said in which language: English has numbers, sides and the letters a to z.

Numbers (``number_grammar``), units and the words put before mirrored items are English. In any
other language a card that needs them is refused: half a number understood is worse than none.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path

from voicewalk.card.model import Card, Item, Kind
from voicewalk.card.source import Source
from voicewalk.card.spoken import unknown_words
from voicewalk.errors import SourceError
from voicewalk.language.meaning import Command

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


def unspelled(
    card: Card, language: str, spelling: Collection[str], commands: Collection[str]
) -> Iterator[SourceError]:
    """What a card asks for sign by sign, where its vocabulary has no words for signs."""
    asks = {
        "after_interruption": card.after_interruption is not None,
        "identity_said": card.identity_said,
        "vocabularies": Command.HAND_OVER in commands,  # whoever takes over is named
    }
    if spelling and language == ENGLISH:
        return
    for key in (key for key, asked in asks.items() if asked):
        if language == ENGLISH:
            why, add = "there are no words for it", "Add 'spelling' to 'vocabularies'."
        else:
            why, add = "it is understood in English only", "Leave that out, or write in English."
        yield Source(Path(card.path), card.texts[""]).fault(
            (key,), f"by '{key}' something is asked for sign by sign, and {why}", add
        )


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


def unstated(card: Card, statuses: Collection[str]) -> Iterator[SourceError]:
    """Statuses that a card orders, and that are words of none of its vocabularies."""
    for name in card.status.order if card.status else ():
        if name not in statuses:
            yield SourceError(
                f"{card.path}:1:1",
                f"the status '{name}' is a word of no vocabulary",
                "Add 'form-status' to 'vocabularies', or a file of your own with 'statuses'.",
            )
