"""Plays recordings to the ears through voice activity detection, at a chosen noise, and keeps
what the judge would see. The mixing is seeded: the same data give the same observations."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from random import Random

import numpy as np

from voicewalk.audio.frames import RATE
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.bench.clips import Floats, Recording, read_sound
from voicewalk.hearing.ears import Listeners
from voicewalk.hearing.judge import Sound
from voicewalk.hearing.pool import Pooled, pool
from voicewalk.language.meaning import Meaning
from voicewalk.language.parse import parse

CLEAN = "clean"


@dataclass(frozen=True, slots=True)
class Observation:
    """One recording as the judge met it.

    Attributes:
        snr: "clean", or the decibels at which noise was mixed in.
        truth: what was called; ``None`` for speech that must be refused.
        pooled: the meanings pooled; empty where no speech was found.
        whole: the recording was found as one piece, which a longer call may not be.
    """

    recording: Recording
    snr: str
    truth: Meaning | None
    pooled: tuple[Pooled, ...]
    sound: Sound
    whole: bool


def truth_of(ears: Listeners, recording: Recording) -> Meaning | None:
    """What a recording means on this card, if anything."""
    meanings = parse(ears.graph, recording.text) if recording.text else []
    return meanings[0] if len(meanings) == 1 else None


def segments_of(
    samples: Floats, snr: str, noises: Mapping[str, Floats], random: Random
) -> list[Segment]:
    """The pieces of speech found in a recording with a random noise mixed in."""
    if snr == CLEAN:
        call = ScriptedCall(samples)
    else:
        noise = noises[random.choice(sorted(noises))]
        start = random.randrange(len(noise))
        call = ScriptedCall(samples, np.roll(noise, -start), float(snr))
    source = ScriptedSource([call])
    source.next_call()
    return [piece for piece in segment(source) if isinstance(piece, Segment)]


def observe(
    ears: Listeners,
    recordings: Iterable[Recording],
    snrs: Iterable[str],
    noises: Mapping[str, Floats],
    seed: int,
) -> Iterator[Observation]:
    """Every recording at every noise. Where speech falls into pieces, each is an observation of
    its own: half a call must not pass for another call."""
    random = Random(seed)
    levels = list(snrs)
    for recording in recordings:
        samples, truth = read_sound(recording.path), truth_of(ears, recording)
        for snr in levels:
            pieces = segments_of(samples, snr, noises, random)
            for piece in pieces:
                sound = Sound(len(piece.samples) / RATE, piece.snr_db)
                pooled = pool(ears.graph, ears.listen(piece.samples, piece.snr_db))
                yield Observation(recording, snr, truth, tuple(pooled), sound, len(pieces) == 1)
            if not pieces:
                yield Observation(recording, snr, truth, (), Sound(0.0, 0.0), True)
