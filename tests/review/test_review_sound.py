"""Sounds for a page: the same samples as WAV, in the parts that RFC 9110 speaks of, as a curve."""

import io
import wave

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.record.clip import encode_clip
from voicewalk.review.sound import Part, RangeOutside, curve, part_of, wav


def flac_of(samples):
    return encode_clip(np.asarray(samples, np.float32)).flac


def test_the_samples_are_those_of_the_record():
    sound = np.sin(np.arange(1600, dtype=np.float32) / 7)
    flac = flac_of(sound)
    kept, _ = soundfile.read(io.BytesIO(flac), dtype="int16")
    with wave.open(io.BytesIO(wav(flac))) as file:  # the standard library's reader
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (16_000, 1, 2)
        assert (np.frombuffer(file.readframes(1600), "<i2") == kept).all()


# RFC 9110, section 14.1.2: the examples are of a representation of 10,000 bytes.
@pytest.mark.parametrize(
    ("header", "part"),
    [
        ("bytes=0-499", Part(0, 499, 10_000)),
        ("bytes=500-999", Part(500, 999, 10_000)),
        ("bytes=-500", Part(9500, 9999, 10_000)),
        ("bytes=9500-", Part(9500, 9999, 10_000)),
        ("bytes=0-0", Part(0, 0, 10_000)),
        ("bytes=0-99999", Part(0, 9999, 10_000)),  # "the remainder of the representation"
        ("bytes=-99999", Part(0, 9999, 10_000)),  # "the entire representation is used"
        ("", None),
        ("lines=0-4", None),
        ("bytes=5-4", None),  # invalid: a recipient ignores it
        ("bytes=0-0,-1", None),  # several: a server may send the whole
        ("bytes=-", None),
        ("bytes=a-b", None),
        ("bytes=٣-٤", None),
    ],
)
def test_parts_are_those_of_the_standard(header, part):
    assert part_of(header, 10_000) == part


@pytest.mark.parametrize("header", ["bytes=10000-", "bytes=10000-10001", "bytes=-0"])
def test_what_lies_outside_cannot_be_sent(header):
    with pytest.raises(RangeOutside):
        part_of(header, 10_000)


def test_the_header_of_a_part():
    assert Part(42, 1233, 1234).header == "bytes 42-1233/1234"  # RFC 9110, section 14.4


@given(st.text(max_size=30), st.integers(1, 1000))
def test_no_header_leads_outside(header, size):
    try:
        part = part_of(header, size)
    except RangeOutside:
        return
    assert part is None or 0 <= part.first <= part.last < size


def test_the_curve_shows_where_it_is_loud():
    sound = np.zeros(16_000)
    sound[8000:] = 0.5
    sound[12_000] = -0.75
    found = curve(flac_of(sound), 4)
    assert found == [(0, 0), (0, 0), (50, 50), (-75, 50)]


def test_a_short_sound_has_a_short_curve():
    assert len(curve(flac_of([0.1, 0.2]))) == 2
