"""Counting words and finding safer ways."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from practice_trials import CARD, TERMS, WORDS, asked, heard, missed, mistaken, silent

from voicewalk.language.numbers import parse_number
from voicewalk.language.parse import tokens
from voicewalk.language.phrases import draw_phrases
from voicewalk.practice.tally import DIGITS, SUGGESTED, advice, tally
from voicewalk.practice.trial import Outcome

TEXTS = [phrase.text for phrase in draw_phrases(CARD, WORDS, 60, 3)]

made = st.builds(
    lambda text, other, how: {
        "heard": lambda: heard(text),
        "mistaken": lambda: mistaken(text, other),
        "asked": lambda: asked(text, text, other),
        "wrongly asked": lambda: asked(text, other),
        "missed": lambda: missed(text, other),
        "silent": lambda: silent(text),
    }[how](),
    st.sampled_from(TEXTS),
    st.sampled_from(TEXTS),
    st.sampled_from(["heard", "mistaken", "asked", "wrongly asked", "missed", "silent"]),
)


@given(st.lists(made, max_size=12))
def test_every_word_said_is_counted_once(trials):
    said = Counter(word for trial in trials for word in tokens(trial.phrase.text))
    words = tally(trials)
    assert {word.word: word.said for word in words} == dict(said)
    for word in words:
        assert word.failed == word.counts[Outcome.ASKED] + word.counts[Outcome.MISSED]
        assert word.taken_for.total() <= word.failed
        assert word.word not in word.taken_for
    missed_first = [word.counts[Outcome.MISSED] for word in words]
    assert missed_first == sorted(missed_first, reverse=True)


@settings(max_examples=25, deadline=None)  # advice compares many sounds
@given(st.lists(made, max_size=8))
def test_the_order_of_the_trials_does_not_count(trials):
    shuffled = trials[:]
    Random(1).shuffle(shuffled)
    assert tally(shuffled) == tally(trials)
    assert {one.words for one in advice(shuffled, TERMS)} == {
        one.words for one in advice(trials, TERMS)
    }


@settings(max_examples=25, deadline=None)  # advice compares many sounds
@given(st.lists(made, max_size=8))
def test_advice_names_other_ways_to_say_the_same(trials):
    weak = {word.word for word in tally(trials) if word.weak}
    for one in advice(trials, TERMS):
        assert one.weak
        assert set(one.weak) <= weak
        assert len(one.instead) <= SUGGESTED
        assert any(one.words in trial.phrase.text.replace("-", " ") for trial in trials)
        ways = [way for way in TERMS.ways if way.text == one.words]
        same = {other.text for way in ways for other in TERMS.others(way)}
        if one.words not in DIGITS:
            assert set(one.instead) <= same - {one.words}
            assert not {word for way in one.instead for word in way.split()} & weak


@given(st.lists(st.sampled_from(TEXTS), max_size=10))
def test_nothing_is_weak_where_all_was_heard(texts):
    trials = [heard(text) for text in texts]
    assert [word for word in tally(trials) if word.weak] == []
    assert advice(trials, TERMS) == []


@pytest.mark.parametrize(
    ("good", "bad", "weak"), [(0, 1, True), (2, 1, True), (3, 1, False), (4, 2, True)]
)
def test_a_word_is_weak_from_a_third_of_its_times_on(good, bad, weak):
    trials = [heard("radome dirty")] * good + [silent("radome dirty")] * bad
    assert {word.weak for word in tally(trials)} == {weak}


def advised(trials) -> dict[str, tuple[str, ...]]:
    return {one.words: one.instead for one in advice(trials, TERMS)}


def test_a_way_that_was_heard_here_is_named_first():
    trials = [missed("radome satisfactory", "Radome so this alone"), heard("rudder serviceable")]
    assert advised(trials)["satisfactory"][0] == "serviceable"


def test_a_way_that_holds_a_weak_word_is_not_named():
    trials = [missed("front seat belts dirty", "Fun harness dirty")]
    front = advised(trials)["front seat belts"]
    assert front == ()  # "front harness" has the weak word too
    trials = [
        asked("front seat belts dirty", "front seat belts dirty", transcript="Front see bell")
    ]
    assert "front harness" in advised(trials)["front seat belts"]


@pytest.mark.parametrize(("word", "other"), DIGITS.items())
def test_the_words_of_digits_are_the_same_digits(word, other):
    assert parse_number(["one", word]) == parse_number(["one", other])


def test_weak_digits_have_words_of_their_own():
    trials = [mistaken("nose tyre pressure nine five psi", "nose tyre pressure five five psi")]
    assert advised(trials)["nine"] == ("niner",)


def test_a_way_with_another_meaning_too_is_no_reason_to_say_that():
    """Pounds are psi on a gauge and pounds in a tank."""
    trials = [
        missed("fuel quantity five thousand pounds", "Fuel quantity 5000 pence"),
        heard("nose tyre pressure nine five psi"),
    ]
    assert "psi" not in advised(trials)["pounds"]


def test_terms_are_found_in_phrases():
    found = TERMS.within("left main tyre cut half an inch outboard")
    assert [(way.sort, way.text) for way in found] == [
        ("item", "left main tyre"),
        ("result", "cut"),
        ("unit", "an inch"),
        ("place", "outboard"),
    ]
