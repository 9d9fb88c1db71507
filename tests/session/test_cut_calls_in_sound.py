"""A call whose beginning is lost, from sound to record: "not latched" never becomes "latched".

What is left of it in these voices is "latched", and the ears may well hear that. That its
beginning is missing only the sound's own beginning or the gap tells.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from session_booth import Booth

from voicewalk.audio.frames import FRAME, RATE, Block, Notice, Samples, SamplesLost
from voicewalk.hearing.heard import Heard
from voicewalk.language.meaning import Expectation
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.equipment import open_ears
from voicewalk.session.sounds import listen

pytestmark = [pytest.mark.models, pytest.mark.synth, pytest.mark.slow]

DOOR = "left-avionics-door"
LOST = RATE // 2
QUIET = np.zeros(RATE, np.float32)


class Asked:
    """The real ears of a walk that has just asked for the door, and what they heard."""

    def __init__(self, ears) -> None:
        self._ears = ears
        self.heard: list[Heard] = []

    def hear(self, samples, sound, expectation) -> Heard:
        self.heard.append(self._ears.hear(samples, sound, Expectation(item=DOOR)))
        return self.heard[-1]

    def transcribe(self, samples) -> str:
        raise AssertionError("nobody said remark")


class Sounding:
    """Sound with the notices at their places."""

    def __init__(self, *parts: Samples | int) -> None:
        self._parts = parts
        self.position = 0

    def blocks(self) -> Iterator[Block | Notice]:
        for part in self._parts:
            if isinstance(part, int):
                self.position += part
                yield SamplesLost(self.position, part)
                continue
            for at in range(0, len(part), FRAME):
                block = Block(part[at : at + FRAME], self.position)
                self.position = block.end
                yield block

    def close(self) -> None:
        pass


@pytest.fixture(scope="module")
def ears(card):
    return open_ears(card, vocabulary_of(card))


@pytest.fixture
def call(synth):
    """Makes a call from its first sound on, as loud as the others."""

    def make(text: str, voice: str) -> Samples:
        samples = synth(text, voice)
        begin = int(np.flatnonzero(np.abs(samples) > 0.01)[0])
        return np.asarray(samples[begin:] * (0.3 / np.abs(samples).max()), np.float32)

    return make


@pytest.mark.parametrize("voice", ["flite:rms", "flite:awb", "espeak:en-us", "espeak:en-gb"])
@pytest.mark.parametrize("text", ["not latched", "avionics door not latched"])
@pytest.mark.parametrize("lost", ["before the sound began", "in a gap"])
def test_a_call_without_its_beginning_is_no_result(lost, text, voice, call, ears, card):
    rest = call(text, voice)[LOST:]
    parts = [rest, QUIET] if lost.startswith("before") else [QUIET, LOST, rest, QUIET]
    booth, asked = Booth(card), Asked(ears)
    booth.start()
    listen(booth.loop, Sounding(*parts), asked)
    assert "item" not in booth.record.kinds
    assert asked.heard or voice != "flite:rms"  # of other voices it may be no speech at all


def test_the_same_call_whole_is_one(call, ears, card):
    booth, asked = Booth(card), Asked(ears)
    booth.start()
    listen(
        booth.loop, Sounding(QUIET, call("avionics door not latched", "flite:rms"), QUIET), asked
    )
    assert [h.candidates[0].meaning.state for h in asked.heard] == ["not latched"]
