"""Hears the records of a folder again, several at once in processes of their own.

What one process does is ``session.relisten``'s.
"""

from __future__ import annotations

import queue
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from multiprocessing import get_context
from multiprocessing.queues import Queue
from multiprocessing.synchronize import Event
from pathlib import Path

from voicewalk.errors import RecordError
from voicewalk.record.file import ENDING
from voicewalk.record.relistened import Relistened
from voicewalk.session.relisten import Done, relisten

Told = Callable[[Path, Relistened], None]

_LOOK_SECONDS = 0.2
"""How often the processes' lines are looked for."""


def records_of(path: Path) -> list[Path]:
    """The records in a folder and in those below it; a record is itself.

    Raises:
        RecordError: there is nothing there, or no record in the folder.
    """
    if not path.is_dir():
        return [path]
    found = sorted(one for one in path.rglob(f"*{ENDING}") if one.is_file())
    if not found:
        raise RecordError(f"{path}: there is no record in it", f"A record is a file *{ENDING}.")
    return found


def relisten_all(records: Sequence[Path], jobs: int, told: Told) -> list[Done]:
    """Hear all of them again; ``told`` is told each line. After Ctrl-C, those that were not
    finished say so, and what was heard is kept."""
    if jobs == 1 or len(records) == 1:
        return list(_here(records, told))
    context = get_context("spawn")  # a process that has listened holds threads that no fork has
    lines, stop = context.Queue(), context.Event()
    with ProcessPoolExecutor(
        min(jobs, len(records)), mp_context=context, initializer=_begin, initargs=(lines, stop)
    ) as workers:
        futures = [workers.submit(_work, record) for record in records]
        try:
            while wait(futures, _LOOK_SECONDS).not_done:
                _tell(lines, told)
        except KeyboardInterrupt:
            stop.set()
            for future in futures:
                future.cancel()
            wait(futures)
        _tell(lines, told)
    return [_done(*pair) for pair in zip(records, futures, strict=True)]


def _here(records: Sequence[Path], told: Told) -> Iterator[Done]:
    """One after the other in this process."""
    for n, record in enumerate(records):
        try:
            yield relisten(record, partial(told, record))
        except KeyboardInterrupt:
            yield relisten(record, stopped=lambda: True)  # what is known of it
            yield from (Done(one, stopped=True) for one in records[n + 1 :])
            return


def _done(record: Path, future: Future[Done]) -> Done:
    if future.cancelled():
        return Done(record, stopped=True)
    try:
        return future.result()
    except BrokenProcessPool:
        return Done(record, trouble="the process that heard it has ended: is memory short?")


def _tell(lines: Queue[tuple[Path, Relistened]], told: Told) -> None:
    while True:
        try:
            told(*lines.get_nowait())
        except queue.Empty:
            return


_shared: tuple[Queue[tuple[Path, Relistened]], Event]
"""Of a process that hears: where its lines go, and whether it is to stop."""


def _begin(lines: Queue[tuple[Path, Relistened]], stop: Event) -> None:
    global _shared
    _shared = lines, stop
    # Ctrl-C goes to all processes of a terminal; these end between two sounds.
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _work(record: Path) -> Done:
    lines, stop = _shared
    return relisten(record, lambda line: lines.put((record, line)), stop.is_set)
