"""The letter model: what it sees of sound, against librosa and SciPy, and what it makes of it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import ShortTimeFFT
from scipy.signal.windows import hann

from voicewalk.errors import ModelError
from voicewalk.hearing import letter_model
from voicewalk.hearing.letter_model import (
    FLOOR,
    RATE,
    SYMBOLS,
    LetterModel,
    levelled,
    log_mel,
    mel_bands,
)

# --- the bands -----------------------------------------------------------------------------

# librosa 0.11.0, filters.mel(sr=16000, n_fft=400, n_mels=80): the first bin of a band that weighs
# anything, and the weights from there on. It is what Whisper's own file of filters was made by.
LIBROSA = {
    0: (1, [0.02486259]),
    1: (1, [0.00199082, 0.02287177]),
    10: (10, [0.01990822, 0.00495437]),
    30: (29, [0.01585604, 0.00896277]),
    40: (42, [0.0054111, 0.01473557, 0.00651819]),
    60: (90, [0.00143453, 0.00344122, 0.0054479, 0.00659109, 0.00466001, 0.00272893, 0.00079785]),
}


@pytest.mark.parametrize("band", LIBROSA)
def test_bands_are_those_of_librosa(band):
    first, weights = LIBROSA[band]
    row = mel_bands()[band]
    assert np.flatnonzero(row).tolist() == list(range(first, first + len(weights)))
    assert row[row > 0] == pytest.approx(weights, abs=2e-8)


def test_all_bands_together_weigh_as_much_as_those_of_librosa():
    bands = mel_bands()
    assert bands.shape == (80, 201)
    assert float(bands.sum()) == pytest.approx(1.9990242, abs=1e-6)
    assert float((bands**2).sum()) == pytest.approx(0.021185515, abs=1e-8)


@pytest.mark.parametrize(
    ("hertz", "mel"), [(200 / 3, 1), (200, 3), (1000, 15), (1000 * 6.4 ** (1 / 27), 16), (6400, 42)]
)
def test_mels_are_linear_up_to_a_kilohertz_and_logarithmic_above(hertz, mel):
    """Slaney, Auditory Toolbox (1998), as the documentation of librosa's hz_to_mel tells it."""
    assert letter_model._mel(hertz) == pytest.approx(mel)
    assert letter_model._hertz(np.array([float(mel)]))[0] == pytest.approx(hertz)


@given(st.floats(0, 8000))
def test_the_scale_and_its_inverse_agree(hertz):
    there = np.array([letter_model._mel(hertz)])
    assert letter_model._hertz(there)[0] == pytest.approx(hertz, abs=1e-6)


# --- the picture ---------------------------------------------------------------------------


def chirp() -> np.ndarray:
    """One second from 200 Hz to 3.2 kHz."""
    t = np.arange(RATE) / RATE
    return (0.1 * np.sin(2 * np.pi * (200 * t + 1500 * t * t))).astype(np.float32)


# librosa 0.11.0: stft(n_fft=400, hop_length=160, center=True, pad_mode="reflect"), its last frame
# left out, the bands above, and then as Whisper's released code has it: log10 of at least 1e-10,
# no less than 8 below the most, plus 4, by 4.
BY_LIBROSA = [
    (0, 0, 0.81639), (10, 5, 0.85069), (25, 20, -0.08501), (40, 50, 1.03944),
    (60, 80, -0.90253), (79, 99, -0.72364), (5, 99, -0.58512), (33, 37, 1.06927),
]  # fmt: skip


def test_a_chirp_is_seen_as_by_librosa():
    seen = log_mel(chirp())
    assert seen.shape == (80, 100)
    assert seen.dtype == np.float32
    assert [float(seen[band, frame]) for band, frame, _ in BY_LIBROSA] == pytest.approx(
        [level for _, _, level in BY_LIBROSA], abs=2e-3
    )
    assert float(seen.mean()) == pytest.approx(-0.7233, abs=2e-3)


