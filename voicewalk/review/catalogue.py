"""The records of a folder, each at a glance, kept in memory and read again when a file changes.

Nothing is written beside the records. Reading is done by an executor (a process of its own, so
that pages stay quick); the newest files are read first.
"""

from __future__ import annotations

import os
from concurrent.futures import Executor, Future
from functools import partial
from pathlib import Path
from threading import Lock

from voicewalk.errors import RecordError
from voicewalk.record.file import ENDING
from voicewalk.record.verify import Report
from voicewalk.review.glance import Glance, Stamp, look, stamp_of, unreadable


class Catalogue:
    """What lies in one folder. Its methods may be called from several threads."""

    def __init__(self, folder: Path, executor: Executor) -> None:
        """Of the folder's records; nothing is read before ``scan``.

        Raises:
            RecordError: there is no such folder.
        """
        if not folder.is_dir():
            raise RecordError(f"{folder}: there is no such folder", "Give a folder of records.")
        self.folder = folder
        self._executor = executor
        self._lock = Lock()
        self._known: dict[str, Glance] = {}
        self._asked: dict[str, Stamp] = {}
        self._changes = 0

    @property
    def changes(self) -> int:
        """Counts up whenever something that was read has changed."""
        return self._changes

    @property
    def waiting(self) -> int:
        """How many records are still to be read, for the first time or again."""
        with self._lock:
            return len(self._asked)

    def known(self, name: str) -> Glance | None:
        """What was read last of the record of this name."""
        with self._lock:
            return self._known.get(name)

    def glances(self) -> list[Glance]:
        """All records read so far."""
        with self._lock:
            return list(self._known.values())

    def path(self, name: str) -> Path | None:
        """The file of a record that lies in the folder; ``None`` for any other name.

        A name is compared with what the folder holds and never joined to a path.
        """
        return self._files().get(name)

    def scan(self) -> None:
        """Look which files are new, changed or gone, and have them read."""
        files = self._files()
        stamps = {name: stamp_of(path) for name, path in files.items()}
        with self._lock:
            for name in self._known.keys() - files.keys():
                del self._known[name]
                self._changes += 1
            due = [name for name, stamp in stamps.items() if self._due(name, stamp)]
            self._asked |= {name: stamps[name] for name in due}
        for name in sorted(due, key=lambda name: stamps[name][1:2], reverse=True):
            reading = self._executor.submit(look, files[name])
            reading.add_done_callback(partial(self._take, files[name]))

    def put(self, glance: Glance) -> None:
        """Take a glance that was read elsewhere."""
        with self._lock:
            self._asked.pop(glance.name, None)
            if self._known.get(glance.name) != glance:
                self._known[glance.name] = glance
                self._changes += 1

    def _due(self, name: str, stamp: Stamp) -> bool:
        known = self._known.get(name)
        return name not in self._asked and (known is None or known.stamp != stamp)

    def _take(self, path: Path, reading: Future[Glance]) -> None:
        if reading.cancelled():
            return
        if error := reading.exception():  # the reader itself broke down: no fault of the record's
            self.put(unreadable(path, Report(False, (f"reading it failed: {error!r}",), 0, 0, "")))
            return
        self.put(reading.result())

    def _files(self) -> dict[str, Path]:
        """Records by name: plain files only, so that no link leads out of the folder."""
        with os.scandir(self.folder) as found:
            return {
                entry.name.removesuffix(ENDING): Path(entry.path)
                for entry in found
                if entry.name.endswith(ENDING) and entry.is_file(follow_symlinks=False)
            }
