"""Folders of recordings for measuring: a manifest and sound files.

``manifest.tsv`` has the columns path, text, speaker, source, and may have a column near; others are
not read. A text that the card's graph parses is a call with that meaning; any other text, or none,
is speech that must be refused. Where ``near`` is not empty, the text is near a call in that way,
whatever the graph makes of it. Noise files lie in a folder of their own, without a manifest of
texts.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from voicewalk.audio.frames import RATE
from voicewalk.audio.resample import resample
from voicewalk.errors import AudioError, SourceError
from voicewalk.language.talk import Near

Floats = NDArray[np.float32]

_COLUMNS = ("path", "text", "speaker", "source")


@dataclass(frozen=True, slots=True)
class Recording:
    """One line of a manifest; ``path`` is where the sound lies, ``near`` in which way its text is
    near a call, ``None`` for a call or for speech that is near none."""

    path: Path
    text: str
    speaker: str
    source: str
    near: Near | None = None


def read_manifest(folder: Path) -> list[Recording]:
    """The recordings of a folder, in the order of its manifest.

    Raises:
        SourceError: no manifest, or none that can be read; a column is missing in it, it names
            nothing, or a file that is not there.
    """
    manifest = folder / "manifest.tsv"
    if not manifest.is_file():
        raise SourceError(str(folder), "no manifest.tsv", "Name a folder of recordings.")
    try:
        text = manifest.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SourceError(
            str(manifest), f"cannot be read: {error}", "Write it as UTF-8."
        ) from error
    rows = csv.DictReader(StringIO(text), delimiter="\t", quoting=csv.QUOTE_NONE)
    recordings = [_recording(folder, row, f"{manifest}:{rows.line_num}") for row in rows]
    if not recordings:
        raise SourceError(f"{manifest}:1", "names no recording", "Write a line for each.")
    return recordings


def _recording(folder: Path, row: dict[str, str | None], where: str) -> Recording:
    given = {name: value for name in _COLUMNS if (value := row.get(name)) is not None}
    if missing := [name for name in _COLUMNS if name not in given]:
        raise SourceError(
            where,
            f"no column {', '.join(missing)}",
            f"Give every line {', '.join(_COLUMNS)}, parted by tabs.",
        )
    path = folder / given["path"]
    if not path.is_file():
        raise SourceError(where, f"{path} is not there", "Remove the line, or add the file.")
    near = _near(row.get("near") or "", where)
    return Recording(path, given["text"], given["speaker"], given["source"], near)


def _near(kind: str, where: str) -> Near | None:
    if not kind:
        return None
    try:
        return Near(kind)
    except ValueError as error:
        raise SourceError(
            where,
            f"speech is near a call in no way '{kind}'",
            f"Write one of {', '.join(Near)}, or nothing.",
        ) from error


def read_sound(path: Path) -> Floats:
    """A recording as mono float32 at 16 kHz.

    Raises:
        AudioError: the file is no sound that can be read.
    """
    try:
        samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise AudioError(
            f"{path}: this is no sound that can be read ({error.error_string})",
            "Put a sound file in its place, or remove its line from the manifest.",
        ) from error
    mono = samples.mean(axis=1, dtype=np.float32)
    return mono if rate == RATE else resample(mono, rate)


def read_noises(folder: Path) -> dict[str, Floats]:
    """The noise recordings of a folder by name, in alphabetical order.

    Raises:
        SourceError: there are none.
        AudioError: one cannot be read.
    """
    found = {path.stem: read_sound(path) for path in sorted(folder.glob("*.flac"))}
    if not found:
        raise SourceError(str(folder), "no noise (*.flac)", "Name a folder of noise recordings.")
    return found
