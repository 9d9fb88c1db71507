"""People's recordings as shards, split by speaker; and noise as one long clip.

    python -m training.people FOLDER OUT_STEM          # OUT_STEM-train, -calibrate, -test
    python -m training.people FOLDER/noise OUT.npy --noise

FOLDER holds a manifest.tsv (path, text, speaker, source, in_shared_speech). Speakers of the
recordings that the project's tests use are never trained on, but for AN4, all of whose speakers
occur in both: there the split by speaker is what keeps them apart.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import os
import re
from dataclasses import dataclass
from functools import partial
from multiprocessing import Pool
from pathlib import Path

import numpy as np
import soundfile
import soxr

from training import shards
from training.voices import CALIBRATE, TEST, TRAIN

_SHARES = {CALIBRATE: 10, TEST: 10}
_AN4_SHARES = {CALIBRATE: 15, TEST: 25}
"""Percent of the speakers. AN4's sentences are the nearest thing to calls, so more are kept."""

MEASURED_NOISES = ("jet_ambience", "jet_flyby", "wind", "vehicle_motor_idle", "coffee_shop")
"""The same recordings measure the product: the listener is not trained on them."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a manifest."""

    path: str
    text: str
    speaker: str
    source: str
    known: bool


def part_of(row: Row) -> str:
    """Which part a speaker belongs to: always the same one, whatever else is there."""
    draw = int(hashlib.sha256(row.speaker.encode()).hexdigest()[:8], 16) % 100
    shares = _AN4_SHARES if row.source == "AN4" else _SHARES
    if draw < shares[TEST]:
        return TEST
    if draw < shares[TEST] + shares[CALIBRATE]:
        return CALIBRATE
    return TEST if row.known and row.source != "AN4" else TRAIN


def letters(text: str) -> str:
    """A transcript in the model's symbols; "" where it has digits, whose words nobody knows."""
    if re.search(r"\d", text):
        return ""
    kept = re.sub(r"[^a-z' ]", " ", text.lower().replace("’", "'"))
    return " ".join(word.strip("'") for word in kept.split() if word.strip("'"))


def rows_of(folder: Path) -> list[Row]:
    """The lines of a folder's manifest that have a text and a sound."""
    with (folder / "manifest.tsv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    rows = [
        Row(
            r["path"], letters(r["text"]), r["speaker"], r["source"], r["in_shared_speech"] == "yes"
        )
        for r in lines
    ]
    return [row for row in rows if row.text and (folder / row.path).is_file()]


def _decoded(folder: Path, row: Row) -> shards.Clip | None:
    samples, rate = soundfile.read(folder / row.path, dtype="float32", always_2d=True)
    mono = soxr.resample(samples.mean(axis=1), rate, shards.RATE)
    try:
        return shards.Clip(shards.levelled(mono), row.source, row.speaker, row.text)
    except ValueError:
        return None  # silence under a text: the recording failed, not the program


def noises_of(folder: Path) -> np.ndarray:
    """All noises end to end, alike in strength, as 16-bit numbers."""
    pieces = []
    with (folder / "manifest.tsv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    for line in lines:
        if line["kind"] in MEASURED_NOISES:
            continue
        samples, rate = soundfile.read(
            folder.parent / line["path"], dtype="float32", always_2d=True
        )
        mono = soxr.resample(samples.mean(axis=1), rate, shards.RATE)
        if mono.std() > 1e-5:
            pieces.append((np.clip(mono / mono.std() * 0.05, -1, 1) * 32767).astype(np.int16))
    return np.concatenate(pieces)


def main() -> None:
    """Write the shards, or the noise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--noise", action="store_true")
    chosen = parser.parse_args()
    if chosen.noise:
        noise = noises_of(chosen.folder)
        np.save(chosen.out, noise)
        print(f"{len(noise) / shards.RATE / 60:.1f} min of noise")
        return
    rows = rows_of(chosen.folder)
    with Pool(os.cpu_count()) as pool:
        clips = pool.map(partial(_decoded, chosen.folder), rows, chunksize=32)
    for part in (TRAIN, CALIBRATE, TEST):
        own = [c for c, row in zip(clips, rows, strict=True) if c and part_of(row) == part]
        shards.write(chosen.out.with_name(f"{chosen.out.name}-{part}"), own)
        speakers = len({clip.speaker for clip in own})
        seconds = sum(len(clip.samples) for clip in own) / shards.RATE
        print(f"{part}: {len(own)} clips, {speakers} speakers, {seconds / 3600:.1f} h")


if __name__ == "__main__":
    main()
