"""The listeners of a card without a judge, for measuring."""

from __future__ import annotations

from pathlib import Path

from voicewalk.card.load import card_path, load_card, vocabulary_paths
from voicewalk.hearing.ears import Listeners
from voicewalk.hearing.lexicon import Lexicon, load_entries
from voicewalk.hearing.phoneme_model import PhonemeModel
from voicewalk.language.vocabulary import vocabulary_of


def listeners_of(name: str) -> Listeners:
    """The listeners of a card, by its name or file."""
    card = load_card(card_path(name))
    return Listeners(card, vocabulary_of(card), _lexicon_path(name))


def lexicon_of(name: str) -> tuple[PhonemeModel, Lexicon]:
    """The phoneme listener's model and the lexicon of a card's language."""
    model = PhonemeModel()
    return model, Lexicon(load_entries(_lexicon_path(name)), model.spell)


def _lexicon_path(name: str) -> Path:
    first = vocabulary_paths(load_card(card_path(name)))[0]
    return first.with_name(f"{first.stem}-lexicon.tsv")
