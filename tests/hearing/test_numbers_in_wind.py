"""Numbers that sound alike, in wind: asked back or understood, and never another number.

Calls are made by Debian's flite and eSpeak NG, the wind is a recording. The pairs are those that
radiotelephony knows as easily confused (teens and tens, "two" and "to", a figure said twice);
ICAO Annex 10 therefore has figures said one by one.
"""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.hearing.heard import Verdict
from voicewalk.language.meaning import Act, Expectation
from voicewalk.session.sounds import sound_of

pytestmark = [pytest.mark.models, pytest.mark.synth, pytest.mark.slow]

NUMBERS = {
    "two two two": "222",
    "two hundred and twenty two": "222",
    "one two one": "121",
    "one twenty one": "121",
    "two two zero": "220",
    "to two zero": "220",
    "two twenty": "220",
    "to one zero": "210",
    "fifty": "50",
    "fifteen": "15",
}
VOICES = ("flite:rms", "flite:awb", "espeak:en-us", "espeak:en-gb")


@pytest.mark.parametrize("said", NUMBERS)
def test_no_number_becomes_another(said, ears, synth, recording):
    wind, random, wrong = recording("noise/wind.flac"), Random(said), []
    for voice in VOICES:
        samples = synth(f"left main tyre pressure {said} p s i", voice)
        loud = np.asarray(samples * (0.3 / np.abs(samples).max()), np.float32)
        noise = np.roll(wind, random.randrange(len(wind)))
        source = ScriptedSource([ScriptedCall(loud, noise, random.choice((5.0, 10.0)))])
        source.next_call()
        for piece in segment(source):
            if isinstance(piece, Segment):
                sound = sound_of(piece)
                heard = ears.hear(piece.samples, sound, Expectation())
                wrong += [
                    (voice, heard)
                    for one in heard.candidates[:1]
                    if heard.verdict is Verdict.UNDERSTOOD
                    and one.meaning.act is not Act.ITEM
                    and one.meaning.value != NUMBERS[said]
                ]
    assert not wrong
