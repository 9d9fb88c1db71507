"""Measures where speech is found to begin and end, for docs/decisions/0004.

    VOICEWALK_SPEECH_DATA=... .venv/bin/python script/measure_endpoint.py

Each recording gets 0.3 s of silence before and 0.6 s after, then noise over all of it. Lost
energy is that part of the clean recording's energy that lies in no segment.
"""

from __future__ import annotations

import csv
import os
from collections import defaultdict
from pathlib import Path

import numpy as np
import soundfile

from voicewalk.audio.frames import RATE, Samples
from voicewalk.audio.level import power
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.settings import AudioSettings

SETTINGS = AudioSettings(silence_before=0.3, silence_after=0.6)
NOISES_OF_SPEECH = ("crowd_talk",)  # people are heard in it: its segments are not false
BEFORE = round(SETTINGS.silence_before * RATE)


def _read(path: Path) -> Samples:
    samples, rate = soundfile.read(path, dtype="float32")
    if rate != RATE:
        raise SystemExit(f"{path}: {rate} Hz")
    return samples


def _segments(calls: list[ScriptedCall]) -> list[list[Segment]]:
    """The segments of each call."""
    source = ScriptedSource(calls, SETTINGS)
    found: list[list[Segment]] = [[]]
    while source.next_call():
        pass
    for heard in segment(source, SETTINGS):
        if isinstance(heard, Segment):
            found[-1].append(heard)
        else:
            found.append([])
    return found[:-1]


def _lost(call: ScriptedCall, at: int, segments: list[Segment]) -> float:
    """Share of the recording's energy outside every segment; ``at`` is where it begins."""
    outside = np.ones(len(call.samples), bool)
    for each in segments:
        outside[max(0, each.start_sample - at) : max(0, each.end_sample - at)] = False
    return float(np.square(call.samples[outside]).sum() / np.square(call.samples).sum())


def _recordings(folder: Path, names: list[str], noises: dict[str, Samples]) -> None:
    with (folder / "manifest.tsv").open() as lines:
        rows = list(csv.DictReader(lines, delimiter="\t"))
    pad = BEFORE + round(SETTINGS.silence_after * RATE)
    print("source      noise  clips  one  none  more  lost>1%  worst  snr error (dB)  cut")
    for snr in (None, 10.0, 5.0, 0.0):
        table: dict[str, list[tuple[int, float, float, bool]]] = defaultdict(list)
        calls = [
            ScriptedCall(_read(folder / row["path"]))
            if snr is None
            else ScriptedCall(_read(folder / row["path"]), noises[names[i % len(names)]], snr)
            for i, row in enumerate(rows)
        ]
        at = 0
        for row, call, segments in zip(rows, calls, _segments(calls), strict=True):
            lost = _lost(call, at + BEFORE, segments)
            at += pad + len(call.samples)
            error = segments[0].snr_db - (snr or 0.0) if segments else float("nan")
            kind = row["path"].split("/")[0]
            table[kind].append((len(segments), lost, error, any(each.cut for each in segments)))
        for kind, results in table.items():
            count = np.array([result[0] for result in results])
            lost_in_one = np.array([result[1] for result in results if result[0] == 1])
            error = np.nanmedian([result[2] for result in results])
            print(
                f"{kind:11} {'clean' if snr is None else f'{snr:g} dB':>5} {len(count):6}"
                f" {np.sum(count == 1):4} {np.sum(count == 0):5} {np.sum(count > 1):5}"
                f" {np.sum(lost_in_one > 0.01):8} {lost_in_one.max():6.3f}"
                f" {'' if snr is None else f'{error:+.1f}':>15} {sum(r[3] for r in results):4}"
            )


def _noise(noises: dict[str, Samples]) -> None:
    print("\nnoise alone, a minute of each: segments at -40, -20, -10 dBFS")
    for name, noise in noises.items():
        minute = np.resize(noise, 60 * RATE)
        counts = []
        for level in (-40, -20, -10):
            gain = np.sqrt(10 ** (level / 10) / power(minute))
            loud = np.clip(minute * gain, -1, 1).astype(np.float32)
            counts.append(len(_segments([ScriptedCall(loud)])[0]))
        note = "  (people talk in it)" if name in NOISES_OF_SPEECH else ""
        print(f"{name:16} {counts}{note}")


def main() -> None:
    """Print both tables."""
    folder = Path(os.environ["VOICEWALK_SPEECH_DATA"])
    noises = {path.stem: _read(path) for path in sorted((folder / "noise").glob("*.flac"))}
    names = [name for name in noises if name not in NOISES_OF_SPEECH]
    _recordings(folder, names, noises)
    _noise(noises)


if __name__ == "__main__":
    main()
