"""Drawn calls with their meanings: right by the graph, repeatable, and of every sort."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from language_cards import SHIPPED, item, laid, shipped

from voicewalk.card.model import Kind
from voicewalk.language.draw import ANSWER
from voicewalk.language.meaning import NO_CALL, Act, Command, Expectation, Meaning
from voicewalk.language.phrases import QUESTION, SIDE, Phrase, draw_phrases, phrases

ON_BOTH = pytest.mark.parametrize("on", [shipped(name) for name in SHIPPED], ids=SHIPPED)


def named(meaning: Meaning) -> bool:
    return bool(meaning.item or meaning.group)


@ON_BOTH
@settings(max_examples=15)  # each lays the graph
@given(seed=st.integers(0, 2**32))
def test_the_words_mean_just_the_meaning(on, seed):
    for phrase in draw_phrases(on.card, on.words, 25, seed):
        assert on.read(phrase.text) == [phrase.meaning]
        assert Meaning.from_json(phrase.to_json()["meaning"]) == phrase.meaning


@ON_BOTH
def test_the_same_seed_draws_the_same_calls(on):
    first = draw_phrases(on.card, on.words, 30, 7)
    assert draw_phrases(on.card, on.words, 30, 7) == first
    assert draw_phrases(on.card, on.words, 10, 7) == first[:10]
    assert draw_phrases(on.card, on.words, 30, 8) != first


@ON_BOTH
def test_every_item_and_every_command_comes_up(on):
    drawn = draw_phrases(on.card, on.words, 3000, 1)
    assert {phrase.meaning.item for phrase in drawn} - {""} == set(on.card.by_id)
    assert {phrase.meaning.command for phrase in drawn} - {""} == set(on.words.commands)
    groups = {name for name, both in on.card.groups.items() if len(both) > 1}
    assert {phrase.meaning.group for phrase in drawn} & groups
    # A bare item is rare, a choice is an answer, and for the others these cards have no words.
    none = {Act.ITEM, Act.CHOICE, Act.PROMISED, Act.VAGUE, Act.IDENTITY}
    none |= {Act.STATUS, Act.ACKNOWLEDGED, *NO_CALL}
    assert {phrase.meaning.act for phrase in drawn} == set(Act) - none


@ON_BOTH
def test_what_names_no_item_must_be_asked_for(on):
    """A command is one at any time, but "affirm" and "negative" answer a question."""
    for phrase in draw_phrases(on.card, on.words, 2000, 2):
        meaning = phrase.meaning
        if meaning.act is Act.COMMAND:
            answers = meaning.command in (Command.AFFIRM, Command.NEGATIVE)
            assert phrase.asked == (QUESTION if answers else "")
        elif meaning.act is Act.SIDE:
            assert phrase.asked == SIDE
        elif named(meaning):
            assert phrase.asked == ""
        else:
            assert phrase.kind == ANSWER
            assert phrase.asked in on.card.by_id
        assert ("asked" in phrase.to_json()) is bool(phrase.asked)


def test_an_id_is_never_taken_for_another_question():
    assert all(" " in words for words in (SIDE, QUESTION))
    assert all(" " not in id for name in SHIPPED for id in shipped(name).card.by_id)


def test_as_json():
    meaning = Meaning(Act.READING, value="210", unit="psi")
    phrase = Phrase("two one zero psi", ANSWER, meaning, Expectation(item="nose-tyre-pressure"))
    assert phrase.to_json() == {
        "text": "two one zero psi",
        "kind": "answer",
        "meaning": {"act": "reading", "value": "210", "unit": "psi"},
        "asked": "nose-tyre-pressure",
    }


def test_drawing_goes_on_as_long_as_it_is_wanted():
    small = laid(item("nose tyre", Kind.CONDITION, defects=("tyre",)))
    drawn = phrases(small.card, small.words, Random(1))
    assert {next(drawn).meaning.item for _ in range(200)} == {"nose-tyre", ""}
