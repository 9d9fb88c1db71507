"""The listeners of a card without a judge, for measuring."""

from __future__ import annotations

from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.hearing.ears import Listeners
from voicewalk.language.vocabulary import vocabulary_of


def listeners_of(name: str) -> Listeners:
    """The listeners of a card, by its name or file."""
    card = load_card(card_path(name))
    return Listeners(card, vocabulary_of(card), lexicon_path(card))
