"""Folders of recordings for the benchmark: calls and near calls by voices of one part, and people
of one part, as FLAC with a manifest.

    python -m training.clips made OUT --card CARD --part test --calls 600 --near 600 --seed 5
    python -m training.clips people OUT --shard people-test [--source AN4] [--but AN4] [--most 500]
"""

from __future__ import annotations

import argparse
import csv
import os
from itertools import islice
from multiprocessing import Pool
from pathlib import Path
from random import Random

import soundfile

from training import shards
from training.voices import CALIBRATE, TEST, Job, speak, voices_of
from voicewalk.card.load import card_path, load_card
from voicewalk.language.draw import draw_call
from voicewalk.language.near import near_calls
from voicewalk.language.vocabulary import vocabulary_of

COLUMNS = ("path", "text", "speaker", "source", "near", "seconds")

KOKORO_SHARE = 0.5
"""Half of the clips: it sounds most like people, and takes a hundred times as long."""


def texts_of(card_name: str, calls: int, near: int, seed: int) -> list[tuple[str, str, str]]:
    """Text, source and kind of near call ("" for a call) of what is to be spoken."""
    card, random = load_card(card_path(card_name)), Random(seed)
    vocabulary = vocabulary_of(card)
    rows = []
    for _ in range(calls):
        kind, text = draw_call(card, vocabulary, random)
        rows.append((text, f"made {kind}", ""))
    for one in islice(near_calls(card, vocabulary, random), near):
        rows.append((one.text, "made near call", str(one.kind)))
    return rows


def made(out: Path, card_name: str, part: str, calls: int, near: int, seed: int) -> None:
    """Speak calls and near calls with the voices of a part, each in turn."""
    rows, random = texts_of(card_name, calls, near, seed), Random(f"voices {seed}")
    engines = {engine: voices_of(part, engine) for engine in ("classic", "kokoro")}
    jobs = []
    for n, (text, _, _) in enumerate(rows):
        engine = "kokoro" if random.random() < KOKORO_SHARE else "classic"
        jobs.append(Job(text, engines[engine][n % len(engines[engine])], seed * 1_000_003 + n))
    with Pool(os.cpu_count()) as pool:
        clips = pool.map(speak, jobs, chunksize=4)
    # The text as drawn: what is spelt out for a voice ("p s i") is no wording of the card.
    _write(out, [(clip, *row) for clip, row in zip(clips, rows, strict=True) if clip])


def people(out: Path, stem: Path, only: list[str], but: list[str], most: int, seed: int) -> None:
    """People's clips of a shard, drawn evenly."""
    shard = shards.read(stem)
    ids = [
        n
        for n, (source, _, _) in enumerate(shard.rows)
        if (not only or source in only) and source not in but
    ]
    Random(seed).shuffle(ids)
    drawn = [shard.clip(n) for n in sorted(ids[:most])]
    _write(out, [(clip, clip.text, clip.source, "") for clip in drawn])


def _write(out: Path, rows: list[tuple[shards.Clip, str, str, str]]) -> None:
    out.mkdir(parents=True, exist_ok=True)
    with (out / "manifest.tsv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, delimiter="\t", lineterminator="\n")
        table.writerow(COLUMNS)
        for n, (clip, text, source, near) in enumerate(rows):
            path = f"{n:05}.flac"
            soundfile.write(out / path, clip.samples, shards.RATE, subtype="PCM_16")
            seconds = f"{len(clip.samples) / shards.RATE:.2f}"
            table.writerow((path, text, clip.speaker, source, near, seconds))
    print(f"{out.name}: {len(rows)} clips", flush=True)


def main() -> None:
    """Make one folder."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("made", "people"))
    parser.add_argument("out", type=Path)
    parser.add_argument("--card", default="jet-trainer")
    parser.add_argument("--part", choices=(CALIBRATE, TEST), default=TEST)
    parser.add_argument("--calls", type=int, default=0)
    parser.add_argument("--near", type=int, default=0)
    parser.add_argument("--shard", type=Path)
    parser.add_argument("--source", nargs="*", default=[])
    parser.add_argument("--but", nargs="*", default=[])
    parser.add_argument("--most", type=int, default=10**9)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    if chosen.what == "made":
        made(chosen.out, chosen.card, chosen.part, chosen.calls, chosen.near, chosen.seed)
    else:
        people(chosen.out, chosen.shard, chosen.source, chosen.but, chosen.most, chosen.seed)


if __name__ == "__main__":
    main()
