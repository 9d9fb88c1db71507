"""One walkaround, one file: appending to it, and reading what was appended.

Nothing is ever changed or removed. What the entries mean is the walk's; whether a file can be
trusted is told by ``record.verify``.
"""

from __future__ import annotations

import contextlib
import hashlib
import sqlite3
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Self

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record import database
from voicewalk.record.canonical import canonical
from voicewalk.record.chain import Entry, Follower, Meta, link, root, time_fault
from voicewalk.record.clip import Clip
from voicewalk.record.keys import recorder_key
from voicewalk.record.lock import WriterLock
from voicewalk.record.merkle import Peaks, grown, head_of, size_of, tree_head
from voicewalk.record.rows import ENTRIES, read_entry, read_meta
from voicewalk.record.seal import head_message, public_hex
from voicewalk.walk.messages import Json

ENDING = ".walk"
"""Of a record's file name, where nobody has given it another."""

_VERIFY = "Keep the file as it is and run 'voicewalk verify' on it."


class RecordReader:
    """A record open for reading. It never changes the file, nor waits for its writer."""

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        """Of an open connection; see ``open``."""
        self.path = path
        self._db = db

    @classmethod
    def open(cls, path: Path) -> Self:
        """Open an existing record.

        Raises:
            RecordError: nothing there, no record, another format, damaged, not readable.
        """
        return cls(path, database.open_reading(path))

    def meta(self) -> Meta:
        """What the record says about itself.

        Raises:
            RecordError: it cannot be read.
        """
        try:
            return read_meta(self._db)
        except sqlite3.Error as error:
            raise database.trouble(self.path, error) from error
        except ValueError as error:
            raise RecordError(f"{self.path}: {error}", _VERIFY) from error

    def entries(self) -> list[Entry]:
        """All entries kept so far, in order.

        Raises:
            RecordError: one of them cannot be read.
        """
        try:
            rows = self._db.execute(ENTRIES).fetchall()
        except sqlite3.Error as error:
            raise database.trouble(self.path, error) from error
        return [self._entry(row) for row in rows]

    def first(self) -> Entry | None:
        """The first entry, which tells of what the record is; ``None`` before any.

        Raises:
            RecordError: it cannot be read.
        """
        try:
            row = self._db.execute(f"{ENTRIES} LIMIT 1").fetchone()
        except sqlite3.Error as error:
            raise database.trouble(self.path, error) from error
        return None if row is None else self._entry(row)

    def _entry(self, row: tuple[object, ...]) -> Entry:
        try:
            return read_entry(row)
        except ValueError as error:
            raise RecordError(f"{self.path}: entry {row[0]}: {error}", _VERIFY) from error

    def clip(self, sha256: str) -> bytes:
        """The FLAC bytes of a stored clip, checked against their name.

        Raises:
            RecordError: it is not there, or not what its name says.
        """
        try:
            row = self._db.execute("SELECT flac FROM clips WHERE sha256 = ?", (sha256,)).fetchone()
        except sqlite3.Error as error:
            raise database.trouble(self.path, error) from error
        flac = None if row is None else row[0]
        if not isinstance(flac, bytes) or hashlib.sha256(flac).hexdigest() != sha256:
            wrong = "is missing" if row is None else "has been changed"
            raise RecordError(f"{self.path}: the sound {sha256} {wrong}", _VERIFY)
        return flac

    def texts(self) -> dict[str, bytes]:
        """The files that the walk rests on, by SHA-256 (hex) of what each holds.

        Raises:
            RecordError: they cannot be read.
        """
        try:
            rows = self._db.execute("SELECT text FROM texts").fetchall()
        except sqlite3.Error as error:
            raise database.trouble(self.path, error) from error
        kept = (text for (text,) in rows if isinstance(text, bytes))
        return {hashlib.sha256(text).hexdigest(): text for text in kept}

    def head(self) -> str:
        """The Merkle tree head (hex) over the hashes of all entries kept so far."""
        return tree_head(bytes.fromhex(entry.hash) for entry in self.entries()).hex()

    def close(self) -> None:
        """Let go of the file."""
        self._db.close()

    def __enter__(self) -> Self:
        """For ``with``: closed at its end."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close, whatever happened."""
        self.close()


