#!/usr/bin/env python3
"""Measures whose a segment of stereo sound is taken to be, on recorded speech of people.

Run by the project's own Python: .venv/bin/python script/measure_channels.py SPEECH [COUNT]
SPEECH is the folder that VOICEWALK_SPEECH_DATA names. Two speakers talk in turn, one on each
channel, each leaking into the other's microphone, with recorded noise on both. Printed for each
noise and leak: of COUNT calls, how many were taken as their own channel's, how many were lost, and
how many segments of the other's voice were taken, which must be none.
"""

import csv
import sys
from pathlib import Path
from random import Random

import numpy as np
import soundfile

from voicewalk.audio.frames import RATE, Block
from voicewalk.audio.level import power
from voicewalk.audio.stereo import StereoSegmenter
from voicewalk.settings import AudioSettings

LEAKS = (-6, -10, -20, -30)
NOISES = (None, "motor_idle", "helicopter_05", "wind")
SNRS = (20, 10)
PAUSE = 1.5  # seconds behind each call


def speakers(folder: Path) -> list[list[Path]]:
    """Recordings by speaker, of those that have some."""
    found: dict[str, list[Path]] = {}
    with (folder / "manifest.tsv").open(encoding="utf-8") as table:
        for row in csv.DictReader(table, delimiter="\t"):
            found.setdefault(row["speaker"], []).append(folder / row["path"])
    return [paths for paths in found.values() if len(paths) >= 4]


def sound(path: Path) -> np.ndarray:
    """A recording at the level of a headset."""
    samples, rate = soundfile.read(path, dtype="float32")
    if rate != RATE:
        raise SystemExit(f"{path}: {rate} Hz, and {RATE} are wanted")
    return samples * (0.3 / max(np.abs(samples).max(), 1e-6))


def talk(people: list[list[Path]], calls: int, random: Random) -> tuple[np.ndarray, list]:
    """Two columns in which two people speak in turn, and where each call lies."""
    parts, spans, at = [np.zeros((RATE, 2))], [], RATE
    for turn in range(calls):
        voice = sound(random.choice(people[turn % 2]))
        part = np.zeros((len(voice) + round(PAUSE * RATE), 2))
        part[: len(voice), turn % 2] = voice
        spans.append((turn % 2, at, at + len(voice)))
        parts.append(part)
        at += len(part)
    return np.concatenate(parts), spans


def measured(heard: np.ndarray, spans: list) -> tuple[int, int, int]:
    """Calls taken, calls lost, and segments taken that are the other's voice."""
    segmenter, own = StereoSegmenter(AudioSettings()), []
    for start in range(0, len(heard), 4096):
        own += [o for o in segmenter.push(Block(heard[start : start + 4096], start)) if o.own]
    own += [o for o in segmenter.finish() if o.own]
    wrong, taken = 0, set()
    for one in own:
        start, end = one.segment.speech_start, one.segment.speech_end
        over = [(min(end, e) - max(start, s), n) for n, (_, s, e) in enumerate(spans)]
        overlap, which = max(over)
        if overlap > 0 and spans[which][0] == one.channel:
            taken.add(which)
        else:
            wrong += overlap > 0
    return len(taken), len(spans) - len(taken), wrong


def main(folder: str, count: str = "40") -> None:
    """Print a table for all noises and leaks."""
    every, random = speakers(Path(folder)), Random(1)
    own, spans = talk(random.sample(every, 2), int(count), random)
    print("noise\tsnr\tleak\tcalls\ttaken\tlost\tother's voice taken")
    for noise in NOISES:
        for snr in SNRS if noise else (60,):
            for leak in LEAKS:
                heard = own + 10 ** (leak / 20) * own[:, ::-1]
                if noise:
                    recorded, _ = soundfile.read(Path(folder) / "noise" / f"{noise}.flac")
                    wanted = power(own[np.abs(own).max(axis=1) > 0].max(axis=1)) / 10 ** (snr / 10)
                    for column in (0, 1):
                        rolled = np.roll(np.resize(recorded, len(own)), column * RATE * 3)
                        heard[:, column] += rolled * np.sqrt(wanted / power(rolled))
                taken, lost, wrong = measured(heard.astype(np.float32), spans)
                print(
                    f"{noise or 'none'}\t{snr}\t{leak}\t{count}\t{taken}\t{lost}\t{wrong}",
                    flush=True,
                )


if __name__ == "__main__":
    main(*sys.argv[1:])
