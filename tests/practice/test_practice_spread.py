"""Phrases are chosen so that all words come up."""

from __future__ import annotations

from random import Random

import pytest
from practice_trials import CARD, WORDS

from voicewalk.language.parse import tokens
from voicewalk.language.phrases import draw_phrases, phrases
from voicewalk.practice.spread import spread


def words_of(drawn) -> set[str]:
    return {word for phrase in drawn for word in tokens(phrase.text)}


def chosen(count: int, seed: int):
    return spread(phrases(CARD, WORDS, Random(seed)), count)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_twenty_phrases_hold_many_words(seed):
    plain = words_of(draw_phrases(CARD, WORDS, 20, seed))
    assert len(words_of(chosen(20, seed))) > 1.4 * len(plain)


def test_all_words_come_up():
    """All that are ever drawn but a few: the rarest spoken numbers are one draw in thousands."""
    known = words_of(draw_phrases(CARD, WORDS, 4000, 9))
    assert len(known - words_of(chosen(300, 1))) <= 0.03 * len(known)


def test_the_same_seed_chooses_the_same():
    assert chosen(10, 4) == chosen(10, 4)
    assert chosen(5, 4) == chosen(10, 4)[:5]
    assert chosen(10, 4) != chosen(10, 5)
