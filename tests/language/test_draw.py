"""Drawn calls are calls: each has one meaning on its card."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from language_cards import SHIPPED, shipped

from voicewalk.card.model import Kind
from voicewalk.language.draw import COMMAND, DISCREPANCY, NOT_INSPECTED, RESULT, draw_call
from voicewalk.language.meaning import Act

ON_BOTH = pytest.mark.parametrize("on", [shipped(name) for name in SHIPPED], ids=SHIPPED)

ACTS = {
    DISCREPANCY: {Act.DISCREPANCY},
    NOT_INSPECTED: {Act.NOT_INSPECTED},
    COMMAND: {Act.COMMAND},
    RESULT: {Act.SATISFACTORY, Act.STATE, Act.READING, Act.COUNT},
}
DUE = {
    Kind.CONDITION: Act.SATISFACTORY,
    Kind.STATE: Act.STATE,
    Kind.READING: Act.READING,
    Kind.COUNT: Act.COUNT,
}


@ON_BOTH
@given(seed=st.integers(0, 2**32))
def test_a_drawn_call_has_one_meaning_of_its_kind(on, seed):
    kind, words = draw_call(on.card, on.words, Random(seed))
    (meaning,) = on.read(words)
    assert meaning.act in ACTS[kind]
    if kind == RESULT:
        assert meaning.act is DUE[on.card.by_id[meaning.item].kind]
        assert bool(meaning.unit) is (meaning.act is Act.READING)
    if kind == NOT_INSPECTED:
        assert meaning.reason


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
    assert set(counts) == {RESULT, DISCREPANCY, NOT_INSPECTED, COMMAND}
    assert counts.most_common(1)[0][0] == RESULT
    named = {meaning.item for _, words in drawn for meaning in on.read(words)}
    assert named - {""} == set(on.card.by_id)
