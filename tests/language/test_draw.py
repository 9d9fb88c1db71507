"""Drawn calls are calls: each has one meaning on its card."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from language_cards import SHIPPED, shipped

from voicewalk.card.model import Kind
from voicewalk.hearing.judge import unasked
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
    needed = asked(on.card, meaning)
    assert not unasked(meaning, needed)
    if unasked(meaning, Expectation()):
        assert needed != Expectation()
    elif kind != ANSWER:
        assert needed == Expectation()
    if needed.item:
        item = on.card.by_id[needed.item]
        assert meaning.act in (DUE[item.kind], Act.NOT_APPLICABLE, Act.READING)


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


@ON_BOTH
def test_every_command_and_nearly_every_word_is_drawn(on):
    """Words left out would never be measured. Radiotelephony digits are said by few."""
    random = Random(2)
    drawn = [draw_call(on.card, on.words, random)[1] for _ in range(15_000)]
    assert {way for term in on.words.commands.values() for way in term.words} <= set(drawn)
    missing = on.graph.words - {word for words in drawn for word in words.split()}
    choices = {*on.words.first.words, *on.words.second.words}  # only where two calls were read
    assert missing & choices == choices
    missing -= choices
    assert missing <= NUMBER_WORDS
    if on.card.id == "jet-trainer":  # whose readings need nearly all of them
        assert missing <= {"tree", "fower", "fife", "sixteenth", "eighths"}
