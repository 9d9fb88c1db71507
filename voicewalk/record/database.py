"""The SQLite side of a record: schema, identity, connections, and SQLite's errors in words.

What lies in the rows is ``record.file``'s and ``record.chain``'s. Two ways lead in:
``open_writing`` for the one writer (who holds the lock of ``record.lock``), ``open_reading`` for
everybody else, also while the writer is at work and from a medium that cannot be written.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import astuple
from pathlib import Path

from voicewalk import private
from voicewalk.errors import RecordError
from voicewalk.record.chain import Meta

APPLICATION_ID = 0x566F5761
"""In the file's header: "VoWa"."""
FORMAT = 2
"""In the file's header (user_version): the version of docs/record-format.md."""

SCHEMA = {
    "meta": (
        "CREATE TABLE meta (recorder TEXT NOT NULL, program TEXT NOT NULL,"
        " created TEXT NOT NULL, key TEXT NOT NULL) STRICT"
    ),
    "entries": (
        "CREATE TABLE entries (seq INTEGER PRIMARY KEY, run INTEGER NOT NULL,"
        " wall TEXT NOT NULL, monotonic_ms INTEGER NOT NULL, body TEXT NOT NULL,"
        " start INTEGER, hash BLOB NOT NULL, key TEXT, signature BLOB NOT NULL) STRICT"
    ),
    "clips": (
        "CREATE TABLE clips (sha256 TEXT PRIMARY KEY NOT NULL, samples INTEGER NOT NULL,"
        " flac BLOB NOT NULL) STRICT"
    ),
    "texts": "CREATE TABLE texts (sha256 TEXT PRIMARY KEY NOT NULL, text BLOB NOT NULL) STRICT",
}
"""Every table and nothing else: a view or a trigger in the file is a fault."""

_NO_RECORD = "Give the path of a record that 'voicewalk walk' has made."
_DAMAGED = "Keep the file as it is, work on a copy, and run 'voicewalk verify' on it."
_ASK_FOR_RIGHTS = "Choose a folder on a disk that you may write to."
_TROUBLE = {
    sqlite3.SQLITE_FULL: (
        "the disk is full",
        "Free some space on the disk; the record is whole and goes on from here.",
    ),
    sqlite3.SQLITE_IOERR: (
        "the disk does not take or give the data",
        "Check free space, quota and the medium itself; the record goes on from here.",
    ),
    sqlite3.SQLITE_READONLY: ("it cannot be written to", _ASK_FOR_RIGHTS),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened", "Check the rights of file and folder."),
    sqlite3.SQLITE_PERM: ("it cannot be opened", "Check the rights of file and folder."),
    sqlite3.SQLITE_AUTH: ("it cannot be opened", "Check the rights of file and folder."),
    sqlite3.SQLITE_BUSY: (
        "another program holds the file",
        "Close the other program that has it open, then try again.",
    ),
    sqlite3.SQLITE_NOTADB: ("it is no record of voicewalk", _NO_RECORD),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", _DAMAGED),
}
"""By SQLite's primary result code: what is wrong and what to do."""

_MOST_WAIT_SECONDS = {"ro": 5.0, "rw": 0.5}
"""For a lock. A walk is deaf while it waits, and tries again by itself; a reader may meet a walk
that is just ending."""

_UNREACHABLE = (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)
"""What SQLite answers where it would have to write beside the file in order to read it."""


def trouble(path: Path, error: sqlite3.Error | OSError) -> RecordError:
    """SQLite's or the system's error in words."""
    if isinstance(error, OSError):
        reason = error.strerror or type(error).__name__
        return RecordError(f"{path}: {reason}", "Check the path, and the rights of its folder.")
    wrong, what_to_do = _TROUBLE.get(_code(error), ("it cannot be used", _DAMAGED))
    return RecordError(f"{path}: {wrong} ({error})", what_to_do)


