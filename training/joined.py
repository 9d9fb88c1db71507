"""Two people in one clip: a clip with a word by somebody else right behind it or before it.

    python -m training.joined OUT --clips STEM ... --words STEM ... --count 8000

Whoever speaks into the microphone is written. A listener that learns from one voice at a time, and
meets others as babble alone, leaves out the "no" that a second person says right behind a call:
37 of 60 such calls were taken for good ones.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from random import Random

import numpy as np

from training import shards

LONGEST, LONGEST_WORD = 5.0, 1.3
"""Seconds of a clip, and of the word by the other."""

GAPS = (0.02, 0.6)
"""Seconds between the two."""

LEVELS = (-9.0, 6.0)
"""Of the other's word against the clip, in dB."""

BEFORE = 0.2
"""So many of the words stand before the clip instead."""


def short(stems: list[Path], longest: float) -> list[tuple[shards.Shard, int]]:
    """The clips of shards that have a text and are at most so many seconds long."""
    found = []
    for stem in stems:
        shard = shards.read(stem)
        seconds = np.diff(shard.offsets) / shards.RATE
        found += [(shard, int(n)) for n in np.flatnonzero(seconds <= longest) if shard.rows[n][2]]
    return found


def _power(samples: shards.Int16) -> float:
    return float(np.square(samples, dtype=np.float64).mean())


def join(clip: shards.Clip, word: shards.Clip, random: Random) -> shards.Clip:
    """Both in one clip, with a text that has both."""
    level = random.uniform(*LEVELS)
    scale = np.sqrt(_power(clip.samples) / _power(word.samples)) * 10 ** (level / 20)
    gap = np.zeros(round(random.uniform(*GAPS) * shards.RATE))
    parts = [clip.samples.astype(float), gap, word.samples * scale]
    texts = [clip.text, word.text]
    if random.random() < BEFORE:
        parts.reverse()
        texts.reverse()
    samples = shards.levelled(np.concatenate(parts))
    return shards.Clip(samples, "made", f"{clip.speaker} and {word.speaker}", " ".join(texts))


def main() -> None:
    """Write one shard."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--clips", type=Path, nargs="+", required=True)
    parser.add_argument("--words", type=Path, nargs="+", required=True)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    random = Random(chosen.seed)
    clips, words = short(chosen.clips, LONGEST), short(chosen.words, LONGEST_WORD)
    joined = []
    while len(joined) < chosen.count:
        (shard, n), (other, m) = random.choice(clips), random.choice(words)
        clip, word = shard.clip(n), other.clip(m)
        if clip.speaker != word.speaker:
            joined.append(join(clip, word, random))
    print(shards.write(chosen.out, joined), "clips of two people")


if __name__ == "__main__":
    main()
