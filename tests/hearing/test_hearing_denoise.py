"""Noise reduction keeps a clip's length and time, and does what it is for."""

from __future__ import annotations

import numpy as np
import pytest

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
