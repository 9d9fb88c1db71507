"""Recorded calls delivered one by one on demand, for demonstrations and tests.

The same blocks as a microphone's, noise and all; only that a call waits to be asked for.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from voicewalk.audio.frames import FRAME, RATE, Block, CallEnded, Notice, Samples
from voicewalk.audio.level import mix
from voicewalk.settings import AudioSettings


@dataclass(frozen=True, slots=True, eq=False)
class ScriptedCall:
    """One recorded call at ``RATE``; with ``noise``, that lies ``snr_db`` below it throughout."""

    samples: Samples
    noise: Samples | None = None
    snr_db: float = 0.0


class ScriptedSource:
    """Delivers each call, with silence around it, when ``next_call`` has asked for it.

    ``blocks`` waits in between, so it may run in a thread of its own; in a single thread ask
    first and take blocks up to ``CallEnded``. After the last call it ends.
    """

    def __init__(
        self, calls: Sequence[ScriptedCall], settings: AudioSettings | None = None
    ) -> None:
        self._calls = tuple(calls)
        self._settings = settings or AudioSettings()
        self._position = 0
        self._asked = 0
        self._closed = False
        self._changed = threading.Condition()

    @property
    def position(self) -> int:
        """Samples delivered so far."""
        return self._position

    def next_call(self) -> bool:
        """Ask for the next call; ``False`` where none is left to ask for."""
        with self._changed:
            if self._asked == len(self._calls):
                return False
            self._asked += 1
            self._changed.notify_all()
            return True

    def close(self) -> None:
        """``blocks`` ends."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()

    def blocks(self) -> Iterator[Block | Notice]:
        """Each call asked for, in frames, with a ``CallEnded`` behind it."""
        for index, call in enumerate(self._calls):
            with self._changed:
                while not self._closed and self._asked <= index:
                    self._changed.wait()
            sound = self._sound(call)
            for at in range(0, len(sound), FRAME):
                if self._closed:
                    return
                block = Block(sound[at : at + FRAME], self._position)
                self._position = block.end
                yield block
            yield CallEnded(self._position, index)

    def _sound(self, call: ScriptedCall) -> Samples:
        before = np.zeros(round(self._settings.silence_before * RATE), np.float32)
        after = np.zeros(round(self._settings.silence_after * RATE), np.float32)
        padded = np.concatenate((before, call.samples, after))
        if call.noise is None:
            return padded
        # Each call takes up the noise where the last one left it, as a running engine does.
        running = np.roll(call.noise, -(self._position % len(call.noise)))
        return mix(padded, running, call.snr_db, reference=call.samples)
