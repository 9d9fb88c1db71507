"""Finds where calls begin and end in a row of speech probabilities. Pure: no sound in here.

The probabilities come from a speech detector, one for each frame; cutting the sound out and
measuring it is ``segment``. Two thresholds make a hysteresis: a clear beginning opens a
segment, and only a good while of nothing closes it, so that the pauses between the words of a
call and the dips that engine noise makes do not cut it in two.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from voicewalk.settings import AudioSettings


@dataclass(frozen=True, slots=True)
class Span:
    """One segment in frame numbers.

    Attributes:
        start, end: first frame and the one after the last, lead-in and lead-out included.
        first, last: the first and the last frame with speech.
        cut: speech may be missing at either end: it was too long, or began or ended at a gap.
    """

    start: int
    end: int
    first: int
    last: int
    cut: bool


class Endpointer:
    """The state machine: quiet, or within speech. One for each stretch of unbroken sound.

    Args:
        after_gap: sound went missing just before the first frame, so that a segment which
            opens soon may be the second half of a call.
    """

    def __init__(self, settings: AudioSettings, *, after_gap: bool = False) -> None:
        self._settings = settings
        self._now = 0  # number of the next frame
        self._free_from = 0  # no segment may begin before this frame
        # A segment whose speech begins before this frame may have lost its beginning.
        self._doubtful_before = settings.hangover_frames if after_gap else settings.edge_frames
        self._onsets: deque[int] = deque()  # speech frames of the last ``start_window``
        self._open: _Open | None = None

    @property
    def keep_from(self) -> int:
        """Frames before this one can be in no segment to come."""
        if self._open is not None:
            return self._open.start
        earliest = self._now - self._settings.start_window - self._settings.preroll_frames
        return max(self._free_from, earliest)

    @property
    def speaking(self) -> bool:
        """Whether a segment is open."""
        return self._open is not None

    @property
    def foreseen(self) -> Span | None:
        """The segment that closes if nothing more is said: known as soon as its lead-out has
        passed, and that is before it may close."""
        was = self._open
        if was is None or self._now < was.last + 1 + self._settings.postroll_frames:
            return None
        return self._span(was, cut=False)

    def push(self, probability: float) -> Span | None:
        """Take the next frame; gives the segment that it closes, if it does."""
        frame, self._now = self._now, self._now + 1
        if self._open is None:
            self._wait(frame, probability)
            return None
        if probability >= self._settings.start_probability:
            self._open.speech += 1
        if probability >= self._settings.stay_probability:
            self._open.last = frame
        elif frame - self._open.last >= self._settings.hangover_frames:
            return self._close(self._open, cut=False)
        if self._now - self._open.start >= self._settings.most_frames:
            self._doubtful_before = self._now + self._settings.hangover_frames
            return self._close(self._open, cut=True)
        return None

    def finish(self, *, gap: bool = False) -> Span | None:
        """The sound ends; closes what is open. The machine is spent after it.

        Args:
            gap: it does not end but goes on elsewhere, with something missing between.
        """
        if self._open is None:
            return None
        quiet = self._now - 1 - self._open.last
        return self._close(self._open, cut=gap or quiet < self._settings.edge_frames)

    def _wait(self, frame: int, probability: float) -> None:
        if probability >= self._settings.start_probability:
            self._onsets.append(frame)
        while self._onsets and self._onsets[0] <= frame - self._settings.start_window:
            self._onsets.popleft()
        if len(self._onsets) >= self._settings.start_frames:
            first = self._onsets[0]
            start = max(self._free_from, first - self._settings.preroll_frames)
            doubtful = first < self._doubtful_before
            self._open = _Open(start, first, frame, len(self._onsets), doubtful)
            self._onsets.clear()

    def _close(self, was: _Open, *, cut: bool) -> Span | None:
        self._open = None
        self._free_from = min(self._now, was.last + 1 + self._settings.postroll_frames)
        return self._span(was, cut=cut)

    def _span(self, was: _Open, *, cut: bool) -> Span | None:
        if was.speech < self._settings.least_speech_frames:
            return None
        end = min(self._now, was.last + 1 + self._settings.postroll_frames)
        return Span(was.start, end, was.first, was.last, cut or was.doubtful)


@dataclass(slots=True)
class _Open:
    """The segment that is open: ``speech`` counts its speech frames."""

    start: int
    first: int
    last: int
    speech: int
    doubtful: bool
