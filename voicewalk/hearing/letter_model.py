"""The letter listener's acoustic model: sound to frame log-probabilities of letters.

The encoder of Whisper base with a layer of connectionist temporal classification over letters,
trained for this program (docs/decisions/0014-letters.md); it lies beside this module. What it is
given is Whisper's own view of sound: Radford et al., "Robust Speech Recognition via Large-Scale
Weak Supervision" (2022), section 2.2, as the code released with it computes it. Its bands are
those of Slaney's Auditory Toolbox (1998), which librosa has by default.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import onnxruntime as ort
from numpy.typing import NDArray

from voicewalk.errors import ModelError
from voicewalk.models import own_file

Floats = NDArray[np.float32]

RATE = 16_000
FRAME_SECONDS = 0.02
VERSION = "letters-3"

BEGINS = "|"
"""The symbol that stands before each word."""

SYMBOLS = "_abcdefghijklmnopqrstuvwxyz'" + BEGINS
"""Each by its index in a frame; the first is the blank."""

FLOOR = -10.0
"""Least log-probability of a symbol in a frame. One letter that is never heard would otherwise
outweigh all the others of a call: a wrong letter counts, but only once."""

_FILE = "letters.onnx"
_SHA256 = "b1a9f337bf581f258105be57b56ca9009e816cec89bde75831ec6903c88c83b8"

_BANDS, _WINDOW, _HOP = 80, 400, 160
"""A frame of 25 ms each 10 ms."""
PADDED_SECONDS = 0.1
_AROUND = np.zeros(round(PADDED_SECONDS * RATE), np.float32)
"""Silence before and after the sound: the network hears the first and last sounds of a clip
better that way. The first frame lies so long before the clip."""
_LOUDNESS = 0.05
"""Root mean square to which a clip is brought: what the network was trained at."""
_QUIETEST = 1e-9
"""Added to a clip's root mean square, so that digital silence stays silence."""
_RANGE = 8.0
"""What lies so many powers of ten below the loudest counts no less: 80 dB."""


class LetterModel:
    """CTC over letters, 16 kHz, a frame each 20 ms, English.

    Args:
        path: the network; the one that comes with the program where none is named.

    Attributes:
        symbols: index of each symbol in a frame of ``log_probs``.
        blank: index of the blank.

    Raises:
        ModelError: the file is missing or altered.
    """

    def __init__(self, path: Path | None = None) -> None:
        options = ort.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        self._network = ort.InferenceSession(
            str(path or own_file(f"hearing/{_FILE}", _SHA256)),
            options,
            providers=["CPUExecutionProvider"],
        )
        self.symbols = {symbol: index for index, symbol in enumerate(SYMBOLS)}
        self.blank = 0

    def log_probs(self, samples: Floats) -> Floats:
        """Frame log-probabilities, shape (frames, symbols), none below ``FLOOR``.

        Args:
            samples: mono, 16 kHz, -1 to 1; at most 29.8 s, for which the network has positions.
                What is heard is cut at 12 s (``AudioSettings.most_frames``).

        Raises:
            ModelError: the network gives frames of another shape.
        """
        (logits,) = self._network.run(None, {"mel": log_mel(levelled(samples))[None]})
        frames = np.asarray(logits[0], dtype=np.float32)
        if frames.ndim != 2 or frames.shape[1] != len(SYMBOLS):
            raise ModelError(
                f"the letter model gave frames of shape {frames.shape}",
                "Restore voicewalk/hearing/letters.onnx from the repository.",
            )
        frames -= np.logaddexp.reduce(frames, axis=1, keepdims=True)
        return np.maximum(frames, FLOOR, out=frames)


def levelled(samples: Floats) -> Floats:
    """The sound with silence around it, brought to one loudness."""
    padded = np.concatenate([_AROUND, samples, _AROUND]).astype(np.float32, copy=False)
    loudness = float(np.sqrt(np.mean(padded * padded))) + _QUIETEST
    return padded * np.float32(_LOUDNESS / loudness)


def log_mel(samples: Floats) -> Floats:
    """What Whisper sees of a sound: log powers, shape (bands, frames of 10 ms), about -1 to 1.

    Args:
        samples: mono, 16 kHz, more than half a window of them.
    """
    padded = np.pad(samples, _WINDOW // 2, mode="reflect")
    pieces = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::_HOP][:-1]
    spectrum = np.fft.rfft(pieces * _HANN, axis=1)
    power = spectrum.real**2 + spectrum.imag**2
    levels = np.log10(np.maximum(_MEL @ power.T, 1e-10))
    levels = np.maximum(levels, levels.max() - _RANGE)
    return np.asarray((levels + 4) / 4, dtype=np.float32)


def mel_bands(bands: int = _BANDS) -> Floats:
    """Weights of the powers of each band, shape (bands, bins): triangles that overlap by half,
    evenly spaced on Slaney's mel scale from 0 to 8 kHz, each of the same area."""
    corners = _hertz(np.linspace(0.0, _mel(RATE / 2), bands + 2))
    bins = np.fft.rfftfreq(_WINDOW, 1 / RATE)
    rising = (bins - corners[:-2, None]) / np.diff(corners)[:-1, None]
    falling = (corners[2:, None] - bins) / np.diff(corners)[1:, None]
    area = 2 / (corners[2:] - corners[:-2])
    triangles = np.maximum(0.0, np.minimum(rising, falling)) * area[:, None]
    return np.asarray(triangles, dtype=np.float32)


_LINEAR_HZ, _LINEAR_MELS = 1000.0, 15.0
"""Slaney's scale is linear up to here, and logarithmic above."""
_OCTAVES = np.log(6.4) / 27
"""Above, 27 mels are a factor of 6.4."""


def _mel(hertz: float) -> float:
    if hertz < _LINEAR_HZ:
        return _LINEAR_MELS * hertz / _LINEAR_HZ
    return float(_LINEAR_MELS + np.log(hertz / _LINEAR_HZ) / _OCTAVES)


def _hertz(mels: NDArray[np.float64]) -> NDArray[np.float64]:
    above = np.maximum(mels - _LINEAR_MELS, 0.0)
    linear = np.minimum(mels, _LINEAR_MELS) * _LINEAR_HZ / _LINEAR_MELS
    return np.asarray(linear * np.exp(above * _OCTAVES))


_HANN = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
"""The periodic window, as spectra want it: its next value would be its first."""
_MEL = mel_bands()
