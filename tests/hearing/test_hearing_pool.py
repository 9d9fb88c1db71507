"""Pooling: the meanings that any listener thought of, and their neighbours, scored by all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pytest

from voicewalk.hearing.evidence import Evidence, Sound
from voicewalk.hearing.listeners import Traits, best_by_meaning
from voicewalk.hearing.pool import NEAR, WAYS, Pooled, pool
from voicewalk.hearing.wording import Guess, Part, Wording, spoken
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.meaning import Act, Meaning

GOOD = Meaning(Act.STATE, state="latched")
BAD = Meaning(Act.STATE, state="not latched")
HORN = Meaning(Act.ITEM, item="horn")
SOUND = Sound(2.0, 20.0)


LISTENERS = ("letters", "words")
TAKEN = 5


class Added:
    """Evidence that is the sum of the scores, so that a test reads plainly."""

    alone: Mapping[str, Evidence] = {}

    def __call__(self, scores: dict[str, float], words: str, sound: Sound) -> float:
        return sum(scores.values())


ADDED = Added()


@pytest.fixture(scope="module")
def graph() -> PhraseGraph:
    """Doors, a horn, pressures, and "latched" alone where the door is asked for."""
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    door = builder.state()
    builder.entry("door", door)
    builder.phrase(0, door, "door")
    for phrase, state in (
        ("latched", "latched"),
        ("not latched", BAD.state),
        ("unlatched", BAD.state),
    ):
        builder.phrase(door, end, phrase, ("act", "state"), ("state", state))
    builder.phrase(0, end, "horn", ("act", "item"), ("item", "horn"))
    for number in ("nineteen", "ninety"):
        between = builder.state()
        builder.arc(0, between, number, ("number", number))
        builder.arc(between, end, "psi", ("act", "reading"), ("unit", "psi"))
    return builder.freeze()


def wording(text: str) -> Wording:
    return (Part(tuple(text.split()), False),)


class Ear:
    """A listener whose scores are given; any other wording scores ``otherwise``."""

    def __init__(self, name: str, scores: dict[str, float], otherwise: float = -50.0):
        self.traits = Traits(name, read=9, taken=TAKEN, deep=False, reduced=False)
        self.text = ""
        self.free = -3.0
        self.span = None
        self.scored: list[str] = []
        self._scores = scores
        self._otherwise = otherwise

    def guesses(self, count: int) -> list[Guess]:
        raise AssertionError("its guesses were handed in")

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        texts = [" ".join(spoken(way)) for way in wordings]
        self.scored += texts
        return [self._scores.get(text, self._otherwise) for text in texts]


def guess(meaning: Meaning, score: float, *texts: str) -> Guess:
    return Guess(meaning, tuple(map(wording, texts)), score)


def pooled_by(graph, letters, words=None, *, starts=(0,), weigh=ADDED, sound=SOUND):
    """What is pooled of two ears, each with its guesses."""
    guessed = [letters, words or (Ear("words", {}), [])]
    return pool(graph, guessed, weigh, sound, starts)


def test_what_one_listener_thought_of_is_scored_by_both(graph):
    first = Ear("letters", {"door latched": -1.0})
    second = Ear("words", {"horn": -3.0, "door latched": -9.0})
    pooled = pooled_by(
        graph,
        (first, [guess(GOOD, -1.0, "door latched")]),
        (second, [guess(HORN, -3.0, "horn")]),
    )
    free, texts = {"letters": -3.0, "words": -3.0}, {"letters": "", "words": ""}
    good, horn = {"letters": -1.0, "words": -9.0}, {"letters": -50.0, "words": -3.0}
    assert pooled[0] == Pooled(GOOD, "door latched", good, free, -10.0, texts=texts)
    assert Pooled(HORN, "horn", horn, free, -53.0, texts=texts) in pooled
    assert sorted(first.scored) == sorted(second.scored)


def test_the_opposite_is_a_candidate_though_no_listener_thought_of_it(graph):
    """Never losing a word may turn bad into good."""
    ear = Ear("letters", {"door latched": -1.0})
    other = Ear("words", {"door not latched": -2.0})
    found = pooled_by(graph, (ear, [guess(GOOD, -1.0, "door latched")]), (other, []))
    pooled = {one.meaning: one for one in found}
    assert set(pooled) == {GOOD, BAD}
    assert pooled[BAD].words == "door not latched"
    assert pooled[BAD].scores == {"letters": -50.0, "words": -2.0}
    assert "door unlatched" in ear.scored


def test_the_opposite_of_a_bare_answer_is_a_candidate_where_it_was_asked_for(graph):
    ear = Ear("letters", {"latched": -1.0})
    asked = (0, graph.entries["door"])
    guesses = [guess(GOOD, -1.0, "latched")]
    assert {one.meaning for one in pooled_by(graph, (ear, guesses), starts=asked)} == {GOOD, BAD}
    assert {one.meaning for one in pooled_by(graph, (ear, guesses))} == {GOOD}


def test_a_number_mistaken_for_another_is_a_candidate(graph):
    number = (Part(("nineteen",), True), Part(("psi",), False))
    heard = Guess(Meaning(Act.READING, value="19", unit="psi"), (number,), -1.0)
    pooled = pooled_by(graph, (Ear("letters", {}), [heard]))
    assert {one.meaning.value for one in pooled} == {"19", "90"}


def test_a_meaning_stands_with_its_best_wording(graph):
    ways = guess(BAD, -1.0, "door not latched", "door unlatched")
    scores = {"door not latched": -9.0, "door unlatched": -2.0}
    ears = (Ear("letters", scores), [ways]), (Ear("words", scores), [])
    best, other = pooled_by(graph, *ears)
    assert (best.meaning, best.words, best.evidence) == (BAD, "door unlatched", -4.0)
    assert other.meaning == GOOD


def test_so_many_wordings_of_a_guess_are_scored(graph):
    ear = Ear("letters", {})
    texts = [f"horn {number}" for number in range(WAYS + 2)]
    pooled_by(graph, (ear, [guess(HORN, -1.0, *texts)]))
    assert ear.scored[: WAYS + 1] == texts[:WAYS]


def test_the_best_comes_first(graph):
    guesses = [guess(GOOD, -1.0, "door latched"), guess(HORN, -2.0, "horn")]
    scores = {"door latched": -9.0, "door not latched": -7.0, "horn": -8.0}
    pooled = pooled_by(graph, (Ear("letters", scores), guesses), (Ear("words", scores), []))
    assert [one.meaning for one in pooled] == [BAD, HORN, GOOD]


def items(count: int, score) -> list[Guess]:
    """Guesses at different items of equally long names, with scores by their number."""
    return [
        guess(Meaning(Act.ITEM, item=f"item-{n:02}"), score(n), f"item {n:02}")
        for n in range(count)
    ]


@pytest.mark.parametrize("name", ["letters", "words"])
def test_the_least_likely_of_a_listeners_guesses_are_left_out(graph, name):
    guesses = items(TAKEN + 3, lambda n: -float(n))
    others = {"letters": "words", "words": "letters"}
    pooled = pooled_by(graph, (Ear(name, {}), guesses), (Ear(others[name], {}), []))
    assert {one.meaning for one in pooled} == {one.meaning for one in guesses[:TAKEN]}


def test_guesses_that_are_weighed_alone_are_taken_by_their_length_too(graph):
    """A short word is heard in anything: a long name may fit worse, and be likelier."""
    alone = {"letters": Evidence(("letters",), np.array([0.2, 0.6, 0, 0]))}
    weigh = Evidence(LISTENERS, np.zeros(6), alone)
    short = items(TAKEN, lambda n: -float(n))
    long = guess(GOOD, -70.0, "left main landing gear door latched")
    ear = Ear("letters", {})
    pooled = pooled_by(graph, (ear, [*short, long]), weigh=weigh)
    assert GOOD in {one.meaning for one in pooled}
    assert short[-1].meaning not in {one.meaning for one in pooled}


def test_only_the_likeliest_meanings_have_their_neighbours_scored(graph):
    better = items(NEAR, lambda n: -1.0)
    scores = {f"item {n:02}": -1.0 for n in range(NEAR)} | {"door latched": -9.0}
    ear = Ear("letters", scores)
    pooled = pooled_by(
        graph,
        (ear, [*better, guess(GOOD, -9.0, "door latched")]),
        (Ear("words", scores), []),
    )
    assert BAD not in {one.meaning for one in pooled}
    fewer = [*better[1:], guess(GOOD, -9.0, "door latched")]
    pooled = pooled_by(graph, (ear, fewer), (Ear("words", scores), []))
    assert BAD in {one.meaning for one in pooled}


def test_no_guesses_pool_to_nothing(graph):
    assert pooled_by(graph, (Ear("letters", {}), [])) == []


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
