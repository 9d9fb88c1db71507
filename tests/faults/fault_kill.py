"""kill -9 at random moments of the short walk; and the walks that go on with its record."""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Iterator
from pathlib import Path

from fault_walk import bodies, faults_of, walk

from voicewalk.record.verify import verify
from voicewalk.session.events import Event, Kept


def killed(record: Path, seconds: float, *, on: bool) -> set[int]:
    """Walk in a forked process, kill it after so long; the entries it told as recorded.

    It tells each by a byte into a pipe, which one write does whole or not at all.
    """
    reading, writing = os.pipe()
    process = os.fork()
    if process == 0:
        os.close(reading)
        try:
            walk(record, on=on, observe=lambda event: _tell(writing, event))
        finally:
            os._exit(0)
    os.close(writing)
    time.sleep(seconds)  # the moment itself is what is tried
    os.kill(process, signal.SIGKILL)
    os.waitpid(process, 0)
    with os.fdopen(reading, "rb") as told:
        return set(told.read())


def _tell(writing: int, event: Event) -> None:
    if isinstance(event, Kept):
        os.write(writing, bytes([event.seq]))


def kills(folder: Path, count: int, seed: int) -> Iterator[tuple[int, list[str]]]:
    """So many kills: for each how many entries were told, and what was found to be wrong.

    One walk is killed up to three times, going on with its record, and then ends. The moments
    are spread over twice the time that a walk takes here.
    """
    chance = random.Random(seed)
    trial = folder / "trial.walk"
    began = time.monotonic()
    walk(trial)
    whole = time.monotonic() - began
    for number in range(count):
        record = folder / f"{number // 3}.walk"
        on = record.exists() and bool(verify(record).entries)
        if record.exists() and not on:
            record.unlink()
        before = verify(record).entries if on else 0
        told = killed(record, chance.uniform(0, 2 * whole), on=on)
        yield len(told), list(_wrong(record, before, told, last=number % 3 == 2))


def _wrong(record: Path, before: int, told: set[int], *, last: bool) -> Iterator[str]:
    report = verify(record)
    if not report.ok and (told or before):
        yield from report.findings
    if lost := told - set(range(1, report.entries + 1)):
        yield f"told as recorded and lost: {lost}"
    if report.entries < before:
        yield "entries of earlier runs are lost"
    if report.entries > max(told, default=before) + 1:
        yield "kept and never told"
    if last and report.entries:
        kept = bodies(record)
        on = walk(record, on=True)
        if not on.refused:
            yield from faults_of(record, on)
        elif "its walk is closed" not in on.refused:
            yield on.refused
        if bodies(record)[: len(kept)] != kept:
            yield "it has been changed"
