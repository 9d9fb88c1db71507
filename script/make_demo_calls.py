"""Speaks the calls of the demo into fixtures/demo, and makes the noise of a running engine.

calls.tsv there is the script: each line a file, who speaks, the words, what is expected of it,
how far the engine's noise lies below it (dB), and what was done to the sound. So it is in
fixtures/interrupted, where most calls are the demo's, files are named as seen from there, and a
line without a file is something that happens. Run by script/make-demo-calls; the same programs
make the same files.
"""

from __future__ import annotations

import csv
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

Samples = npt.NDArray[np.float32]

FOLDER = Path(__file__).resolve().parents[1] / "fixtures" / "demo"
RATE = 16_000
FURTHER = FOLDER.with_name("interrupted")
VOICES = {"inspector": "rms", "successor": "kal16", "bystander": "awb"}
PEAKS = {"inspector": 0.3, "successor": 0.3, "bystander": 0.12}
"""Of full scale; a bystander is further away."""
EDGE = 0.01
"""Quieter than this share of the peak is silence, cut off at both ends but for 10 and 50 ms."""

ENGINE_SECONDS = 8
ROAR_CORNER = 220.0
"""Hz above which the roar falls off. Shape and tones are made up: broad and low, with a whine."""
WHINE = ((1_180.0, 0.10), (2_360.0, 0.16), (3_540.0, 0.05), (4_720.0, 0.06))
"""Hz and share of the roar's power for each tone of the compressor."""

MUMBLE_HZ = 378.0
"""Above it next to nothing is left of a mumbled call: the voice's pitch and the lowest of the
vowels. With the vowels' first formants (690) it is understood at once."""


def speak(words: str, voice: str) -> Samples:
    """The words in a flite voice at ``RATE``."""
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        said = " ".join({"psi": "p s i"}.get(word, word) for word in words.split())
        subprocess.run(["flite", "-voice", voice, "-t", said, "-o", file.name], check=True)
        samples, rate = soundfile.read(file.name, dtype="float32")
    return np.asarray(soxr.resample(samples, rate, RATE), np.float32)


def trimmed(samples: Samples, peak: float) -> Samples:
    """The call without the silence around it, at a given peak."""
    loud = np.flatnonzero(np.abs(samples) > EDGE * np.abs(samples).max())
    call = samples[max(0, loud[0] - RATE // 100) : loud[-1] + RATE // 20]
    return np.asarray(call * (peak / np.abs(call).max()), np.float32)


def mumbled(samples: Samples) -> Samples:
    """The call as through a glove over the microphone."""
    hertz = np.fft.rfftfreq(len(samples), 1 / RATE)
    dull = np.fft.irfft(np.fft.rfft(samples) / (1 + (hertz / MUMBLE_HZ) ** 8), len(samples))
    return np.asarray(dull * (np.abs(samples).max() / np.abs(dull).max()), np.float32)


def engine() -> Samples:
    """A turbine at idle, that can be repeated without a seam: every part of it has a period
    that fits into its length."""
    random = np.random.default_rng(7)
    count = ENGINE_SECONDS * RATE
    hertz = np.fft.rfftfreq(count, 1 / RATE)
    roar = np.fft.irfft(
        np.exp(2j * np.pi * random.random(len(hertz))) / (1 + (hertz / ROAR_CORNER) ** 1.5), count
    )
    roar /= np.sqrt(np.mean(roar**2))
    time = np.arange(count) / RATE
    for tone, (frequency, share) in enumerate(WHINE):
        swell = 1 + 0.2 * np.cos(2 * np.pi * (tone + 1) * time / ENGINE_SECONDS)
        roar += np.sqrt(2 * share) * swell * np.sin(2 * np.pi * frequency * time)
    return np.asarray(0.25 * roar / np.abs(roar).max(), np.float32)


def main() -> None:
    """Make every file that the scripts name, and no other."""
    for folder in (FOLDER, FURTHER):
        make(folder)
    soundfile.write(FOLDER / "engine.flac", engine(), RATE, "PCM_16", compression_level=1.0)


def make(folder: Path) -> None:
    """The calls of a script that lie in its own folder."""
    with (folder / "calls.tsv").open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines, delimiter="\t") if row["file"]]
    for old in folder.glob("*.flac"):
        old.unlink()
    for row in rows:
        path, speaker = (FOLDER / row["file"]).resolve(), row["speaker"]
        if path.parent != folder or path.exists():
            continue
        call = trimmed(speak(row["words"], VOICES[speaker]), PEAKS[speaker])
        if row["made"] == "mumbled":
            call = mumbled(call)
        soundfile.write(path, call, RATE, "PCM_16", compression_level=1.0)


if __name__ == "__main__":
    main()
