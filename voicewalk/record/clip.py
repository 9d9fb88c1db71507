"""The sound of one call as it lies in the record: FLAC, 16 kHz, mono, 16 bits.

Lossless, so that the listeners can hear it again exactly as they heard it. Where the sound
comes from is ``audio``'s; storing it is ``record.file``'s.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO

import numpy as np
import soundfile
from numpy.typing import NDArray

RATE = 16_000
"""Samples a second of every stored clip: what the listeners take."""

_FULL_SCALE = 32_768


@dataclass(frozen=True)
class Clip:
    """The stored form of one call's sound.

    Attributes:
        flac: the bytes of a FLAC file.
        samples: how many samples it holds.
        start: number of its first sample, counted from the start of the session's sound. It
            places the clip in time by a counter that nobody can step.
    """

    flac: bytes
    samples: int
    start: int = 0

    @cached_property
    def sha256(self) -> str:
        """SHA-256 of the FLAC bytes, hex: the clip's name in an entry."""
        return hashlib.sha256(self.flac).hexdigest()

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return self.samples / RATE


def encode_clip(sound: NDArray[np.float32], start: int = 0) -> Clip:
    """Turn samples into a clip. The same samples give the same bytes with the same libFLAC.

    Args:
        sound: float32, shape (n,), n > 0, 16 kHz, full scale at +-1; beyond it is clipped.
        start: number of the first sample within the session's sound.

    Raises:
        ValueError: another shape, no samples, or samples that are not finite.
    """
    if sound.ndim != 1 or not len(sound) or not np.isfinite(sound).all():
        raise ValueError("a clip needs finite samples of one channel")
    scaled = np.rint(sound.astype(np.float64) * _FULL_SCALE)
    whole = np.clip(scaled, -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int16)
    file = BytesIO()
    soundfile.write(file, whole, RATE, format="FLAC", subtype="PCM_16")
    return Clip(file.getvalue(), len(whole), start)


def decode_clip(flac: bytes) -> NDArray[np.float32]:
    """The samples of a stored clip: float32, shape (n,), 16 kHz, full scale at +-1.

    Raises:
        ValueError: the bytes are not FLAC, 16 kHz, mono.
    """
    try:
        with soundfile.SoundFile(BytesIO(flac)) as file:
            if (file.format, file.samplerate, file.channels) != ("FLAC", RATE, 1):
                raise ValueError("it is not FLAC of 16 kHz and one channel")
            sound: NDArray[np.float32] = file.read(dtype="float32")
    except soundfile.SoundFileError as error:
        raise ValueError(f"it cannot be decoded ({error})") from error
    return sound
