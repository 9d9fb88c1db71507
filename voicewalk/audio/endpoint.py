"""Finds where calls begin and end in a row of speech probabilities. Pure: no sound in here.

The probabilities come from a speech detector, one for each frame; cutting the sound out and
measuring it is ``segment``. Two thresholds make a hysteresis: a clear beginning opens a
segment, and only a good while of nothing closes it, so that the pauses between the words of a
call and the dips that engine noise makes do not cut it in two.

Noise hides speech from the detector: the first words of a call until a louder one comes, and
quiet words altogether. So a segment reaches back over the traces of speech that lead up to its
clear beginning; and traces that never grow clear make a segment too, short and marked as faint,
for hearing to confirm or to drop.
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
        first, last: the first and the last frame with speech, where it is clear.
        cut: speech may be missing at either end: it was too long, or began or ended at a gap.
        faint: it never grew clear, so it may be no speech at all.
    """

    start: int
    end: int
    first: int
    last: int
    cut: bool
    faint: bool = False


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
        self._hints: deque[int] = deque()  # frames of it that may be speech
        self._traces: deque[int] = deque()  # frames of the last ``lead_frames`` with a trace of it
        self._open: _Open | None = None

    @property
    def keep_from(self) -> int:
        """Frames before this one can be in no segment to come."""
        was, of = self._open, self._settings
        if was is not None and was.clear:
            return was.start
        earliest = max(self._free_from, self._now - of.lead_frames - of.preroll_frames)
        return earliest if was is None or self._endless(was) else min(earliest, was.start)

    @property
    def speaking(self) -> bool:
        """Whether a segment is open."""
        return self._open is not None

    @property
    def foreseen(self) -> Span | None:
        """The segment that closes if nothing more is said: known as soon as its lead-out has
        passed, and that is before it may close."""
        was = self._open
        if was is None or self._now < was.last + 1 + self._lead_out(was):
            return None
        return self._span(was, cut=False)

    def push(self, probability: float) -> Span | None:
        """Take the next frame; gives the segment that it closes, if it does."""
        frame, self._now = self._now, self._now + 1
        self._note(frame, probability)
        if self._open is None or not self._open.clear:
            self._begin(frame)
        was = self._open
        if was is None or was.opened == frame:
            return None
        if probability >= self._settings.start_probability:
            was.speech += 1
        if probability >= self._stay(was):
            was.last = frame
        elif frame - was.last >= self._settings.hangover_frames:
            return self._close(was, cut=False)
        if was.clear and self._now - was.start >= self._settings.most_frames:
            self._doubtful_before = self._now + self._settings.hangover_frames
            return self._close(was, cut=True)
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

    def _stay(self, was: _Open) -> float:
        return self._settings.stay_probability if was.clear else self._settings.trace_probability

    def _note(self, frame: int, probability: float) -> None:
        of = self._settings
        for kept, least, span in (
            (self._onsets, of.start_probability, of.start_window),
            (self._hints, of.hint_probability, of.start_window),
            (self._traces, of.trace_probability, of.lead_frames),
        ):
            if probability >= least:
                kept.append(frame)
            while kept and kept[0] <= frame - span:
                kept.popleft()

    def _begin(self, frame: int) -> None:
        """Open a segment where enough frames say so; what was faint may now be clear."""
        of = self._settings
        if len(self._onsets) >= of.start_frames:
            first, speech, clear = self._onsets[0], len(self._onsets), True
        elif self._open is None and len(self._hints) >= of.hint_frames:
            first, speech, clear = self._hints[0], len(self._onsets), False
        else:
            return
        start = max(self._free_from, self._traced(first) - of.preroll_frames)
        # By its clear beginning: a detector that has just begun sees traces in noise.
        doubtful = first < self._doubtful_before
        self._open = _Open(start, first, frame, frame, speech, clear, doubtful)

    def _traced(self, first: int) -> int:
        """Where the traces begin that lead up to a frame, with no pause that would end a call."""
        for trace in reversed(self._traces):
            if trace < first - self._settings.hangover_frames:
                break
            first = min(first, trace)
        return first

    def _endless(self, was: _Open) -> bool:
        """Whether what is faint goes on for longer than any word: it is noise, or far talk."""
        return not was.clear and was.last - was.first >= self._settings.faint_frames

    def _close(self, was: _Open, *, cut: bool) -> Span | None:
        self._open = None
        self._onsets.clear()
        self._hints.clear()
        if (span := self._span(was, cut=cut)) is not None or was.clear:
            self._free_from = min(self._now, was.last + 1 + self._lead_out(was))
        return span

    def _span(self, was: _Open, *, cut: bool) -> Span | None:
        if self._endless(was):
            return None
        end = min(self._now, was.last + 1 + self._lead_out(was))
        faint = self._is_faint(was)
        return Span(was.start, end, was.first, was.last, cut or was.doubtful, faint)

    def _is_faint(self, was: _Open) -> bool:
        return not was.clear or was.speech < self._settings.least_speech_frames

    def _lead_out(self, was: _Open) -> int:
        of = self._settings
        return of.faint_postroll_frames if self._is_faint(was) else of.postroll_frames


@dataclass(slots=True)
class _Open:
    """The segment that is open, since the frame ``opened``; ``speech`` counts its speech frames."""

    start: int
    first: int
    last: int
    opened: int
    speech: int
    clear: bool
    doubtful: bool
