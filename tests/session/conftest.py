"""The card and the booth of the session's tests."""

import pytest
from session_booth import Booth

from voicewalk.card.load import card_path, load_card


@pytest.fixture(scope="session")
def card():
    return load_card(card_path("jet-trainer"))


@pytest.fixture
def booth(card):
    booth = Booth(card)
    booth.start()
    return booth
