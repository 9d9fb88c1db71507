import hashlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from record_samples import tone

from voicewalk.record.clip import decode_clip, encode_clip

SIXTEEN_BITS = arrays.arrays(np.int16, st.integers(1, 3000))


@given(SIXTEEN_BITS)
def test_sixteen_bit_sound_comes_back_exactly(whole):
    clip = encode_clip(whole.astype(np.float32) / np.float32(32_768))
    assert np.array_equal(decode_clip(clip.flac) * 32_768, whole)


def test_the_stream_says_what_it_is_as_rfc9639_has_it():
    # RFC 9639 section 8.2: STREAMINFO is the first block, 34 bytes after marker and header.
    whole = np.arange(-1000, 1000, dtype=np.int16)
    flac = encode_clip(whole.astype(np.float32) / np.float32(32_768)).flac
    assert flac[:4] == b"fLaC"
    packed = int.from_bytes(flac[18:26], "big")
    rate, channels = packed >> 44, (packed >> 41 & 7) + 1
    bits, samples = (packed >> 36 & 31) + 1, packed & (1 << 36) - 1
    assert (rate, channels, bits, samples) == (16_000, 1, 16, 2000)
    assert flac[26:42] == hashlib.md5(whole.astype("<i2").tobytes()).digest()


def test_the_same_sound_gives_the_same_bytes():
    assert tone(3).flac == tone(3).flac
    assert tone(3).sha256 == hashlib.sha256(tone(3).flac).hexdigest()
    assert tone(3).sha256 != tone(4).sha256


def test_length_and_place_are_kept():
    clip = encode_clip(np.zeros(24_000, np.float32), start=48_000)
    assert (clip.samples, clip.seconds, clip.start) == (24_000, 1.5, 48_000)


def test_sound_beyond_full_scale_is_clipped_and_does_not_wrap():
    loud = np.array([1.5, 1.0, -1.0, -1.5], np.float32)
    top = 32_767 / 32_768
    assert decode_clip(encode_clip(loud).flac).tolist() == [top, top, -1.0, -1.0]


@pytest.mark.parametrize(
    "sound",
    [
        np.zeros(0, np.float32),
        np.zeros((5, 2), np.float32),
        np.array([0.1, np.nan], np.float32),
        np.array([np.inf], np.float32),
    ],
    ids=["empty", "stereo", "not-a-number", "infinite"],
)
def test_what_is_no_sound_is_refused(sound):
    with pytest.raises(ValueError):
        encode_clip(sound)


@pytest.mark.parametrize("flac", [b"", b"fLaC", b"RIFF" + bytes(40), tone().flac[:60]])
def test_bytes_that_are_no_flac_are_refused(flac):
    with pytest.raises(ValueError):
        decode_clip(flac)


@given(st.binary(max_size=200))
def test_decoding_any_bytes_ends_in_words(data):
    try:
        decode_clip(data)
    except ValueError as error:
        assert str(error)
