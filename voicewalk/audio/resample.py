"""Changes the sampling rate of mono sound, as a stream or in one piece (soxr, HQ)."""

from __future__ import annotations

import numpy as np
import soxr

from voicewalk.audio.frames import RATE, Samples


class Resampler:
    """Streaming resampler to ``RATE``; the pieces together equal the whole in one piece."""

    def __init__(self, rate: float) -> None:
        self._stream = None if rate == RATE else soxr.ResampleStream(rate, RATE, 1)

    def push(self, samples: Samples) -> Samples:
        """The output that is ready; some milliseconds lag behind until ``finish``."""
        if self._stream is None or not len(samples):
            return samples
        return np.asarray(self._stream.resample_chunk(samples), np.float32)

    def finish(self) -> Samples:
        """What still lagged behind. The resampler is spent after it."""
        nothing: Samples = np.zeros(0, np.float32)
        if self._stream is None:
            return nothing
        return np.asarray(self._stream.resample_chunk(nothing, last=True), np.float32)


def resample(samples: Samples, rate: float, to: float = RATE) -> Samples:
    """All samples at once from ``rate`` to ``to`` (Hz)."""
    if rate == to:
        return samples
    return np.asarray(soxr.resample(samples, rate, to), np.float32)
