"""Where the speech of a recorded call lies in noise as loud as it: detector and letters, for real.

The noise is computed, with the spectrum of an engine: half the power with each octave.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from voicewalk.audio.frames import RATE, Samples
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.bench.clips import read_sound
from voicewalk.hearing.letter_listener import LetterListener
from voicewalk.hearing.letter_model import LetterModel
from voicewalk.hearing.lexicon import Lexicon
from voicewalk.language.graph import GraphBuilder

pytestmark = pytest.mark.models

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
CALLS = ("003-grounding-cable-connected.flac", "013-oxygen-pressure-one-eight-zero.flac")


@pytest.fixture(scope="module")
def letters() -> LetterListener:
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    builder.phrase(0, end, "horn", ("act", "item"), ("item", "horn"))
    return LetterListener(LetterModel(), Lexicon({}), builder.freeze())


def engine(seconds: float) -> Samples:
    count = round(seconds * RATE)
    white = np.random.default_rng(7).standard_normal(count)
    spectrum = np.fft.rfft(white)
    spectrum /= np.sqrt(np.maximum(1, np.arange(len(spectrum))))
    noise = np.fft.irfft(spectrum, count)
    return (0.1 * noise / np.abs(noise).max()).astype(np.float32)


def pieces(call: ScriptedCall) -> list[Segment]:
    source = ScriptedSource([call])
    source.next_call()
    return [one for one in segment(source) if isinstance(one, Segment)]


@pytest.mark.parametrize("name", CALLS)
def test_noise_lengthens_no_word_and_hides_no_beginning(letters, name):
    sound = read_sound(DEMO / name)
    (plain,) = pieces(ScriptedCall(sound))
    begin, end = letters.hear(plain.samples).span
    speech = np.array([plain.speech_start, plain.speech_end]) - plain.start_sample
    assert np.array([begin, end]) * RATE == pytest.approx(speech, abs=0.12 * RATE)
    for snr in (5.0, 0.0):
        (noisy,) = pieces(ScriptedCall(sound, engine(8), snr))
        assert noisy.start_sample <= plain.speech_start
        assert noisy.end_sample >= plain.speech_end - RATE // 10
        first, last = letters.hear(noisy.samples).span
        assert last - first == pytest.approx(end - begin, abs=0.25)


def test_noise_alone_is_no_word_to_either():
    assert pieces(ScriptedCall(engine(20))) == []


@pytest.mark.slow
def test_of_recorded_noise_nothing_passes_both(letters, speech_data, recording):
    names = {path.stem for path in (speech_data / "noise").glob("*.flac")} - {"crowd_talk"}
    for name in sorted(names):
        found = pieces(ScriptedCall(recording(f"noise/{name}.flac")))
        assert not any(letters.hear(one.samples).span for one in found), name
