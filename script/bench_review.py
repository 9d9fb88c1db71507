"""How long the lead's pages take on a folder of many records.

    .venv/bin/python script/bench_review.py [--records 1000] [--demo RECORD]

The folder holds copies of one walk by sound under other identities, each kept entry by entry by
the real writer of records: whole ones, some left half way, some with a critical finding; one in
twenty with its sounds. Pages are asked for over HTTP from the command itself. Beside them stands
what any program needs that reads the same: bare SQLite and JSON of one walk, and one look at each
file of the folder; and the processor's time, which a busy machine does not change. Ends with 1
where a page takes 300 ms or more in the median.
"""

from __future__ import annotations

import argparse
import http.client
import json
import math
import os
import random
import re
import resource
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from voicewalk.clock import Instant
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry
from voicewalk.record.clip import Clip, decode_clip
from voicewalk.record.file import RecordFile, RecordReader

MOST_MS = 300
ROUNDS = 40
AIRCRAFT = 40
WITH_SOUND = 20
"""One in so many records has its sounds: with all of them the folder would take 6 GB."""
LEFT = 7
"""One in so many walks was left half way."""
CRITICAL = 13
"""One in so many has a critical discrepancy."""
BUILD = Path(__file__).parents[1] / "build" / "review"
VOICEWALK = [sys.executable, "-m", "voicewalk.cli.main"]


def main() -> int:
    """Make the folder, serve it, ask for pages, print the figures."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--records", type=int, default=1000)
    words.add_argument("--demo", type=Path, help="a record of 'voicewalk demo'; else one is made")
    asked = words.parse_args()
    demo = asked.demo or _demo()
    ram = Path("/dev/shm")  # the records are many, and no power cut is expected
    with tempfile.TemporaryDirectory(dir=ram if ram.is_dir() else None) as place:
        folder = Path(place) / "records"
        folder.mkdir()
        seconds = _timed(lambda: make_folder(folder, demo, asked.records))
        size = sum(path.stat().st_size for path in folder.iterdir())
        print(f"{asked.records} records, {size / 1e6:.0f} MB, written in {seconds:.0f} s")
        with serving(folder) as (ask, process):
            seconds = _timed(lambda: _until_read(ask))
            print(f"all of them read and checked {seconds:.0f} s after the start")
            return report(folder, ask, process)


def _demo() -> Path:
    record = BUILD / "demo.walk"
    if not record.exists():
        subprocess.run([*VOICEWALK, "demo", "--out", BUILD], check=True, stdout=subprocess.DEVNULL)
    return record


def make_folder(folder: Path, demo: Path, count: int) -> None:
    """Records of ``count`` walks of ``AIRCRAFT`` aircraft, one after the other."""
    with RecordReader.open(demo) as record:
        entries, texts = record.entries(), list(record.texts().values())
        sounds = {name: record.clip(name) for one in entries if (name := bodies.clip_of(one.body))}
    clips = {name: Clip(flac, len(decode_clip(flac))) for name, flac in sounds.items()}
    begun = datetime(2031, 4, 2, 5, tzinfo=UTC)
    for number in range(count):
        start = begun + timedelta(minutes=20 * number)
        kept = entries[: len(entries) // 2] if number % LEFT == 0 else entries
        with_sound = number % WITH_SOUND == 0
        at = _moments(start, kept)
        with RecordFile.create(
            folder / f"walk-{number:04}.walk",
            program="voicewalk",
            recorder="bench",
            at=next(at),
            texts=texts,
        ) as copy:
            for entry, moment in zip(kept, at, strict=True):
                body = _changed(entry, number, with_sound=with_sound)
                copy.append(body, moment, clips.get(bodies.clip_of(body)))


def _moments(start: datetime, entries: list[Entry]) -> Iterator[Instant]:
    first = entries[0].at.monotonic_ms
    for ms in (0, *(entry.at.monotonic_ms - first for entry in entries)):
        wall = (start + timedelta(milliseconds=ms)).isoformat(timespec="milliseconds")
        yield Instant(wall.replace("+00:00", "Z"), first + ms)


def _changed(entry: Entry, number: int, *, with_sound: bool) -> dict[str, object]:
    """The entry's body for another aircraft, without its sound where that is left out."""
    body = replace(entry).body
    identity = f"K{number % AIRCRAFT:02}"
    if bodies.kind(body) == bodies.STARTED:
        given = {**bodies.part(body, "input"), "identity": identity}
        return {**body, "identity": identity, "input": given}
    if number % CRITICAL == 0 and bodies.text(body, "item") == "left-fuel-cap":
        found = {"result": "discrepancy", "state": "not secure"}
        body = {**body, **found, "discrepancy": {"defect": "not secure"}}
    heard = bodies.part(body, "input", "heard")
    if with_sound or not heard:
        return body
    return {**body, "input": {**bodies.part(body, "input"), "heard": {**heard, "clip": ""}}}


