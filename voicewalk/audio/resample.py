"""Changes the sampling rate of sound, as a stream or in one piece (soxr, HQ)."""

from __future__ import annotations

import numpy as np
import soxr

from voicewalk.audio.frames import RATE, Samples


class Resampler:
    """Streaming resampler to ``RATE``; the pieces together equal the whole in one piece.

    Args:
        channels: 1 for mono sound, 2 for sound of two columns.
    """

    def __init__(self, rate: float, channels: int = 1) -> None:
        self._nothing: Samples = np.zeros((0, channels) if channels > 1 else 0, np.float32)
        self._stream = None if rate == RATE else soxr.ResampleStream(rate, RATE, channels)

    def push(self, samples: Samples) -> Samples:
        """The output that is ready; some milliseconds lag behind until ``finish``."""
        if self._stream is None or not len(samples):
            return samples
        return np.asarray(self._stream.resample_chunk(samples), np.float32)

    def finish(self) -> Samples:
        """What still lagged behind. The resampler is spent after it."""
        if self._stream is None:
            return self._nothing
        return np.asarray(self._stream.resample_chunk(self._nothing, last=True), np.float32)


def resample(samples: Samples, rate: float, to: float = RATE) -> Samples:
    """All samples at once from ``rate`` to ``to`` (Hz)."""
    if rate == to:
        return samples
    return np.asarray(soxr.resample(samples, rate, to), np.float32)
