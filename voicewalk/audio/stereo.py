"""Two people on two channels: which segment of speech is whose.

Each channel is cut into segments by itself (``segment``). A voice is in the other microphone too,
weaker by what lies between the two people; so a segment is its channel's own voice only where it is
markedly louder there than on the other channel at the same time. The noise of each channel is left
out of account. What was said is hearing's; who the channels belong to is the session's.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from voicewalk.audio.frames import Block, FrameCutter, Notice, Waiting
from voicewalk.audio.level import power
from voicewalk.audio.segment import Segment, Segmenter, SpeechDetector
from voicewalk.settings import AudioSettings

Powers = npt.NDArray[np.float64]

_HEARD = 0.1
"""A frame counts where one of the two voices has so much of the louder one's mean power."""


@dataclass(frozen=True, slots=True)
class Voiced:
    """A segment of one of two channels.

    Attributes:
        channel: 0 is left, 1 is right.
        lead_db: by how much the voice is louder there than on the other channel meanwhile.
        own: it is that channel's own voice, and not the other's heard across, nor both at once.
    """

    segment: Segment
    channel: int
    lead_db: float
    own: bool


class StereoSegmenter:
    """Cuts both channels of a stereo source into segments, in the order in which speech ends."""

    def __init__(self, settings: AudioSettings) -> None:
        self._settings = settings
        self._sides = (_Side(settings), _Side(settings))

    def push(self, block: Block) -> Iterator[Voiced]:
        """Take the next samples, of two columns; gives the segments that they close."""
        for channel, side in enumerate(self._sides):
            side.take(Block(np.ascontiguousarray(block.samples[:, channel]), block.start))
        yield from self._ended([list(side.closed()) for side in self._sides])

    def interrupt(self, notice: Notice) -> Iterator[Voiced | Notice]:
        """Pass a notice on, behind the segments that were open. What follows stands alone."""
        if isinstance(notice, Waiting):
            yield notice
            return
        parts = [list(side.segmenter.interrupt(notice)) for side in self._sides]
        yield from self._ended([[p for p in some if isinstance(p, Segment)] for some in parts])
        for side in self._sides:
            side.forget()
        yield notice

    def finish(self) -> Iterator[Voiced]:
        """The source has ended."""
        yield from self._ended([list(side.segmenter.finish()) for side in self._sides])

    def foreseen(self) -> Iterator[Voiced]:
        """The segments that come next if nothing more is said, each told once."""
        for channel, side in enumerate(self._sides):
            if (segment := side.segmenter.foreseen()) is not None:
                yield self._voiced(segment, channel)

    def _ended(self, found: list[list[Segment]]) -> list[Voiced]:
        voiced = [self._voiced(one, channel) for channel in (0, 1) for one in found[channel]]
        # Faint sound that is nobody's own is the other voice from afar, or none.
        kept = [one for one in voiced if one.own or not one.segment.faint]
        return sorted(kept, key=lambda one: one.segment.speech_end)

    def _voiced(self, segment: Segment, channel: int) -> Voiced:
        here, there = self._sides[channel], self._sides[1 - channel]
        span = segment.speech_start, segment.speech_end
        lead, share = compare(here.voice(*span), there.voice(*span), self._settings.snr_span_db)
        own = lead >= self._settings.own_lead_db and share <= self._settings.most_other_share
        return Voiced(segment, channel, lead, own)


def compare(own: Powers, other: Powers, span_db: float) -> tuple[float, float]:
    """How a voice on two channels compares.

    Args:
        own, other: powers of the same frames, the noise of each channel taken off.
        span_db: the greatest difference that is told.

    Returns:
        By how many dB ``own`` is louder, and in which share of the frames with a voice the other
        is.
    """
    ours, theirs = float(own.mean()), float(other.mean())
    quietest = 10 ** (-span_db / 10) * max(ours, theirs, np.finfo(float).tiny)
    lead = 10 * np.log10(max(ours, quietest) / max(theirs, quietest))
    heard = np.maximum(own, other) > _HEARD * max(ours, theirs)
    share = float(np.mean(other[heard] > own[heard])) if heard.any() else 0.0
    return float(lead), share


class _Side:
    """One channel: its segments, and how loud it was lately."""

    def __init__(self, settings: AudioSettings) -> None:
        self.segmenter = Segmenter(SpeechDetector(), settings)
        self._cutter = FrameCutter()
        longest = settings.most_frames + settings.preroll_frames + settings.hangover_frames
        self._powers: deque[tuple[int, float]] = deque(maxlen=2 * longest)
        self._closed: list[Segment] = []

    def take(self, block: Block) -> None:
        """The next samples, mono."""
        self._powers.extend((f.start, power(f.samples)) for f in self._cutter.push(block))
        self._closed.extend(self.segmenter.push(block))

    def closed(self) -> Iterator[Segment]:
        """The segments that were closed, once each."""
        some, self._closed = self._closed, []
        yield from some

    def voice(self, start: int, end: int) -> Powers:
        """Power of each frame between two samples, without the noise."""
        some = [each for at, each in self._powers if start <= at < end]
        return np.maximum(np.array(some or [0.0]) - self.segmenter.floor, 0.0)

    def forget(self) -> None:
        """Sound went missing: what follows stands alone."""
        self._cutter.flush()
