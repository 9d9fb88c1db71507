"""Measures sound: level, clipping, signal-to-noise ratio; mixes noise in at a given ratio."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from voicewalk.audio.frames import Samples
from voicewalk.settings import AudioSettings

SILENCE_DBFS = -120.0
"""The level given for digital silence."""


def power(samples: Samples) -> float:
    """Mean square; 0 for no samples."""
    return float(np.mean(np.square(samples, dtype=np.float64))) if len(samples) else 0.0


def dbfs(mean_square: float) -> float:
    """A power as level in dB; 0 dB is a square wave at full scale (a sine has -3 dB)."""
    return max(SILENCE_DBFS, 10 * math.log10(mean_square)) if mean_square > 0 else SILENCE_DBFS


def is_clipped(samples: Samples, settings: AudioSettings) -> bool:
    """Whether the sound was driven into full scale."""
    at_top = np.count_nonzero(np.abs(samples) >= settings.clipped_level)
    return bool(at_top >= settings.clipped_samples)


def snr_db(speech: Sequence[float], noise: Sequence[float], span: float) -> float:
    """Signal-to-noise ratio in dB, within plus and minus ``span``.

    Args:
        speech: powers of frames with speech, the noise beneath it included.
        noise: powers of frames without; their median counts, so that a click does not.
    """
    floor = float(np.median(noise)) if len(noise) else 0.0
    signal = (float(np.mean(speech)) if len(speech) else 0.0) - floor
    if signal <= 0:
        return -span
    if floor <= 0:
        return span
    return min(span, max(-span, 10 * math.log10(signal / floor)))


def mix(
    samples: Samples, noise: Samples, snr: float, *, reference: Samples | None = None
) -> Samples:
    """Add ``noise``, repeated as often as needed, ``snr`` dB below the sound's mean power.

    Args:
        reference: the part of ``samples`` whose power counts (a call without the silence
            around it); all of it where not given.
    """
    beneath = np.resize(noise, len(samples))
    wanted = power(samples if reference is None else reference) / 10 ** (snr / 10)
    present = power(noise)
    gain = math.sqrt(wanted / present) if present > 0 else 0.0
    return (samples + np.float32(gain) * beneath).astype(np.float32)
