"""The sound of one entry for a page: as WAV, in the parts that a player asks for, and as a curve.

Pure but for decoding. WAV, because every browser plays it and any part of it can be cut out
without decoding; the record keeps the FLAC.
"""

from __future__ import annotations

import io
import re
import wave
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voicewalk.record.clip import RATE, decode_clip

COLUMNS = 240
_RANGE = re.compile(r"bytes=(\d*)-(\d*)", re.ASCII)
_FULL_SCALE = 32_767


class RangeOutside(ValueError):  # noqa: N818 - it names a finding about a request
    """A part that lies outside of the sound."""


@dataclass(frozen=True, slots=True)
class Part:
    """Bytes ``first`` to ``last``, both included, of ``size``."""

    first: int
    last: int
    size: int

    @property
    def header(self) -> str:
        """The Content-Range of RFC 9110, section 14.4."""
        return f"bytes {self.first}-{self.last}/{self.size}"


def wav(flac: bytes) -> bytes:
    """A stored clip as a WAV file: 16 kHz, one channel, 16 bits; the samples are the same.

    Raises:
        ValueError: the bytes are not FLAC, 16 kHz, mono.
    """
    samples = np.rint(decode_clip(flac) * (_FULL_SCALE + 1))
    whole = np.clip(samples, -_FULL_SCALE - 1, _FULL_SCALE).astype("<i2")
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(whole.tobytes())
    return file.getvalue()


def part_of(header: str, size: int) -> Part | None:
    """The part that a Range header asks for (RFC 9110, section 14.1.2).

    ``None`` where the whole is to be sent: no header, another unit, several ranges, or one that
    makes no sense; a server may answer these with the whole.

    Raises:
        RangeOutside: it begins after the end; to be answered by 416.
    """
    asked = _RANGE.fullmatch(header.strip())
    if not asked or not any(asked.groups()):
        return None
    first, last = asked.groups()
    if not first:  # the last so many bytes
        if not int(last):
            raise RangeOutside(header)
        return Part(max(size - int(last), 0), size - 1, size)
    if last and int(last) < int(first):
        return None
    if int(first) >= size:
        raise RangeOutside(header)
    return Part(int(first), min(int(last) if last else size - 1, size - 1), size)


def curve(flac: bytes, columns: int = COLUMNS) -> list[tuple[int, int]]:
    """The lowest and highest sample in each of ``columns`` equal parts, in percent of full scale.

    Raises:
        ValueError: the bytes are not FLAC, 16 kHz, mono.
    """
    samples: NDArray[np.float32] = decode_clip(flac)
    parts = [part for part in np.array_split(samples, min(columns, len(samples))) if len(part)]
    return [(round(100 * float(one.min())), round(100 * float(one.max()))) for one in parts]
