"""Calls that name no item: what they mean is settled by the item asked for, not by the graph."""

import pytest

from voicewalk.card.load import card_path, load_card
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of


@pytest.fixture(scope="module")
def graph():
    card = load_card(card_path("jet-trainer"))
    return phrase_graph(card, vocabulary_of(card))


@pytest.mark.parametrize(("text", "value"), [("three", "3"), ("one zero", "10"), ("12", "12")])
def test_a_bare_number_has_one_meaning_where_items_are_counted_and_read(graph, text, value):
    assert parse(graph, text) == [Meaning(Act.READING, value=value)]


def test_a_named_item_that_is_counted_is_counted(graph):
    assert parse(graph, "green gear lights three") == [
        Meaning(Act.COUNT, item="green-gear-lights", value="3")
    ]
