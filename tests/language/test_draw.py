"""Drawn calls are calls: each has one meaning on its card."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from language_cards import SHIPPED, Laid, item, laid, shipped

from voicewalk.card.model import Kind, State
from voicewalk.card.spoken import fold
from voicewalk.hearing.ears import starts_of
from voicewalk.hearing.judge import unasked
from voicewalk.language.build import phrase_graph
from voicewalk.language.draw import (
    ANSWER,
    COMMAND,
    DISCREPANCY,
    NOT_INSPECTED,
    RESULT,
    asked,
    draw_call,
)
from voicewalk.language.meaning import Act, Expectation
from voicewalk.language.number_grammar import number_grammar
from voicewalk.language.parse import parse

ON_BOTH = pytest.mark.parametrize("on", [shipped(name) for name in SHIPPED], ids=SHIPPED)

ACTS = {
    DISCREPANCY: {Act.DISCREPANCY},
    NOT_INSPECTED: {Act.NOT_INSPECTED},
    COMMAND: {Act.COMMAND},
    RESULT: {Act.SATISFACTORY, Act.STATE, Act.READING, Act.COUNT, Act.NOT_APPLICABLE},
}
ACTS[ANSWER] = ACTS[RESULT] | {Act.SIDE}
DUE = {
    Kind.CONDITION: Act.SATISFACTORY,
    Kind.STATE: Act.STATE,
    Kind.READING: Act.READING,
    Kind.COUNT: Act.COUNT,
}

NUMBER_WORDS = {arc.word for arc in number_grammar(decimals=True, fractions=True).arcs}


@ON_BOTH
@given(seed=st.integers(0, 2**32))
def test_a_drawn_call_has_one_meaning_of_its_kind(on, seed):
    kind, words = draw_call(on.card, on.words, Random(seed))
    (meaning,) = on.read(words)
    assert meaning.act in ACTS[kind]
    named = bool(meaning.item or meaning.group)
    assert named is (kind not in (COMMAND, ANSWER))
    if kind == RESULT and meaning.act is not Act.NOT_APPLICABLE:
        item = on.card.by_id.get(meaning.item) or on.card.groups[meaning.group][0]
        assert meaning.act is DUE[item.kind]
        assert bool(meaning.unit) is (meaning.act is Act.READING)
    if kind == NOT_INSPECTED:
        assert meaning.reason


@ON_BOTH
@given(seed=st.integers(0, 2**32))
def test_what_must_be_asked_for_a_call_to_be_one(on, seed):
    kind, words = draw_call(on.card, on.words, Random(seed))
    (meaning,) = on.read(words)
    needed = asked(on.card, on.graph, words, meaning)
    assert not unasked(meaning, needed)
    assert len(parse(on.graph, words, starts_of(on.graph, needed)[-1:])) == 1
    if unasked(meaning, Expectation()):
        assert needed != Expectation()
    elif kind != ANSWER:
        assert needed == Expectation()
    if needed.item:
        item = on.card.by_id[needed.item]
        number = meaning.act is Act.READING and not meaning.unit  # a count, if the item is one
        assert meaning.act in (DUE[item.kind], Act.NOT_APPLICABLE) or (
            number and item.kind is Kind.COUNT
        )


@ON_BOTH
def test_every_drawn_answer_is_read_where_it_was_asked_for(on):
    """By the graph of the ears, in which nothing is said that was not asked for."""
    ears = phrase_graph(on.card, on.words, answers=False)
    random, answers = Random(5), set()
    while len(answers) < 60:
        kind, words = draw_call(on.card, on.words, random)
        if kind == ANSWER:
            answers.add(words)
    lost = []
    for words in sorted(answers):
        (meaning,) = on.read(words)
        starts = starts_of(ears, asked(on.card, on.graph, words, meaning))
        if len(parse(ears, words, starts)) != 1:
            lost.append(words)
    assert lost == []


def test_an_item_that_has_other_words_for_a_state_is_not_asked_for():
    shut = State("not open", (), good=False)
    on = laid(
        item("cover", Kind.STATE, states=(State("off", ("not there",), good=True), shut)),
        item("cap", Kind.STATE, states=(State("off", ("gone",), good=True), shut)),
    )
    for words, asked_for in (("not open", "cover"), ("off", "cover"), ("gone", "cap")):
        (meaning,) = on.read(words)
        assert asked(on.card, on.graph, words, meaning) == Expectation(item=asked_for)


@pytest.mark.parametrize(
    ("words", "asked_for"),
    [("three", "lights"), ("two hundred", "pressure"), ("three bar", "other"), ("crack", "door")],
)
def test_a_number_or_defect_is_an_answer_only_where_it_can_be_one(words, asked_for):
    on = laid(
        item("door", defects=("skin",)),
        item("lights", Kind.COUNT, expected=3),
        item("pressure", Kind.READING, unit="psi"),
        item("other", Kind.READING, unit="bar"),
    )
    (meaning,) = on.read(words)
    assert asked(on.card, on.graph, words, meaning) == Expectation(item=asked_for)


@ON_BOTH
def test_the_same_generator_draws_the_same_calls(on):
    def drawn(seed: int) -> list[tuple[str, str]]:
        random = Random(seed)
        return [draw_call(on.card, on.words, random) for _ in range(20)]

    assert drawn(7) == drawn(7)
    assert drawn(7) != drawn(8)


@ON_BOTH
def test_draws_are_varied(on):
    random = Random(1)
    drawn = [draw_call(on.card, on.words, random) for _ in range(1500)]
    counts = Counter(kind for kind, _ in drawn)
    assert set(counts) == {RESULT, DISCREPANCY, NOT_INSPECTED, COMMAND, ANSWER}
    assert counts.most_common(1)[0][0] == RESULT
    meanings = [meaning for _, words in drawn for meaning in on.read(words)]
    assert {m.item for m in meanings} - {""} == set(on.card.by_id)
    assert any(m.corrects for m in meanings)
    assert any(m.group for m in meanings)
    assert {m.side for m in meanings} == {"", "left", "right"}


def near_words(on: Laid) -> set[str]:
    """The words of talk, and those that mean the same as a card's own: "unlatched"."""
    near = on.words.near_calls
    said = [way for term in (*near.stating, *near.denying) for way in term.words]
    said += [*near.articles, *near.denied, *near.pending, *near.pended, *near.before]
    said += [*near.linking, *near.behind, *near.joining]
    said += [f"{prefix}{word}" for prefix, words in near.opposites.items() for word in words]
    return {word for way in said for word in way.split()}


@ON_BOTH
def test_every_command_and_nearly_every_word_is_drawn(on):
    """Words left out would never be measured. Radiotelephony digits are said by few."""
    random = Random(2)
    drawn = [draw_call(on.card, on.words, random)[1] for _ in range(15_000)]
    assert {way for term in on.words.commands.values() for way in term.words} <= set(drawn)
    missing = on.graph.words - {word for words in drawn for word in words.split()}
    choices = {*on.words.first.words, *on.words.second.words}  # only where two calls were read
    assert missing & choices == choices
    ways = (way for term in on.words.spelling.values() for way in term.words)
    signs = {word for way in ways for word in fold(way).split()}
    missing -= choices | (signs - NUMBER_WORDS)  # nor is an identity a call of an item
    missing -= near_words(on)
    assert missing <= NUMBER_WORDS
    if on.card.id == "jet-trainer":  # whose readings need nearly all of them
        assert missing <= {"tree", "fower", "fife", "sixteenth", "eighths"}
