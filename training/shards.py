"""Clips in bulk: one file of samples, one of offsets, one of words.

A shard STEM is three files: STEM.pcm.npy (int16, 16 kHz, clip after clip), STEM.off.npy (int64,
clips + 1) and STEM.tsv (source, speaker, text; one line a clip). Opening a hundred thousand small
files takes longer than training on them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 16_000

Int16 = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Clip:
    """One clip: its samples, and what is known of it."""

    samples: Int16
    source: str
    speaker: str
    text: str


@dataclass(frozen=True)
class Shard:
    """Clips read back; ``samples`` and ``offsets`` are mapped, not loaded."""

    samples: Int16
    offsets: NDArray[np.int64]
    rows: list[tuple[str, str, str]]

    def __len__(self) -> int:
        return len(self.rows)

    def clip(self, index: int) -> Clip:
        """One clip."""
        samples = self.samples[self.offsets[index] : self.offsets[index + 1]]
        return Clip(samples, *self.rows[index])

    @property
    def hours(self) -> float:
        """How much sound it holds."""
        return float(self.offsets[-1]) / RATE / 3600


def levelled(samples: NDArray[np.floating]) -> Int16:
    """Samples (-1 to 1) at half of full scale, as 16-bit numbers.

    Raises:
        ValueError: there is no sound.
    """
    peak = float(np.abs(samples).max()) if len(samples) else 0.0
    if not peak >= 1e-4:  # or not a number, as a network may give
        raise ValueError("no sound")
    return (samples * (0.5 / peak) * 32767).astype(np.int16)


def write(stem: Path, clips: Iterable[Clip]) -> int:
    """Write a shard; returns how many clips it has. The words are written last: a shard with
    words is whole."""
    kept = list(clips)
    stem.parent.mkdir(parents=True, exist_ok=True)
    offsets = np.cumsum([0, *(len(clip.samples) for clip in kept)], dtype=np.int64)
    samples = np.concatenate([clip.samples for clip in kept]) if kept else np.zeros(0, np.int16)
    np.save(f"{stem}.pcm.npy", samples)
    np.save(f"{stem}.off.npy", offsets)
    lines = "".join(f"{clip.source}\t{clip.speaker}\t{clip.text}\n" for clip in kept)
    Path(f"{stem}.tsv").write_text(lines, encoding="utf-8")
    return len(kept)


def is_whole(stem: Path) -> bool:
    """Whether a shard has been written to its end."""
    return Path(f"{stem}.tsv").is_file()


def read(stem: Path) -> Shard:
    """Read a shard.

    Raises:
        ValueError: its files do not belong together.
    """
    text = Path(f"{stem}.tsv").read_text(encoding="utf-8")
    rows = [tuple(line.split("\t")) for line in text.splitlines()]
    samples = np.load(f"{stem}.pcm.npy", mmap_mode="r")
    offsets = np.load(f"{stem}.off.npy")
    if len(offsets) != len(rows) + 1 or offsets[-1] != len(samples):
        raise ValueError(f"{stem}: {len(rows)} lines, {len(offsets) - 1} clips; make it again")
    return Shard(samples, offsets, [(row[0], row[1], row[2]) for row in rows])
