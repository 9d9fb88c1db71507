"""A made-up third listener, from its guesses to a learnt judge: no module names the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from voicewalk.bench.calibrate import calibration_of, heard, learn_evidence
from voicewalk.bench.clips import Recording
from voicewalk.bench.observe import Piece, Trial
from voicewalk.hearing.calibration import features_of, load_calibration
from voicewalk.hearing.evidence import Evidence, Sound, marks_of
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.judge import Judge, features
from voicewalk.hearing.listeners import Hearing, Listener, Traits, guessed
from voicewalk.hearing.pool import pool
from voicewalk.hearing.wording import Guess, Part, Wording, spoken
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.meaning import Act, Expectation, Meaning

NAMES = ("letters", "words", "third")
DEEP = ("letters", "third")
GOOD = Meaning(Act.STATE, item="door", state="latched")
BAD = Meaning(Act.STATE, item="door", state="not latched")
HORN = Meaning(Act.ITEM, item="horn")
SAID = {GOOD: "door latched", BAD: "door not latched", HORN: "horn"}
SOUND = Sound(1.6, 20.0)
NOTHING = np.zeros(0, np.float32)


@dataclass
class MadeUpHearing:
    """Scores that were drawn beforehand, by words."""

    traits: Traits
    scores: dict[str, float]
    text: str = "door latched"
    free: float = -3.0
    span: None = None

    def guesses(self, count: int) -> list[Guess]:
        wordings = {meaning: (Part(tuple(SAID[meaning].split()), False),) for meaning in SAID}
        found = [Guess(m, (way,), self.scores[SAID[m]]) for m, way in wordings.items()]
        return sorted(found, key=lambda one: -one.score)[:count]

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        return [self.scores[" ".join(spoken(way))] for way in wordings]


@dataclass
class MadeUp:
    """A listener that hears every clip by the same scores."""

    traits: Traits
    scores: dict[str, float]

    def hear(self, samples: np.ndarray, starts: tuple[int, ...] = (0,)) -> Hearing:
        return MadeUpHearing(self.traits, self.scores)


def listeners(fits: dict[str, dict[str, float]]) -> list[Listener]:
    return [
        MadeUp(Traits(name, read=2, taken=1, deep=name in DEEP, reduced=False), scores)
        for name, scores in fits.items()
    ]


@pytest.fixture(scope="module")
def graph() -> PhraseGraph:
    builder = GraphBuilder()
    door, end = builder.state(), builder.state()
    builder.final(end)
    builder.phrase(0, door, "door", ("item", "door"))
    for state in ("latched", "not latched"):
        builder.phrase(door, end, state, ("act", "state"), ("state", state))
    builder.phrase(0, end, "horn", ("act", "item"), ("item", "horn"))
    return builder.freeze()


def weigh() -> Evidence:
    return Evidence(NAMES, np.array([1.0, 1.0, 1.0, 0, 0, 0, 0, 0]))


def pooled_of(graph: PhraseGraph, fits: dict[str, dict[str, float]]):
    heard_by = [guessed(one, NOTHING, (0,)) for one in listeners(fits)]
    return pool(graph, heard_by, weigh(), SOUND)


def scores(good: float, bad: float, horn: float) -> dict[str, float]:
    return dict(zip(SAID.values(), (good, bad, horn), strict=True))


def test_what_only_the_third_thought_of_is_scored_by_all(graph):
    both = scores(-1.0, -5.0, -30.0)
    pooled = pooled_of(graph, {"letters": both, "words": both, "third": scores(-9.0, -9.0, -2.0)})
    (horn,) = (one for one in pooled if one.meaning == HORN)
    assert horn.scores == {"letters": -30.0, "words": -30.0, "third": -2.0}
    assert horn.free == dict.fromkeys(NAMES, -3.0)
    assert pooled[0].meaning == GOOD


def test_marks_and_features_are_made_for_it(graph):
    both = scores(-1.0, -5.0, -30.0)
    pooled = pooled_of(graph, {"letters": both, "words": both, "third": scores(-4.0, -1.0, -99.0)})
    assert [mark for mark in marks_of(NAMES) if "third" in mark] == ["third", "third in noise"]
    seen = dict(zip(features_of(NAMES), features(pooled, SOUND, weigh()), strict=True))
    assert seen["third"] == pytest.approx(-4 / 11)
    assert seen["third total"] == -4.0
    assert seen["third margin"] == -3.0
    assert seen["own third"] == pytest.approx(-3 / 11)
    assert len(features_of(NAMES)) - len(features_of(NAMES[:2])) == 6


# --- learnt --------------------------------------------------------------------------------


def trials(graph: PhraseGraph) -> list[Trial]:
    """Calls in which only the third tells the door latched from the door not latched, and other
    speech that fits badly in all ears."""
    random, made = np.random.default_rng(1), []
    for number in range(60):
        truth = (GOOD, BAD, None)[number % 3]
        loose = random.uniform(0, 3, 6)
        same = scores(-3 - loose[0], -3 - loose[1], -40 - loose[2])
        right, wrong = -2 - loose[3], -12 - loose[4]
        third = scores(right, wrong, -40.0) if truth == GOOD else scores(wrong, right, -40.0)
        if truth is None:
            same, third = scores(-38.0, -40.0, -35 - loose[0]), scores(-33.0, -38.0, -39 - loose[1])
        found = pooled_of(graph, {"letters": same, "words": same, "third": third})
        recording = Recording(Path("x.flac"), "", f"speaker {number % 6}", "made")
        piece = Piece(tuple(found), SOUND)
        made.append(Trial(recording, "clean", truth, Expectation(), (piece,)))
    return made


def test_a_calibration_run_learns_it(graph, tmp_path):
    given = trials(graph)
    path = tmp_path / "calibration.json"
    path.write_text(calibration_of(given, ["made up"], 1, DEEP)[0], encoding="utf-8")
    learnt = load_calibration(path)
    assert learnt.evidence.listeners == NAMES
    assert set(learnt.evidence.alone) == set(DEEP)
    assert set(learnt.thresholds.least) == set(NAMES)
    weights = dict(zip(marks_of(NAMES), learnt.evidence.weights, strict=True))
    assert weights["third"] > max(0.1, abs(weights["letters"]))


def test_the_learnt_judge_goes_by_it(graph, tmp_path):
    path = tmp_path / "calibration.json"
    path.write_text(calibration_of(trials(graph), ["made up"], 1, DEEP)[0], encoding="utf-8")
    calibration = load_calibration(path)
    judge = Judge(calibration)
    for meaning, third in ((GOOD, scores(-2, -14, -40)), (BAD, scores(-14, -2, -40))):
        even = scores(-4.0, -4.0, -40.0)
        heard_by = [
            guessed(one, NOTHING, (0,))
            for one in listeners({"letters": even, "words": even, "third": third})
        ]
        judgement = judge(pool(graph, heard_by, calibration.evidence, SOUND), SOUND, Expectation())
        assert judgement.ranked[0].meaning == meaning
        assert judgement.verdict is not Verdict.OUTSIDE


def test_before_it_is_learnt_it_is_heard_and_weighs_nothing(graph):
    """A run of the calibration needs the trials of a listener that no calibration knows yet."""
    known = learn_evidence(heard(trials(graph)), ())
    two = Evidence(NAMES[:2], np.array([1.0, 1.0, 0, 0, 0, 0]))
    fits = {"letters": scores(-1, -5, -9), "words": scores(-1, -5, -9), "third": scores(-9, -1, -2)}
    heard_by = [guessed(one, NOTHING, (0,)) for one in listeners(fits)]
    pooled = pool(graph, heard_by, two, SOUND)
    assert pooled[0].meaning == GOOD
    assert set(pooled[0].scores) == set(NAMES) == set(known.listeners)