def _code(error: sqlite3.Error) -> int:
    """SQLite's primary result code; 0 for an error of the Python module itself."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def must_be_file(path: Path) -> None:
    """Refuse what cannot be a record before SQLite touches it.

    Raises:
        RecordError: nothing there, a folder, a device.
    """
    try:
        if path.is_file():
            return
        there = path.exists()
    except OSError as error:
        raise trouble(path, error) from error
    raise RecordError(
        f"{path}: {'it is no file' if there else 'there is no such file'}", _NO_RECORD
    )


def create(path: Path, meta: Meta, texts: Iterable[bytes]) -> sqlite3.Connection:
    """Make a file that does not exist yet, with its tables, and open it for the one writer.

    Tables, ``meta`` and the texts (card and vocabularies) come in one transaction: a crash
    leaves a file that is a record, or an empty one that is refused.

    Raises:
        RecordError: the file exists, or cannot be made there.
    """
    try:
        private.make_file(path)  # SQLite gives its own files beside it the same rights
    except FileExistsError:
        raise RecordError(
            f"{path}: there is such a file already",
            "Give another name, or go on with that record if it is the same walkaround.",
        ) from None
    except OSError as error:
        raise trouble(path, error) from error
    try:
        with contextlib.ExitStack() as undo:
            undo.callback(_remove, path)
            db = undo.enter_context(contextlib.closing(_connect(path, "rw")))
            with transaction(db):
                db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                db.execute(f"PRAGMA user_version = {FORMAT}")
                for statement in SCHEMA.values():
                    db.execute(statement)
                db.execute("INSERT INTO meta VALUES (?, ?, ?, ?)", astuple(meta))
                db.executemany(
                    "INSERT OR IGNORE INTO texts VALUES (?, ?)",
                    ((hashlib.sha256(text).hexdigest(), text) for text in texts),
                )
            _make_durable(path, db)
            undo.pop_all()
    except sqlite3.Error as error:
        raise trouble(path, error) from error
    return db


def discard(path: Path, db: sqlite3.Connection) -> None:
    """Take away a file that ``create`` made and that could not become a record."""
    db.close()
    _remove(path)


def _remove(path: Path) -> None:
    for beside in ("-journal", "-wal", "-shm", ""):
        with contextlib.suppress(OSError):  # the fault that was to be told is another one
            Path(f"{path}{beside}").unlink()


def open_writing(path: Path) -> sqlite3.Connection:
    """A connection for the one writer; what a crash has left behind is recovered.

    Raises:
        RecordError: no record, of another format, damaged, or not writable; or it has more than
            one name, so that the lock by one of them would not bind who comes by another.
    """
    must_be_file(path)
    try:
        if path.stat().st_nlink > 1:
            raise RecordError(
                f"{path}: the file has more than one name (hard links)",
                "Copy it, and go on with the copy.",
            )
        db = _connect(path, "rw")
        try:
            check_identity(path, db)
            _make_durable(path, db)
        except BaseException:
            db.close()
            raise
    except (sqlite3.Error, OSError) as error:
        raise trouble(path, error) from error
    return db


def _make_durable(path: Path, db: sqlite3.Connection) -> None:
    """Set the connection so that a commit that has returned outlives a power cut.

    Raises:
        RecordError: the disk cannot be written to in the way that this needs.
        sqlite3.Error: as SQLite puts it.
    """
    with transaction(db):  # SQLite opens a file without rights to write and says nothing
        pass
    mode = db.execute("PRAGMA journal_mode = WAL").fetchone()[0]
    if mode != b"wal":
        raise RecordError(f"{path}: this disk cannot hold a record safely", _ASK_FOR_RIGHTS)
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA secure_delete = ON")  # a sound taken out is not to be found in free pages
    db.execute("PRAGMA fullfsync = ON")  # macOS: past the drive's own cache
    # Each commit goes on into the file itself: whoever copies that one file after a power cut,
    # without the "-wal" beside it, still copies everything.
    db.execute("PRAGMA wal_autocheckpoint = 1")


def close_writing(db: sqlite3.Connection) -> None:
    """Close so that the record is one file again, with nothing beside it.

    Where somebody reads it just now, SQLite leaves its two files beside it for them.
    """
    with contextlib.suppress(sqlite3.Error):  # nothing is lost: each commit was durable
        db.execute("PRAGMA busy_timeout = 0")
        db.execute("PRAGMA journal_mode = DELETE")
    db.close()


def open_reading(path: Path) -> sqlite3.Connection:
    """A connection that cannot write.

    SQLite must write beside a file that a crash has left, even in order to read it. Where that
    is not allowed, a copy in memory is recovered and read instead.

    Raises:
        RecordError: no record, of another format, damaged, or not readable.
    """
    must_be_file(path)
    try:
        try:
            return _checked(path, _connect(path, "ro"))
        except sqlite3.OperationalError as error:
            if _code(error) not in _UNREACHABLE:
                raise
            return _checked(path, _recovered_copy(path))
    except (sqlite3.Error, OSError) as error:
        raise trouble(path, error) from error


def _checked(path: Path, db: sqlite3.Connection) -> sqlite3.Connection:
    try:
        check_identity(path, db)
    except BaseException:
        db.close()
        raise
    return db


def copied(path: Path, folder: Path) -> Path:
    """A copy of a file in ``folder``, with all that a crash left beside it.

    Raises:
        OSError: it cannot be read, or there is no space.
    """
    copy = folder / "record"
    for beside in ("", "-wal", "-journal"):
        with contextlib.suppress(FileNotFoundError):
            shutil.copyfile(f"{path.resolve()}{beside}", f"{copy}{beside}")
    return copy


def _recovered_copy(path: Path) -> sqlite3.Connection:
    """The file with all that a crash left beside it, put together in memory."""
    memory = sqlite3.connect(":memory:", isolation_level=None)
    with (
        tempfile.TemporaryDirectory() as folder,
        contextlib.closing(_connect(copied(path, Path(folder)), "rw")) as db,
    ):
        db.backup(memory)
    _guard(memory)
    return memory


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    db = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode={mode}",
        timeout=_MOST_WAIT_SECONDS[mode],
        uri=True,
        isolation_level=None,
    )
    _guard(db)
    return db


def _guard(db: sqlite3.Connection) -> None:
    """What SQLite advises for files that may have been altered on purpose."""
    db.text_factory = bytes  # a damaged text is told by us in words, not by the module
    db.execute("PRAGMA trusted_schema = OFF")
    db.execute("PRAGMA cell_size_check = ON")


def check_identity(path: Path, db: sqlite3.Connection) -> None:
    """Refuse a file of another program, of another format, or with other tables.

    Raises:
        RecordError: saying which.
        sqlite3.Error: as SQLite puts it.
    """
    if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise RecordError(f"{path}: it is no record of voicewalk", _NO_RECORD)
    version = db.execute("PRAGMA user_version").fetchone()[0]
    if version != FORMAT:
        raise RecordError(
            f"{path}: it is a record of format {version}; this program reads format {FORMAT}",
            "Use the version of voicewalk that made it, or a newer one.",
        )
    try:
        found = db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    except UnicodeDecodeError:  # SQLite tells of a damaged name, and the module cannot read it
        found = []
    if dict(found) != {name.encode(): sql.encode() for name, sql in SCHEMA.items()}:
        raise RecordError(f"{path}: its tables are not those of a record", _DAMAGED)


@contextlib.contextmanager
def transaction(db: sqlite3.Connection) -> Iterator[None]:
    """All or nothing, and durable on return."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):  # SQLite may have rolled back by itself
            db.execute("ROLLBACK")
        raise
