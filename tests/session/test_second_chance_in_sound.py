"""The second chance by talk, from sound to entry, with the real listeners and judge.

Calls are made by Debian's flite and eSpeak NG. That a call is asked back, or is sure, is made so
where it matters: what leads to it is tested with the judge. What is heard is heard as it is.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from session_booth import Booth

from voicewalk.audio.scripted import ScriptedCall
from voicewalk.card.load import lexicon_path
from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.demo import Caller
from voicewalk.session.equipment import open_ears
from voicewalk.session.sounds import listen

pytestmark = [pytest.mark.models, pytest.mark.synth, pytest.mark.slow]

SURE = "sure"
VOICES = pytest.mark.parametrize("voice", ["flite:rms", "espeak:en-us", "espeak:en-gb"])


@pytest.fixture(scope="module")
def ears(card):
    assert lexicon_path(card).is_file()
    return open_ears(card, vocabulary_of(card))


class Doubting:
    """Real ears that are as sure of what they hear as the test is.

    Args:
        doubts: for each call in turn the words of a second candidate, "" for none; ``SURE``; or
            ``None`` for what the judge says.
    """

    def __init__(self, ears, doubts) -> None:
        self._ears = ears
        self._doubts = list(doubts)

    def hear(self, samples, sound, expectation) -> Heard:
        heard = self._ears.hear(samples, sound, expectation)
        doubt = self._doubts.pop(0) if self._doubts else None
        if doubt is None:
            return heard
        assert heard.candidates, "the call itself must be heard"
        if doubt == SURE:
            return replace(heard, verdict=Verdict.UNDERSTOOD, candidates=heard.candidates[:1])
        other = [Candidate(one, doubt) for one in parse(self._ears.graph, doubt)] if doubt else []
        return replace(heard, verdict=Verdict.ASK, candidates=(heard.candidates[0], *other))

    def transcribe(self, samples) -> str:
        raise AssertionError("nobody said remark")


@pytest.fixture
def talk(ears, card, synth):
    """Says calls to a walk that has begun; ``doubts`` as in ``Doubting``."""

    def say(voice: str, calls: list[str], doubts: list[str | None]) -> Booth:
        booth = Booth(card)
        booth.start()
        made = [synth(text.replace("psi", "p s i"), voice) for text in calls]
        loud = [np.asarray(one * (0.3 / np.abs(one).max()), np.float32) for one in made]
        source = Caller([ScriptedCall(one) for one in loud], lambda samples, rate: None)
        listen(booth.loop, source, Doubting(ears, doubts))
        return booth

    return say


def last(booth: Booth) -> dict:
    return booth.record.kept[-1][0]


@VOICES
@pytest.mark.parametrize(
    ("answer", "item"),
    [
        ("first", "left-main-tyre"),
        ("second", "right-main-tyre"),
        ("left", "left-main-tyre"),
        ("right", "right-main-tyre"),
    ],
)
def test_one_word_tells_which_of_two_calls(talk, voice: str, answer: str, item: str):
    booth = talk(voice, ["left main tyre worn", answer], ["right main tyre worn"])
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert (last(booth)["item"], last(booth)["accepted"]) == (item, "chosen")
    assert last(booth)["discrepancy"] == {"defect": "worn"}
    assert last(booth)["input"]["words"] == answer


@VOICES
def test_the_call_said_again_and_doubted_again_is_heard_twice(talk, voice: str):
    booth = talk(voice, ["left main tyre worn"] * 2, ["", ""])
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert (last(booth)["item"], last(booth)["accepted"]) == ("left-main-tyre", "repeated")
    assert last(booth)["answers"] == [2]
    assert [clip is not None for _, clip in booth.record.kept] == [False, True, True]


@VOICES
def test_the_call_said_again_and_understood_tells_which(talk, voice: str):
    again = "left main tyre pressure two two two psi"
    booth = talk(voice, [again] * 2, ["left main tyre pressure two two one psi", SURE])
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert last(booth)["accepted"] == "understood"
    assert last(booth)["reading"]["value"] == "222"


@VOICES
def test_a_number_doubted_twice_is_still_asked_about(talk, voice: str):
    call = "left main tyre pressure two two two psi"
    booth = talk(voice, [call] * 2, ["", ""])
    assert booth.record.kinds == ["started", "asked back", "asked back"]
    assert booth.prompts[-2:] == ["ask-confirm", "ask-confirm"]


@VOICES
def test_first_and_left_are_nothing_where_no_two_calls_were_read(talk, voice: str):
    booth = talk(voice, ["first", "left"], [])
    assert "item" not in booth.record.kinds
    assert set(booth.prompts[1:]) <= {"ask-again", "nothing-to-answer"}
