"""Folders of recordings for measuring: a manifest and sound files.

``manifest.tsv`` has the columns path, text, speaker, source, seconds. A text that the card's
graph parses is a call with that meaning; any other text, or none, is speech that must be
refused. Noise files lie in a folder of their own, without a manifest of texts.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from voicewalk.audio.frames import RATE
from voicewalk.audio.resample import resample
from voicewalk.errors import SourceError

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Recording:
    """One line of a manifest; ``path`` is where the sound lies."""

    path: Path
    text: str
    speaker: str
    source: str


def read_manifest(folder: Path) -> list[Recording]:
    """The recordings of a folder, in the order of its manifest.

    Raises:
        SourceError: no manifest, a column is missing, or a file that it names is not there.
    """
    manifest = folder / "manifest.tsv"
    if not manifest.is_file():
        raise SourceError(str(folder), "no manifest.tsv", "Name a folder of recordings.")
    recordings: list[Recording] = []
    with manifest.open(encoding="utf-8", newline="") as lines:
        rows = csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE)
        for number, row in enumerate(rows, 2):
            where = f"{manifest}:{number}"
            try:
                path = folder / row["path"]
                recording = Recording(path, row["text"], row["speaker"], row["source"])
            except KeyError as error:
                raise SourceError(where, f"no column {error}", "Add it to the manifest.") from error
            if not path.is_file():
                raise SourceError(where, f"{path} is not there", "Remove the line, or add it.")
            recordings.append(recording)
    return recordings


def read_sound(path: Path) -> Floats:
    """A recording as mono float32 at 16 kHz."""
    samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
    mono = samples.mean(axis=1, dtype=np.float32)
    return mono if rate == RATE else resample(mono, rate)


def read_noises(folder: Path) -> dict[str, Floats]:
    """The noise recordings of a folder by name, in alphabetical order."""
    return {path.stem: read_sound(path) for path in sorted(folder.glob("*.flac"))}
