"""Sound out of files, whole ones and broken ones."""

import numpy as np
import pytest
import soundfile

from voicewalk.audio.frames import RATE, Block, Truncated
from voicewalk.audio.resample import resample
from voicewalk.audio.source import FileSource
from voicewalk.errors import AudioError

RNG = np.random.default_rng(0)


def sound(seconds, rate):
    at = np.arange(round(seconds * rate)) / rate
    hiss = RNG.normal(size=len(at)) * 0.01
    return (0.3 * np.sin(2 * np.pi * 700 * at) + hiss).astype(np.float32)


def heard(source):
    """All samples and all notices; the blocks follow each other."""
    samples, notices = [np.zeros(0, np.float32)], []
    for one in source.blocks():
        assert one.start == sum(map(len, samples))
        if isinstance(one, Block):
            samples.append(one.samples)
        else:
            notices.append(one)
    return np.concatenate(samples), notices


@pytest.mark.parametrize("rate", [8000, 16000, 22050, 44100, 48000])
@pytest.mark.parametrize(("suffix", "tolerance"), [("wav", 1e-3), ("flac", 1e-3), ("ogg", 0.1)])
def test_any_rate_and_format(tmp_path, rate, suffix, tolerance):
    written = sound(1.3, rate)
    soundfile.write(tmp_path / f"walk.{suffix}", written, rate)
    samples, notices = heard(FileSource(tmp_path / f"walk.{suffix}"))
    assert notices == []
    assert samples.dtype == np.float32
    expected = resample(written, rate)
    assert abs(len(samples) - len(expected)) <= 1
    error = samples[: len(expected)] - expected[: len(samples)]
    assert np.sqrt(np.mean(error**2)) < tolerance


def test_two_channels_are_mixed_or_one_is_taken(tmp_path):
    left, right = sound(0.5, RATE), sound(0.5, RATE)
    file = tmp_path / "stereo.wav"
    soundfile.write(file, np.stack([left, right], axis=1), RATE, subtype="FLOAT")
    assert np.allclose(heard(FileSource(file))[0], (left + right) / 2, atol=1e-6)
    assert np.allclose(heard(FileSource(file, "left"))[0], left, atol=1e-6)
    assert np.allclose(heard(FileSource(file, "right"))[0], right, atol=1e-6)


def test_one_channel_has_no_right_one(tmp_path):
    soundfile.write(tmp_path / "mono.wav", sound(0.5, RATE), RATE)
    with pytest.raises(AudioError, match="no right one"):
        FileSource(tmp_path / "mono.wav", "right")


def test_it_is_read_block_by_block(tmp_path):
    soundfile.write(tmp_path / "long.wav", sound(20, RATE), RATE)
    source = FileSource(tmp_path / "long.wav")
    blocks = source.blocks()
    first = next(blocks)
    assert len(first.samples) < RATE / 10
    assert source.position == first.end
    source.close()
    assert len(list(blocks)) <= 1


def written(path, content):
    path.write_bytes(content)
    return path


@pytest.fixture
def flac(tmp_path):
    soundfile.write(tmp_path / "whole.flac", sound(3, 44100), 44100)
    return (tmp_path / "whole.flac").read_bytes()


@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_truncated_flac_gives_what_is_left_and_says_so(tmp_path, flac, share):
    file = written(tmp_path / "truncated.flac", flac[: int(len(flac) * share)])
    samples, notices = heard(FileSource(file))
    assert share * 3 - 0.3 < len(samples) / RATE <= share * 3
    (notice,) = notices
    assert isinstance(notice, Truncated)
    assert "breaks off after" in notice.reason


def test_a_flac_of_a_recorder_that_was_killed_gives_what_is_left(tmp_path, flac):
    """Such a file's STREAMINFO (RFC 9639, 8.2) still has 0 for its unknown length."""
    killed = bytearray(flac[: int(len(flac) * 0.6)])
    killed[21] &= 0xF0
    killed[22:26] = bytes(4)
    samples, notices = heard(FileSource(written(tmp_path / "killed.flac", bytes(killed))))
    assert len(samples) / RATE > 1.5
    assert isinstance(notices[0], Truncated)


def test_a_flac_with_a_spoilt_middle_is_heard_up_to_it(tmp_path, flac):
    middle = len(flac) // 2
    spoilt = flac[:middle] + b"\x55" * 3000 + flac[middle + 3000 :]
    samples, notices = heard(FileSource(written(tmp_path / "spoilt.flac", spoilt)))
    assert 1.0 < len(samples) / RATE < 1.6
    assert isinstance(notices[0], Truncated)


def test_a_wav_of_a_recorder_that_was_killed_is_heard_to_its_end(tmp_path):
    soundfile.write(tmp_path / "whole.wav", sound(1, RATE), RATE)
    killed = bytearray((tmp_path / "whole.wav").read_bytes())
    killed[4:8] = killed[40:44] = b"\xff" * 4  # lengths that were never filled in
    samples, _ = heard(FileSource(written(tmp_path / "killed.wav", bytes(killed))))
    assert len(samples) == RATE


def test_values_that_are_no_numbers_end_the_sound(tmp_path):
    spoilt = sound(1, RATE)
    spoilt[RATE // 2] = np.nan
    soundfile.write(tmp_path / "nan.wav", spoilt, RATE, subtype="FLOAT")
    samples, (notice,) = heard(FileSource(tmp_path / "nan.wav"))
    assert np.isfinite(samples).all()
    assert len(samples) == pytest.approx(RATE / 2, abs=RATE / 50)
    assert "no sound" in notice.reason


def _empty_wav(path):
    soundfile.write(path, np.zeros(0), RATE)


def _low_rate(path):
    soundfile.write(path, sound(1, 4000), 4000)


@pytest.mark.parametrize(
    ("name", "make", "says"),
    [
        ("missing.wav", lambda path: None, "no such file"),
        ("folder", lambda path: path.mkdir(), "no such file"),
        ("empty.wav", lambda path: path.write_bytes(b""), "no sound that can be read"),
        ("text.wav", lambda path: path.write_text("no sound"), "no sound that can be read"),
        ("without-samples.wav", _empty_wav, "no samples"),
        ("4000-hz.wav", _low_rate, "4000 Hz"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_at_once(tmp_path, name, make, says):
    make(tmp_path / name)
    with pytest.raises(AudioError, match=says) as refused:
        FileSource(tmp_path / name)
    assert str(tmp_path / name) in str(refused.value)
    assert refused.value.what_to_do


def test_a_flac_of_which_nothing_is_left_is_refused(tmp_path, flac):
    with pytest.raises(AudioError, match="breaks off"):
        FileSource(written(tmp_path / "header-only.flac", flac[:200]))
