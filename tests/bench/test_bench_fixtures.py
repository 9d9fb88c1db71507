"""The cards made for measuring: people's recordings of single words have a meaning on them."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from voicewalk.bench.clips import Recording, read_manifest
from voicewalk.card.load import load_card
from voicewalk.card.model import Card
from voicewalk.hearing.ears import starts_of
from voicewalk.language.build import phrase_graph
from voicewalk.language.draw import asked
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of

FIXTURES = Path(__file__).parents[2] / "fixtures" / "bench"

# ICAO Annex 10, Volume II, 5.2.1.3.
LETTERS = [
    "alfa",
    "bravo",
    "charlie",
    "delta",
    "echo",
    "foxtrot",
    "golf",
    "hotel",
    "india",
    "juliett",
    "kilo",
    "lima",
    "mike",
    "november",
    "oscar",
    "papa",
    "quebec",
    "romeo",
    "sierra",
    "tango",
    "uniform",
    "victor",
    "whiskey",
    "x-ray",
    "yankee",
    "zulu",
]
OUR_SPELLING = {"alfa": "alpha"}  # as the recordings and the word listener write it
DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@cache
def laid(name: str) -> tuple[Card, PhraseGraph, PhraseGraph]:
    """A card, its graph, and the graph of the ears."""
    card = load_card(FIXTURES / f"{name}.yaml")
    words = vocabulary_of(card)
    return card, phrase_graph(card, words), phrase_graph(card, words, answers=False)


def heard(name: str, text: str) -> list[Meaning]:
    """What the ears can make of a text where it was asked for."""
    card, written, ears = laid(name)
    return [
        one
        for meaning in parse(written, text)
        for one in parse(ears, text, starts_of(ears, asked(card, written, text, meaning)))
    ]


@pytest.mark.parametrize("letter", LETTERS)
def test_the_spelling_alphabet_is_answered_on_the_card_of_codes(letter):
    word = OUR_SPELLING.get(letter, letter).replace("-", " ")
    assert heard("codes", word) == [Meaning(Act.STATE, state=word)]


@pytest.mark.parametrize("digit", range(10))
def test_digits_are_answered_on_the_card_of_codes(digit):
    assert heard("codes", DIGITS[digit]) == [Meaning(Act.COUNT, value=str(digit))]


def alphabet_and_digits(recording: Recording) -> bool:
    return recording.source in ("FSDD", "NATO-spell")


def control_words(recording: Recording) -> bool:
    word = r"(yes|no|repeat|stop|help|start|go|enter .*)"
    return recording.source == "AN4" and re.fullmatch(word, recording.text) is not None


@pytest.mark.parametrize(
    ("name", "chosen"),
    [("codes", alphabet_and_digits), ("an4", control_words)],
    ids=["codes", "an4"],
)
def test_every_recording_chosen_is_a_call(
    name: str, chosen: Callable[[Recording], bool], speech_data: Path
):
    """As ``script/bench`` chooses them; one that is none would count as speech to be refused."""
    texts = {recording.text for recording in read_manifest(speech_data) if chosen(recording)}
    assert len(texts) > 20
    assert {text for text in texts if len(heard(name, text)) != 1} == set()
