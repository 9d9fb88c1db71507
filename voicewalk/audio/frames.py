"""What a source of sound delivers: blocks of samples with a counter, and notices.

Shared by all sources and the endpointer. Where the samples come from is ``source``,
``scripted`` and ``microphone``; where speech lies in them is ``endpoint``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.float32]
"""Mono sound, one dimension, full scale at plus and minus 1."""

RATE = 16_000
"""Hz; every source delivers it."""

FRAME = 512
"""Samples in a frame, 32 ms."""


@dataclass(frozen=True, slots=True)
class Block:
    """Some samples. ``start`` counts the samples since the source began, lost ones included.

    A stereo source's have two columns, left and right; whatever takes blocks but ``stereo`` wants
    mono ones.
    """

    samples: Samples
    start: int

    @property
    def end(self) -> int:
        """The counter of the sample that follows this block."""
        return self.start + len(self.samples)


@dataclass(frozen=True, slots=True)
class SamplesLost:
    """Sound went missing just before ``start``; ``count`` samples, 0 where nobody knows."""

    start: int
    count: int


@dataclass(frozen=True, slots=True)
class Truncated:
    """A file breaks off at ``start``; what came before is good."""

    start: int
    reason: str


@dataclass(frozen=True, slots=True)
class CallEnded:
    """A scripted call has been delivered with the silence after it."""

    start: int
    index: int


@dataclass(frozen=True, slots=True)
class MicrophoneLost:
    """The microphone is gone; it is tried again until it is back or the source is closed."""

    start: int
    reason: str


@dataclass(frozen=True, slots=True)
class MicrophoneBack:
    """Sound comes from it again, or from another one in its place. What was said meanwhile is in no
    block.

    Attributes:
        device: its name, without the number by which the system lists it just now.
        rate: Hz, at which it was opened.
    """

    start: int
    device: str = ""
    rate: int = 0


@dataclass(frozen=True, slots=True)
class Waiting:
    """No sound has come for a moment. It parts nothing: it is there so that whoever hears can see
    to what else is due."""

    start: int


Notice = SamplesLost | Truncated | CallEnded | MicrophoneLost | MicrophoneBack | Waiting


class AudioSource(Protocol):
    """Sound from somewhere, mono at ``RATE``."""

    @property
    def position(self) -> int:
        """Samples captured so far, those not yet taken out of ``blocks`` included."""

    def blocks(self) -> Iterator[Block | Notice]:
        """The sound in order; ends with the source. To be called once."""

    def close(self) -> None:
        """Give the device or file back; ``blocks`` ends."""


class FrameCutter:
    """Cuts blocks of any length into frames of ``FRAME`` samples."""

    def __init__(self) -> None:
        self._rest: Samples = np.zeros(0, np.float32)
        self._start = 0

    def push(self, block: Block) -> list[Block]:
        """The frames that ``block`` completes.

        Raises:
            RuntimeError: the block does not follow the last one and ``flush`` was not called.
        """
        if not len(self._rest):
            self._start = block.start
        elif block.start != self._start + len(self._rest):
            raise RuntimeError("flush before a block that does not follow the last one")
        samples = np.concatenate((self._rest, block.samples))
        whole = len(samples) // FRAME * FRAME
        frames = [
            Block(samples[at : at + FRAME], self._start + at) for at in range(0, whole, FRAME)
        ]
        self._rest = samples[whole:]
        self._start += whole
        return frames

    def flush(self) -> Block | None:
        """What is left over, less than a frame, and forget it; ``None`` where nothing is."""
        rest, self._rest = self._rest, np.zeros(0, np.float32)
        return Block(rest, self._start) if len(rest) else None