Ask = Callable[[str], bytes]


@contextmanager
def serving(folder: Path) -> Iterator[tuple[Ask, subprocess.Popen[str]]]:
    """Runs the command; gives what asks for a page, as a lead who has come in."""
    process = subprocess.Popen(
        [*VOICEWALK, "review", folder, "--port", "0", "--lead", "Bench"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stdout is not None
        shown = process.stdout.readline() + process.stdout.readline()
        host, link = re.search(r"http://(127\.0\.0\.1:\d+)(/door\?link=\S+)", shown).groups()  # type: ignore[union-attr]
        with closing(http.client.HTTPConnection(host, timeout=60)) as browser:
            browser.request("GET", link)
            answer = browser.getresponse()
            answer.read()
            headers = {"Cookie": str(answer.getheader("set-cookie")).partition(";")[0]}

            def ask(path: str) -> bytes:
                browser.request("GET", path, headers=headers)
                page = browser.getresponse()
                data = page.read()
                if page.status not in (200, 206):
                    raise RuntimeError(f"{path}: {page.status}")
                return data

            yield ask, process
    finally:
        process.terminate()
        process.wait()


def _until_read(ask: Ask) -> None:
    while b"still being read" in ask("/"):
        time.sleep(0.5)


def report(folder: Path, ask: Ask, process: subprocess.Popen[str]) -> int:
    """Print the figures; 1 where a page is too slow."""
    chance = random.Random(1)
    names = [path.stem for path in sorted(folder.iterdir())]
    some = chance.sample(names, min(ROUNDS, len(names)))
    sounded = [names[n] for n in range(0, len(names), WITH_SOUND)]
    ask(f"/walk/{names[0]}")
    pages = {
        "first page": ["/"] * ROUNDS,
        "one walk": [f"/walk/{name}" for name in some],
        "one walk with sounds": [f"/walk/{name}" for name in sounded],
        "one entry": [f"/walk/{name}/entry/20" for name in sounded],
        "as it is spoken": [f"/walk/{name}/live" for name in some],
    }
    bare = [_ms(lambda name=name: _bare(folder / f"{name}.walk")) for name in some]
    looks = [_ms(lambda: [path.stat() for path in folder.iterdir()]) for _ in range(ROUNDS)]
    print("\n| page | median ms | 95 of 100 ms | processor ms | of bare reading |")
    print("|---|---|---|---|---|")
    peer = {"first page": statistics.median(looks)}
    slow = 0
    for page, paths in pages.items():
        before = _processor_ms(process.pid)
        times = [_ms(lambda path=path: ask(path)) for path in paths]
        own = (_processor_ms(process.pid) - before) / len(paths)
        median = statistics.median(times)
        ratio = median / peer.get(page, statistics.median(bare))
        worst = statistics.quantiles(times, n=20)[-1]
        print(f"| {page} | {median:.0f} | {worst:.0f} | {own:.0f} | {ratio:.1f} |")
        slow += median >= MOST_MS
    print(f"\nbare SQLite and JSON of one walk: {statistics.median(bare):.1f} ms")
    print(f"one look at each file of the folder: {statistics.median(looks):.1f} ms")
    print(f"memory of the server: {_memory_mb(process.pid)} MB; cores: {os.cpu_count()}")
    print(f"load while measuring: {os.getloadavg()[0]:.1f}")
    return int(slow > 0)


def _bare(path: Path) -> int:
    """The least that any reader of the same walk does."""
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as db:
        return len([json.loads(text) for (text,) in db.execute("SELECT body FROM entries")])


def _memory_mb(pid: int) -> int:
    try:
        status = Path(f"/proc/{pid}/status").read_text()
    except OSError:  # no Linux
        return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
    return int(re.search(r"VmRSS:\s+(\d+)", status)[1]) // 1024  # type: ignore[index]


def _processor_ms(pid: int) -> float:
    """What the process has used of a processor so far; nan where there is no /proc."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(") ")[2].split()
    except OSError:
        return math.nan
    return 1000 * (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _ms(do: Callable[[], object]) -> float:
    return 1000 * _timed(do)


def _timed(do: Callable[[], object]) -> float:
    begun = time.perf_counter()
    do()
    return time.perf_counter() - begun


if __name__ == "__main__":
    sys.exit(main())
