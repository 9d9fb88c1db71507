"""The listeners of a card without a judge, for measuring."""

from __future__ import annotations

from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.hearing.ears import Listeners
from voicewalk.hearing.lexicon import Lexicon, load_entries
from voicewalk.hearing.phoneme_model import PhonemeModel
from voicewalk.language.vocabulary import vocabulary_of


def listeners_of(name: str) -> Listeners:
    """The listeners of a card, by its name or file."""
    card = load_card(card_path(name))
    return Listeners(card, vocabulary_of(card), lexicon_path(card))


def lexicon_of(name: str) -> tuple[PhonemeModel, Lexicon]:
    """The phoneme listener's model and the lexicon of a card's language."""
    model = PhonemeModel()
    return model, Lexicon(load_entries(lexicon_path(load_card(card_path(name)))), model.spell)