@given(st.integers(0, 99), st.integers(201, 4000))
def test_the_spectrum_is_that_of_scipy(seed, length):
    sound = np.random.default_rng(seed).normal(0, 0.1, length).astype(np.float32)
    transform = ShortTimeFFT(hann(400, sym=False), hop=160, fs=RATE)
    power = np.abs(transform.stft(sound, p0=0, p1=length // 160, padding="even")) ** 2
    levels = np.log10(np.maximum(mel_bands() @ power, 1e-10))
    expected = (np.maximum(levels, levels.max() - 8) + 4) / 4
    assert log_mel(sound) == pytest.approx(expected, abs=1e-3)


@given(st.integers(400, 48_000))
def test_there_is_a_frame_for_each_ten_milliseconds(length):
    assert log_mel(np.zeros(length, np.float32)).shape == (80, length // 160)


@given(st.floats(1e-4, 1.0), st.integers(0, 20_000))
def test_every_clip_is_as_loud_and_has_silence_around_it(level, length):
    sound = level * np.random.default_rng(length).choice([-1.0, 1.0], length).astype(np.float32)
    brought = levelled(sound)
    assert len(brought) == length + 2 * RATE // 10
    assert not brought[: RATE // 10].any()
    assert not brought[-RATE // 10 :].any()
    if length:
        assert float(np.sqrt((brought**2).mean())) == pytest.approx(0.05, rel=1e-3)


def test_digital_silence_stays_silence():
    assert not levelled(np.zeros(RATE, np.float32)).any()


# --- the model -----------------------------------------------------------------------------


class Network:
    """Stands in for the network: each symbol's logit is a fixed mixture of the bands."""

    mixture = np.random.default_rng(1).normal(0, 3, (80, len(SYMBOLS))).astype(np.float32)

    def __init__(self, path: str, *_: object, **__: object) -> None:
        self.path = path

    def run(self, names: None, feeds: dict[str, np.ndarray]) -> list[np.ndarray]:
        (mel,) = feeds.values()
        assert [*feeds] == ["mel"]
        assert mel.dtype == np.float32
        assert mel.shape[:2] == (1, 80)
        return [mel.transpose(0, 2, 1)[:, ::2] @ self.mixture]


@pytest.fixture
def model(monkeypatch) -> LetterModel:
    monkeypatch.setattr(letter_model.ort, "InferenceSession", Network)
    return LetterModel(Path("letters.onnx"))


def test_symbols_are_numbered_as_the_network_has_them(model):
    assert len(model.symbols) == 29
    assert [model.symbols[s] for s in "_az'|"] == [0, 1, 26, 27, 28]
    assert model.blank == model.symbols["_"]


@pytest.mark.parametrize("samples", [0, 1, 1600, 48_000])
def test_frames_are_log_probabilities_with_a_floor(model, samples):
    frames = model.log_probs(np.random.default_rng(2).normal(0, 0.1, samples).astype(np.float32))
    assert frames.shape == (-(-((samples + 3200) // 160) // 2), 29)
    assert frames.dtype == np.float32
    assert frames.min() >= FLOOR
    # Raising all to the floor adds at most the floor's own share to each symbol.
    assert np.exp(frames).sum(axis=1) == pytest.approx(1.0, abs=29 * np.exp(FLOOR) + 1e-5)


def test_the_same_sound_gives_the_same_frames(model):
    clip = chirp()
    assert np.array_equal(model.log_probs(clip), model.log_probs(clip.copy()))


def test_how_loud_a_clip_is_changes_nothing(model):
    assert model.log_probs(chirp()) == pytest.approx(model.log_probs(0.05 * chirp()), abs=0.05)


def test_a_network_of_other_symbols_is_told(model, monkeypatch):
    monkeypatch.setattr(Network, "mixture", Network.mixture[:, :28])
    with pytest.raises(ModelError, match="frames of shape") as told:
        model.log_probs(chirp())
    assert "letters.onnx" in told.value.what_to_do


def test_a_network_that_is_not_the_measured_one_is_never_loaded(monkeypatch):
    def loaded(*_: object, **__: object) -> None:
        raise AssertionError("loaded")

    monkeypatch.setattr(letter_model.ort, "InferenceSession", loaded)
    monkeypatch.setattr(letter_model, "_SHA256", "0" * 64)
    with pytest.raises(ModelError, match=r"letters\.onnx"):
        LetterModel()
