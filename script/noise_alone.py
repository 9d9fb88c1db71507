#!/usr/bin/env python3
"""Makes folders of noise alone, as speech that must be refused, for ``script/bench``.

Run by the project's own Python: .venv/bin/python script/noise_alone.py NOISES PATTERN MINUTES OUT
With 0 minutes each file once as it is. With more, the files are repeated at slightly different
speeds until so many minutes are full, at the level of speech.
"""

import csv
import sys
from pathlib import Path

import numpy as np
import soundfile
import soxr

RATE = 16_000
SPEEDS = (1.0, 0.95, 1.05, 0.9, 1.1)
SPEECH = 0.07
"""Root mean square of common speech at a peak of 0.3, as the synthetic calls have it."""


def main(noises: str, pattern: str, minutes: str, folder: str) -> None:
    """Write the sound and its manifest."""
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    files = sorted(Path(noises).glob(f"{pattern}.flac"))
    wanted, full = float(minutes) * 60, 0.0
    with (out / "manifest.tsv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, delimiter="\t", lineterminator="\n")
        rows.writerow(("path", "text", "speaker", "source", "seconds"))
        for turn in range(10_000):
            if turn and full >= wanted:
                break
            for path in files:
                samples, rate = soundfile.read(path, dtype="float32")
                samples = soxr.resample(samples, rate * SPEEDS[turn % len(SPEEDS)], RATE)
                if wanted:
                    samples *= SPEECH / np.sqrt(np.mean(samples**2))
                name = f"{path.stem}-{turn:02}.flac"
                soundfile.write(out / name, np.clip(samples, -1, 1), RATE, subtype="PCM_16")
                seconds = len(samples) / RATE
                full += seconds
                rows.writerow((name, "", path.stem, "noise alone", f"{seconds:.2f}"))


if __name__ == "__main__":
    if len(sys.argv) != 5:
        sys.exit(__doc__)
    main(*sys.argv[1:])
