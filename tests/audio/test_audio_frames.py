"""Cutting blocks into frames, resampling, and measuring."""

import math

import numpy as np
import pytest
import soxr
from hypothesis import given, settings
from hypothesis import strategies as st

from voicewalk.audio.frames import FRAME, RATE, Block, FrameCutter
from voicewalk.audio.level import SILENCE_DBFS, dbfs, is_clipped, mix, power, snr_db
from voicewalk.audio.resample import Resampler, resample
from voicewalk.settings import AudioSettings

S = AudioSettings()


def noise(count: int, seed: int = 0, scale: float = 0.1) -> np.ndarray:
    return (np.random.default_rng(seed).normal(size=count) * scale).astype(np.float32)


def sine(hz: float, seconds: float, rate: int, peak: float = 0.5) -> np.ndarray:
    return (peak * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate)) / rate)).astype(
        np.float32
    )


@given(st.lists(st.integers(0, 2000), max_size=12), st.integers(0, 10**9))
def test_frames_put_together_are_the_blocks_put_together(sizes, start):
    sound = noise(sum(sizes))
    cutter, frames, at = FrameCutter(), [], 0
    for size in sizes:
        frames += cutter.push(Block(sound[at : at + size], start + at))
        at += size
    assert [len(frame.samples) for frame in frames] == [FRAME] * (len(sound) // FRAME)
    rest = cutter.flush()
    frames += [rest] if rest else []
    assert np.array_equal(np.concatenate([f.samples for f in frames] or [sound]), sound)
    assert [frame.start for frame in frames] == [
        start + number * FRAME for number in range(len(frames))
    ]


def test_a_block_after_a_gap_needs_a_flush():
    cutter = FrameCutter()
    cutter.push(Block(noise(100), 0))
    with pytest.raises(RuntimeError):
        cutter.push(Block(noise(100), 200))
    cutter.flush()
    assert cutter.push(Block(noise(FRAME), 200))[0].start == 200


@settings(max_examples=30, deadline=None)
@given(
    rate=st.sampled_from([8000, 11025, 22050, 44100, 48000, 96000]),
    sizes=st.lists(st.integers(0, 5000), min_size=1, max_size=20),
)
def test_resampled_as_a_stream_equals_resampled_at_once(rate, sizes):
    """Oracle: soxr's own one-shot function."""
    sound = noise(sum(sizes))
    stream, parts, at = Resampler(rate), [], 0
    for size in sizes:
        parts.append(stream.push(sound[at : at + size]))
        at += size
    streamed = np.concatenate([*parts, stream.finish()])
    at_once = soxr.resample(sound, rate, RATE)
    assert abs(len(streamed) - len(at_once)) <= 1
    both = min(len(streamed), len(at_once))
    assert np.allclose(streamed[:both], at_once[:both], atol=1e-6)


def test_at_its_own_rate_sound_is_left_alone():
    sound = noise(1000)
    assert np.array_equal(Resampler(RATE).push(sound), sound)
    assert np.array_equal(resample(sound, RATE), sound)


@pytest.mark.parametrize("rate", [8000, 22050, 44100, 48000])
def test_resampling_keeps_the_pitch_and_the_level(rate):
    sound = resample(sine(1000, 1, rate), rate)
    spectrum = np.abs(np.fft.rfft(sound))
    assert np.argmax(spectrum) * RATE / len(sound) == pytest.approx(1000, abs=1)
    assert power(sound) == pytest.approx(0.125, rel=0.01)


def test_levels():
    """A sine's mean square is half its peak's square: -3.01 dB below a square wave."""
    assert dbfs(power(sine(1000, 1, RATE, 1.0))) == pytest.approx(-3.01, abs=0.01)
    assert dbfs(power(np.ones(100, np.float32))) == 0
    assert dbfs(power(np.zeros(100, np.float32))) == SILENCE_DBFS
    assert dbfs(power(np.zeros(0, np.float32))) == SILENCE_DBFS


@given(st.floats(-20, 40))
def test_noise_mixed_in_lies_where_it_was_asked_for(snr):
    clean, rumble = sine(500, 0.5, RATE), noise(3000, 1, 0.3)
    added = mix(clean, rumble, snr).astype(np.float64) - clean
    assert 10 * math.log10(power(clean) / power(added)) == pytest.approx(snr, abs=0.3)


def test_the_silence_around_a_call_does_not_lower_its_noise():
    call = sine(500, 0.5, RATE)
    padded = np.pad(call, RATE)
    added = mix(padded, noise(RATE), 10, reference=call) - padded
    assert 10 * math.log10(power(call) / power(added)) == pytest.approx(10, abs=0.3)


def test_silent_noise_adds_nothing():
    call = sine(500, 0.1, RATE)
    assert np.array_equal(mix(call, np.zeros(10, np.float32), 0), call)


@pytest.mark.parametrize(("ratio", "db"), [(1, 0), (10, 10), (100, 20), (0.1, -10)])
def test_signal_to_noise_ratio(ratio, db):
    assert snr_db([1 + ratio], [1, 1, 1], 60) == pytest.approx(db)


def test_one_click_does_not_make_a_noise_floor():
    assert snr_db([11], [1, 1, 1, 1, 500], 60) == pytest.approx(10)


def test_the_ratio_is_held_where_it_is_no_measurement():
    assert snr_db([1], [0, 0], 60) == 60
    assert snr_db([1], [2, 2], 60) == -60
    assert snr_db([1], [1e-12], 60) == 60


@pytest.mark.parametrize(
    ("gain", "clipped"),
    [(0.9, False), (1.01, False), (2.0, True), (8.0, True)],
    ids=["within", "tips touched", "driven twice", "driven eight times"],
)
def test_clipping(gain, clipped):
    spoken = noise(RATE // 2, 3, 0.2)
    driven = np.clip(spoken / np.abs(spoken).max() * gain, -1, 1)
    assert is_clipped(driven, S) is clipped