class RecordFile(RecordReader):
    """A record open for appending, by one process and one thread at a time.

    Attributes:
        own: this recorder made it. Another one may only add what is about the record.
    """

    def __init__(self, path: Path, db: sqlite3.Connection, lock: WriterLock) -> None:
        """Of a record that is locked and open for writing; see ``create`` and ``open``.

        Raises:
            RecordError: it is damaged or was changed, so that nothing may be appended.
        """
        super().__init__(path, db)
        self._lock = lock
        self._meta = self.meta()
        self._root = root(self._meta)
        self._key = recorder_key()
        self.own = public_hex(self._key) == self._meta.key
        self._peaks: Peaks = ()
        self._found = self._whole_up_to()  # the last entry of earlier runs, 0 for none

    def _whole_up_to(self) -> int:
        follower = Follower(self._root, self._meta.key)
        seq = 0
        for entry in self.entries():
            seq = entry.seq
            for fault in follower.faults(entry):
                raise RecordError(
                    f"{self.path}: entry {seq}: {fault}",
                    "Keep this file as evidence and begin a new walkaround.",
                )
        self._peaks = follower.peaks
        return seq

    @classmethod
    def create(
        cls, path: Path, *, program: str, recorder: str, at: Instant, texts: Iterable[bytes] = ()
    ) -> Self:
        """Begin a new record.

        Args:
            path: where; nothing may be there yet.
            program: name and version of the program.
            recorder: identity of this recorder.
            at: now.
            texts: the files that the walk rests on: its card and its vocabularies.

        Raises:
            RecordError: something is there already, or it cannot be written there.
            KeyFault: this recorder's key cannot be used.
        """
        meta = Meta(recorder, program, at.wall, public_hex(recorder_key()))
        return cls._locked(
            path, lambda: database.create(path, meta, texts), partial(database.discard, path)
        )

    @classmethod
    def open(cls, path: Path) -> Self:
        """Go on with an existing record, also after a crash.

        Raises:
            RecordError: nothing there, no record, another format, somebody else is writing it,
                not writable; damaged or changed, so that nothing may be appended.
            KeyFault: this recorder's key cannot be used.
        """
        database.must_be_file(path)
        return cls._locked(path, lambda: database.open_writing(path), database.close_writing)

    @classmethod
    def _locked(
        cls,
        path: Path,
        connect: Callable[[], sqlite3.Connection],
        undone: Callable[[sqlite3.Connection], None],
    ) -> Self:
        with contextlib.ExitStack() as undo:
            lock = WriterLock(path)
            undo.callback(lock.release)
            db = connect()
            undo.callback(undone, db)
            file = cls(path, db, lock)
            undo.pop_all()
        return file

    def append(self, body: Json, at: Instant, clip: Clip | None = None) -> int:
        """Keep an entry and the sound of its input, both or neither.

        The number is returned only when the entry would outlive a power cut. After an error
        nothing of it is in the record, and the same call can be made again.

        Args:
            body: JSON-ready; ``body["input"]["heard"]["clip"]`` names the clip, if any.
            at: now.
            clip: its sound; may be left out where an earlier entry brought the same clip.

        Raises:
            RecordError: the disk is full, gone, not writable; a text is not Unicode; or the
                record is another recorder's.
            RuntimeError: the program did what would never verify: a clip that the body does
                not name or a name without a clip, a time that runs back.
        """
        try:
            before = self._last()
            seq, run = (before.seq + 1, before.run) if before else (1, 1)
            if before and before.seq == self._found:
                run += 1
            entry = Entry(seq, run, at, body, clip.start if clip else None)
            self._must_fit(entry, before, clip)
            self._must_be_ours(entry)
            self._keep(entry, before.hash if before else self._root, clip)
        except sqlite3.Error as error:
            raise database.trouble(self.path, error) from error
        return seq

    def carry_over(self, entry: Entry, clip: Clip | None) -> None:
        """Keep an entry of a damaged record under its own number, run and times.

        A sound that it names may be missing: the recovery tells so.

        Raises:
            RecordError: as ``append``.
            RuntimeError: it is not the next one.
        """
        try:
            before = self._last()
            fault = time_fault(entry, before)
            if fault or entry.seq != (before.seq if before else 0) + 1:
                raise RuntimeError(f"it is not the next entry: {fault}")
            self._keep(entry, before.hash if before else self._root, clip)
        except sqlite3.Error as error:
            raise database.trouble(self.path, error) from error

    def _last(self) -> Entry | None:
        row = self._db.execute(ENTRIES + " DESC LIMIT 1").fetchone()
        return None if row is None else self._entry(row)

    def _must_fit(self, entry: Entry, before: Entry | None, clip: Clip | None) -> None:
        fault = time_fault(entry, before)
        if fault:
            raise RuntimeError(f"an entry must not be kept: {fault}")
        named = bodies.clip_of(entry.body)
        if clip is None:
            stored = "SELECT 1 FROM clips WHERE sha256 = ?"
            fits = not named or self._db.execute(stored, (named,)).fetchone() is not None
        else:
            fits = named == clip.sha256
        if not fits:
            raise RuntimeError(f"the entry names the clip '{named}', which did not come with it")

    def _must_be_ours(self, entry: Entry) -> None:
        if not self.own and bodies.kind(entry.body) not in bodies.BY_OTHERS:
            raise RecordError(
                f"{self.path}: another recorder made this record",
                "Do this on the recorder that made it; anybody may sign it or have it stamped.",
            )

    def _keep(self, entry: Entry, previous: str, clip: Clip | None) -> None:
        try:
            text = canonical(entry.body).decode()
            digest = bytes.fromhex(link(previous, entry))
        except ValueError as error:
            raise RecordError(
                f"{self.path}: what was said or typed cannot be kept ({error})",
                "Say or type it again, in letters that are Unicode.",
            ) from error
        peaks = grown(self._peaks_before(entry.seq), digest)
        signed = head_message(self._root, entry.seq, head_of(peaks).hex())
        with database.transaction(self._db):
            if bodies.kind(entry.body) == bodies.REDACTED:
                taken = bodies.text(entry.body, "clip")
                self._db.execute("DELETE FROM clips WHERE sha256 = ?", (taken,))
            if clip is not None:
                self._db.execute(
                    "INSERT OR IGNORE INTO clips (sha256, samples, flac) VALUES (?, ?, ?)",
                    (clip.sha256, clip.samples, clip.flac),
                )
            self._db.execute(
                "INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    *(entry.seq, entry.run, entry.at.wall, entry.at.monotonic_ms),
                    *(text, entry.start, digest),
                    *(None if self.own else public_hex(self._key), self._key.sign(signed)),
                ),
            )
        self._peaks = peaks

    def _peaks_before(self, seq: int) -> Peaks:
        """The tree of all entries before this one; read anew where a commit's end was not told."""
        if size_of(self._peaks) != seq - 1:
            self._peaks = ()
            for entry in self.entries():
                self._peaks = grown(self._peaks, bytes.fromhex(entry.hash))
        return self._peaks

    def close(self) -> None:
        """Leave one file with nothing beside it, and let others write it."""
        database.close_writing(self._db)
        self._lock.release()
