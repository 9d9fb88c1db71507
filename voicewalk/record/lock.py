"""One writer for each record: a lock that the system drops with the process that holds it.

A file beside the record carries the lock, not the record itself: closing any handle of the
record would drop SQLite's own locks on it (sqlite.org, "How to corrupt an SQLite database
file", section 2.2). After a crash the empty lock file stays, but no lock. ``fcntl`` is there on
Linux and macOS; Windows would need a lock of its own here.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
from pathlib import Path
from typing import TextIO

from voicewalk import private
from voicewalk.errors import RecordError
from voicewalk.record.database import trouble

_NO_LOCKS = (errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP)
"""What some network disks answer."""


class WriterLock:
    """Held from creation to ``release``."""

    def __init__(self, record: Path) -> None:
        """Take the lock of a record.

        Raises:
            RecordError: somebody else is writing it, or its folder cannot be written to.
        """
        self._path = Path(f"{record.resolve()}-lock")
        try:
            self._file = self._take()
        except BlockingIOError:
            raise RecordError(
                f"{record}: another walk is writing this record just now",
                "End the other walk first, or read the record with 'voicewalk show'.",
            ) from None
        except OSError as error:
            if error.errno in _NO_LOCKS:
                raise RecordError(
                    f"{record}: this disk has no locks ({error.strerror})",
                    "Keep the record on a disk of this machine; copy it elsewhere afterwards.",
                ) from error
            raise trouble(record, error) from error

    def _take(self) -> TextIO:
        while True:
            file = open(self._path, "a", opener=private.opener)  # noqa: SIM115 - held until it goes
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                if self._still_there(file):
                    return file
            except BaseException:
                file.close()
                raise
            file.close()  # its last holder removed it in between: that lock binds nobody

    def _still_there(self, file: TextIO) -> bool:
        try:
            return os.path.samestat(os.fstat(file.fileno()), self._path.stat())
        except FileNotFoundError:
            return False

    def release(self) -> None:
        """Give it up and leave nothing behind. A second call does nothing."""
        if not self._file.closed:
            with contextlib.suppress(OSError):  # the lock ends with the open file, not its name
                self._path.unlink()
            self._file.close()
