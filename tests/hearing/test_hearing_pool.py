"""Pooling: every meaning that either listener thought of, and its neighbours, scored by both."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from voicewalk.hearing.listeners import best_by_meaning
from voicewalk.hearing.pool import BEHIND, TAKEN, Pooled, pool
from voicewalk.hearing.wording import Guess, Part, Wording, spoken
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.meaning import Act, Meaning

GOOD = Meaning(Act.STATE, state="latched")
BAD = Meaning(Act.STATE, state="not latched")
HORN = Meaning(Act.ITEM, item="horn")


@pytest.fixture(scope="module")
def graph() -> PhraseGraph:
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    for phrase, state in (
        ("latched", "latched"),
        ("not latched", BAD.state),
        ("unlatched", BAD.state),
    ):
        builder.phrase(0, end, f"door {phrase}", ("act", "state"), ("state", state))
    builder.phrase(0, end, "horn", ("act", "item"), ("item", "horn"))
    for number in ("nineteen", "ninety"):
        between = builder.state()
        builder.arc(0, between, number, ("number", number))
        builder.arc(between, end, "psi", ("act", "reading"), ("unit", "psi"))
    return builder.freeze()


def wording(text: str) -> Wording:
    return (Part(tuple(text.split()), False),)


class Ear:
    """A listener whose guesses and scores are given; any other wording scores ``otherwise``."""

    def __init__(
        self, name: str, guesses: Sequence[Guess], scores: dict[str, float], otherwise=-50.0
    ):
        self.name = name
        self.text = ""
        self.scored: list[str] = []
        self._guesses = guesses
        self._scores = scores
        self._otherwise = otherwise

    def guesses(self, count: int) -> list[Guess]:
        assert count == TAKEN[self.name]
        return list(self._guesses)

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        texts = [" ".join(spoken(way)) for way in wordings]
        self.scored += texts
        return [self._scores.get(text, self._otherwise) for text in texts]


def guess(meaning: Meaning, score: float, *texts: str) -> Guess:
    return Guess(meaning, tuple(map(wording, texts)), score)


def test_what_one_listener_thought_of_is_scored_by_both(graph):
    first = Ear("phonemes", [guess(GOOD, -1.0, "door latched")], {"door latched": -1.0})
    second = Ear("words", [guess(HORN, -3.0, "horn")], {"horn": -3.0, "door latched": -9.0})
    pooled = pool(graph, [first, second])
    assert pooled[0] == Pooled(GOOD, "door latched", {"phonemes": -1.0, "words": -9.0})
    assert pooled[0].total == -10.0
    assert Pooled(HORN, "horn", {"phonemes": -50.0, "words": -3.0}) in pooled
    assert sorted(first.scored) == sorted(second.scored)


def test_the_opposite_is_a_candidate_though_no_listener_thought_of_it(graph):
    """Never losing a word may turn bad into good."""
    ears = [
        Ear("phonemes", [guess(GOOD, -1.0, "door latched")], {"door latched": -1.0}),
        Ear("words", [], {"door not latched": -2.0}),
    ]
    pooled = {one.meaning: one for one in pool(graph, ears)}
    assert set(pooled) == {GOOD, BAD}
    assert pooled[BAD].words == "door not latched"
    assert pooled[BAD].scores == {"phonemes": -50.0, "words": -2.0}
    assert "door unlatched" in ears[0].scored


def test_a_number_mistaken_for_another_is_a_candidate(graph):
    number = (Part(("nineteen",), True), Part(("psi",), False))
    heard = Guess(Meaning(Act.READING, value="19", unit="psi"), (number,), -1.0)
    ears = [Ear("phonemes", [heard], {}), Ear("words", [], {})]
    assert {one.meaning.value for one in pool(graph, ears)} == {"19", "90"}


def test_a_meaning_stands_with_its_best_wording(graph):
    ways = guess(BAD, -1.0, "door not latched", "door unlatched")
    scores = {"door not latched": -9.0, "door unlatched": -2.0}
    best, *_ = pool(graph, [Ear("phonemes", [ways], scores), Ear("words", [], scores)])
    assert (best.meaning, best.words, best.total) == (BAD, "door unlatched", -4.0)
    assert len({one.meaning for one in pool(graph, [Ear("phonemes", [ways], scores)])}) == 2


def test_the_best_comes_first(graph):
    guesses = [guess(GOOD, -1.0, "door latched"), guess(HORN, -2.0, "horn")]
    scores = {"door latched": -9.0, "door not latched": -7.0, "horn": -8.0}
    pooled = pool(graph, [Ear("phonemes", guesses, scores), Ear("words", [], scores)])
    assert [one.meaning for one in pooled] == [BAD, HORN, GOOD]


def test_a_meaning_far_behind_its_listeners_best_is_left_out(graph):
    far = -1.0 - BEHIND["phonemes"] - 0.1
    guesses = [guess(GOOD, -1.0, "door latched"), guess(HORN, far, "horn")]
    ears = [Ear("phonemes", guesses, {}), Ear("words", [], {})]
    assert HORN not in {one.meaning for one in pool(graph, ears)}


def test_no_guesses_pool_to_nothing(graph):
    assert pool(graph, [Ear("phonemes", [], {}), Ear("words", [], {})]) == []


def test_guesses_of_one_meaning_are_joined_best_first():
    guesses = [
        guess(GOOD, -5.0, "door latched"),
        guess(BAD, -1.0, "door unlatched"),
        guess(HORN, -9.0, "horn"),
        guess(BAD, -2.0, "door not latched", "door unlatched"),
    ]
    assert best_by_meaning(guesses, 2) == [
        guess(BAD, -1.0, "door unlatched", "door not latched"),
        guess(GOOD, -5.0, "door latched"),
    ]
