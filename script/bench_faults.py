"""What the record survives, and what that costs: "script/bench faults".

Kills walks at random moments, tries every fault of tests/faults, feeds damaged files to all that
reads records, and times an append beside bare SQLite. Ends with 1 where anything was wrong.
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "faults"))

from fault_kill import kills  # noqa: E402
from fault_walk import Clock  # noqa: E402

from voicewalk.record.clip import Clip, encode_clip  # noqa: E402
from voicewalk.record.file import RecordFile  # noqa: E402

BODY = {"kind": "item", "item": "left-tyre", "name": "left tyre", "result": "satisfactory"}
TABLES = (
    "CREATE TABLE entries (seq INTEGER PRIMARY KEY, run INTEGER, wall TEXT, monotonic_ms INTEGER,"
    " body TEXT, start INTEGER, hash BLOB, key TEXT, signature BLOB) STRICT",
    "CREATE TABLE clips (sha256 TEXT PRIMARY KEY NOT NULL, samples INTEGER, flac BLOB) STRICT",
)
PRAGMAS = ("journal_mode = WAL", "synchronous = FULL", "fullfsync = ON", "wal_autocheckpoint = 1")


def kill_walks(folder: Path, count: int) -> bool:
    """Kill so many walks; whether all was well."""
    told, wrong = Counter(), 0
    for number, (entries, found) in enumerate(kills(folder, count, seed=6), 1):
        told[entries] += 1
        wrong += bool(found)
        for one in found:
            print(f"kill {number}: {one}")
    spread = ", ".join(f"{entries}: {times}" for entries, times in sorted(told.items()))
    print(f"{count} kills, {wrong} with anything wrong; kills by entries told before: {spread}")
    return not wrong


def every_fault() -> bool:
    """The tests of faults at every operation, and with more subsets of what was not synced."""
    more = {"VOICEWALK_FAULTS_STRIDE": "1", "VOICEWALK_FAULTS_DRAWN": "6"}
    command = [sys.executable, "-m", "pytest", ROOT / "tests" / "faults"]
    return subprocess.run(command, env={**os.environ, **more}, check=False).returncode == 0


def fuzz(minutes: float) -> bool:
    """Damaged files for so long, with every reader of records; in memory where there is a disk
    for that, since nothing is to last."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        command = [sys.executable, ROOT / "script" / "fuzz_record.py", f"{round(minutes * 60)}"]
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    print("\n".join(done.stderr.splitlines()[-6:]))
    return done.returncode == 0


def time_appends(folder: Path, count: int) -> bool:
    """Appends of an entry with two seconds of noise, beside the same bytes in bare SQLite, in
    turns on the same disk; whether median and 99th percentile are at most 1.5 times as long."""
    chance = np.random.default_rng(1)
    sounds = [chance.uniform(-0.3, 0.3, 32_000).astype(np.float32) for _ in range(count)]
    clips = [encode_clip(sound, number) for number, sound in enumerate(sounds)]
    ours, bare = [], []
    clock = Clock()
    db = _bare(folder / "bare.db")
    record = RecordFile.create(folder / "ours.walk", program="bench", recorder="b", at=clock())
    with record:
        for number, clip in enumerate(clips, 1):
            clock.pass_seconds(1)
            body = {**BODY, "input": {"heard": {"how": "sound", "clip": clip.sha256}}}
            at = clock()
            ours.append(_seconds(lambda: record.append(body, at, clip)))  # noqa: B023 - at once
            bare.append(_seconds(lambda: _insert(db, number, at.wall, str(body), clip)))  # noqa: B023
    db.close()
    good = True
    for name, part in (("median", 50), ("99th percentile", 99)):
        one, other = np.percentile(ours, part) * 1000, np.percentile(bare, part) * 1000
        print(f"append, {name}: {one:.2f} ms; bare SQLite {other:.2f} ms; {one / other:.2f} times")
        good = good and one / other <= 1.5
    tenth = count // 10
    first, last = np.median(ours[:tenth]) * 1000, np.median(ours[-tenth:]) * 1000
    print(f"the first tenth {first:.2f} ms, the last {last:.2f} ms")
    return bool(good)


def _bare(path: Path) -> sqlite3.Connection:
    db = sqlite3.connect(path, isolation_level=None)
    for statement in (*(f"PRAGMA {one}" for one in PRAGMAS), *TABLES):
        db.execute(statement)
    return db


def _insert(db: sqlite3.Connection, seq: int, wall: str, body: str, clip: Clip) -> None:
    db.execute("BEGIN IMMEDIATE")
    db.execute("INSERT INTO clips VALUES (?, ?, ?)", (clip.sha256, clip.samples, clip.flac))
    row = (seq, 1, wall, seq, body, clip.start, bytes(32), None, bytes(64))
    db.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
    db.execute("COMMIT")


def _seconds(do: object) -> float:
    began = time.perf_counter()
    do()  # type: ignore[operator]
    return time.perf_counter() - began


def main() -> int:
    """All parts, or those named."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", help="kills, operations, append, fuzz")
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--appends", type=int, default=1000)
    parser.add_argument("--minutes", type=float, default=10, help="of fuzzing")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=ROOT / "build") as name:
        folder = Path(name)
        os.environ["VOICEWALK_KEYS"] = str(folder / "keys")
        parts = {
            "append": lambda: time_appends(folder, given.appends),
            "kills": lambda: kill_walks(folder, given.kills),
            "operations": every_fault,
            "fuzz": lambda: fuzz(given.minutes),
        }
        return int(not all([parts[part]() for part in given.parts or parts]))


if __name__ == "__main__":
    sys.exit(main())
