"""The real ears, loaded once for all tests that need them."""

from __future__ import annotations

import pytest

from voicewalk.card.load import card_path, load_card, vocabulary_paths
from voicewalk.hearing.denoise import NoiseReducer
from voicewalk.hearing.ears import Ears
from voicewalk.language.vocabulary import vocabulary_of


@pytest.fixture(scope="session")
def ears() -> Ears:
    """The ears of the jet trainer's card. Takes some seconds."""
    card = load_card(card_path("jet-trainer"))
    first = vocabulary_paths(card)[0]
    return Ears(card, vocabulary_of(card), first.with_name(f"{first.stem}-lexicon.tsv"))


@pytest.fixture(scope="session")
def reduce() -> NoiseReducer:
    return NoiseReducer()
