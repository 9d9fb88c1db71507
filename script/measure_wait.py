"""Measures how long a caller waits: from the end of a segment of speech to the judge's word.

    .venv/bin/python script/measure_wait.py CARD FOLDER [COUNT]

Recordings of about 3 s in FOLDER (as script/make_clips.py makes them) are played to a walk in
real time, one after another; what a busy session adds to the hearing is in it.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from voicewalk.audio.frames import RATE, Block, Notice
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.bench.clips import read_manifest, read_sound
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.clock import Instant, now
from voicewalk.hearing.ears import Ears
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.clip import Clip
from voicewalk.session.events import CallHeard, Event, Refused
from voicewalk.session.loop import Loop
from voicewalk.session.sounds import listen
from voicewalk.session.speaking import Speaker
from voicewalk.settings import WalkSettings
from voicewalk.voice.wording import Wording
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import Json, Start

ABOUT = (2.7, 3.3)


class Paced:
    """A scripted source whose blocks come when a microphone would have them."""

    def __init__(self, calls: list[ScriptedCall]) -> None:
        self._source = ScriptedSource(calls)
        while self._source.next_call():
            pass
        self.due = 0.0

    @property
    def position(self) -> int:
        """Samples delivered so far."""
        return self._source.position

    def close(self) -> None:
        """No more blocks."""
        self._source.close()

    def blocks(self) -> Iterator[Block | Notice]:
        """Each block at its time; late ones at once."""
        begun = time.monotonic()
        for part in self._source.blocks():
            self.due = begun + self.position / RATE
            time.sleep(max(0.0, self.due - time.monotonic()))
            yield part


class Kept:
    """A record in memory: the disk comes after the judge's word."""

    def __init__(self) -> None:
        self._count = 0

    def append(self, body: Json, at: Instant, clip: Clip | None = None) -> int:
        """As a record's."""
        self._count += 1
        return self._count


def main(name: str, folder: str, count: str = "40") -> None:
    """Play the calls and print the waits."""
    card = load_card(card_path(name))
    sounds = (read_sound(recording.path) for recording in read_manifest(Path(folder)))
    chosen = [s for s in sounds if ABOUT[0] <= len(s) / RATE <= ABOUT[1]][: int(count)]
    source = Paced([ScriptedCall(samples) for samples in chosen])
    waits: list[float] = []

    def note(event: Event) -> None:
        if isinstance(event, CallHeard | Refused):
            waits.append(time.monotonic() - source.due)

    ears = Ears(card, vocabulary_of(card), lexicon_path(card))
    speaker = Speaker(None, None, position=lambda: 0, live=False)
    walk = Walk(card, WalkSettings())
    wording = Wording("en")
    loop = Loop(walk, Kept(), wording, speaker, [note], now=now, seconds=time.monotonic)
    loop.give(Start("M07", "nobody"))
    listen(loop, source, ears)
    tenths = np.percentile(waits, [10, 50, 90])
    print(f"{len(waits)} calls of about 3 s; wait 10/50/90 %: {np.round(tenths, 2)} s")


if __name__ == "__main__":
    main(*sys.argv[1:])
