"""A short walk by sound: recorded calls of the demo through the real ears, on the short card."""

from __future__ import annotations

import contextlib
from pathlib import Path

import numpy as np
from review_walks import CARD, Clock

from voicewalk.audio.frames import Samples
from voicewalk.card.load import load_card
from voicewalk.clock import Instant
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.demo import Caller, read_script, scripted
from voicewalk.session.equipment import heard_from, open_ears
from voicewalk.session.opening import begin
from voicewalk.session.speaking import Speaker
from voicewalk.session.walking import run
from voicewalk.voice.wording import Wording

CALLS = (
    *("001", "004", "032", "033", "034", "045", "046", "088", "089", "055", "056", "081"),
    *("065", "101", "102", "103", "134"),
)
"""The demo's recordings by number: a cut tyre, a reading out of limit, an antenna that was not
inspected, a correction, a call in doubt, a remark; a third of them in engine noise."""


def walk_by_sound(path: Path, identity: str = "M05", at: str = "06:30") -> Path:
    """A closed record of these calls."""
    script = {call.file[:3]: call for call in read_script()}
    calls = scripted([script[number] for number in CALLS])
    card = load_card(CARD)
    vocabulary = vocabulary_of(card)
    source = Caller(calls, _unheard)
    wording = Wording(vocabulary.language)
    equipment = heard_from(source, open_ears(card, vocabulary), Speaker(), wording)
    clock = Clock(at)
    opened = begin(card, identity, "Tamsin Orlo", path, clock())

    def now() -> Instant:
        """The sound's own time, as if it were a real walk."""
        ms = clock.ms + source.position * 1000 // 16_000
        return Clock.of(ms)

    with contextlib.closing(opened.record):
        outcome = run(opened, equipment, (), now)
    assert outcome.closed, "the walk by sound is not closed"
    return path


def _unheard(sound: Samples, rate: int) -> None:
    assert np.isfinite(sound).all()
