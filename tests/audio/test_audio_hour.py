"""An hour of sound: each call's place by the sample counter is right to half a second."""

import numpy as np
import pytest

from voicewalk.audio.frames import FRAME, RATE, Block
from voicewalk.audio.segment import Segmenter
from voicewalk.settings import AudioSettings

pytestmark = pytest.mark.slow

CALLS = (10.0, 60.0, 17 * 60.0, 30 * 60 + 0.25, 45 * 60.0, 59 * 60 + 50.125)
BLOCK = 441 * 3
"""Samples: no multiple of a frame, as devices give them."""


class LoudnessDetector:
    """Speech is whatever is louder than -40 dBFS; the real one would take minutes."""

    def __call__(self, frame):
        assert len(frame) == FRAME
        return 0.9 if np.abs(frame).max() > 0.01 else 0.01

    def reset(self):
        pass


def test_calls_of_an_hour_lie_where_they_were_spoken():
    segmenter = Segmenter(LoudnessDetector(), AudioSettings())
    at = np.arange(RATE)
    tone = (0.5 * np.sin(2 * np.pi * 440 * at / RATE)).astype(np.float32)
    sound = np.zeros(3600 * RATE, np.float32)
    for second in CALLS:
        begin = round(second * RATE)
        sound[begin : begin + RATE] = tone
    found = []
    for begin in range(0, len(sound), BLOCK):
        found += segmenter.push(Block(sound[begin : begin + BLOCK], begin))
    found += segmenter.finish()
    assert len(found) == len(CALLS)
    for segment, second in zip(found, CALLS, strict=True):
        assert segment.speech_start / RATE == pytest.approx(second, abs=0.5)
        inside = round(second * RATE) - segment.start_sample
        assert np.array_equal(segment.samples[inside : inside + RATE], tone)
