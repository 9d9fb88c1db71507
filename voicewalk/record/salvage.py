"""Reading what can still be read of a damaged record file, row by row. The file is only copied.

Whether what was read is whole is judged by ``record.recovery``. SQLite reads each table from both
ends up to the first page that it cannot use, then each row in between by its number.
"""

from __future__ import annotations

import contextlib
import hashlib
import sqlite3
import tempfile
from pathlib import Path
from types import TracebackType
from typing import Self

from voicewalk.record import database
from voicewalk.record.chain import Meta
from voicewalk.record.rows import read_meta

_PAGE = 4096
"""Bytes: SQLite's own default, which every record has."""
_MOST_BETWEEN = 100_000
"""So many rows are looked for one by one between two damaged pages."""

_DAMAGE = (sqlite3.Error, UnicodeDecodeError)
"""The second where SQLite tells of a damaged name, and Python's module cannot read it."""

Row = tuple[object, ...]


class Salvage:
    """An open copy of a damaged record. Use it as a context.

    Attributes:
        trouble: what SQLite said, in its words, without repetition.
    """

    def __init__(self, path: Path) -> None:
        """Of the file at ``path``, with what a crash has left beside it.

        Raises:
            RecordError: it cannot be copied.
        """
        self.trouble: list[str] = []
        self._undo = contextlib.ExitStack()
        database.must_be_file(path)
        try:
            folder = Path(self._undo.enter_context(tempfile.TemporaryDirectory()))
            self._copy = database.copied(path, folder)
            self._db = self._opened()
        except BaseException as error:
            self._undo.close()
            if isinstance(error, OSError | sqlite3.Error):
                raise database.trouble(path, error) from error
            raise

    def __enter__(self) -> Self:
        """For ``with``: the copy is removed at its end."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close and remove the copy."""
        self._undo.close()

    def meta(self) -> Meta | None:
        """What the record says about itself, where that can be read."""
        try:
            return read_meta(self._db)
        except (sqlite3.Error, ValueError) as error:
            self._note(error)
            return None

    def entries(self) -> dict[int, Row]:
        """Every row of ``entries`` that can be read, by its number, as ``rows.ENTRIES`` has it."""
        columns = "seq, run, wall, monotonic_ms, body, start, hash, key, signature"
        found = self._rows("entries", columns)
        return {seq: row for seq, row in sorted(found.items()) if seq > 0}

    def texts(self) -> dict[str, bytes]:
        """Texts that can be read, by their SHA-256 (hex)."""
        found = [row[0] for row in self._rows("texts", "text").values()]
        return {hashlib.sha256(one).hexdigest(): one for one in found if isinstance(one, bytes)}

    def clips(self) -> dict[str, int]:
        """Row numbers of the clips by the name that stands there."""
        names = self._rows("clips", "sha256")
        return {
            row[0].decode(errors="replace"): number
            for number, row in names.items()
            if isinstance(row[0], bytes)
        }

    def clip(self, number: int) -> tuple[int, bytes] | None:
        """Samples and FLAC bytes of a clip; ``None`` where they cannot be read."""
        try:
            row = self._db.execute(
                "SELECT samples, flac FROM clips NOT INDEXED WHERE rowid = ?", (number,)
            ).fetchone()
        except _DAMAGE as error:
            self._note(error)
            return None
        fits = row and isinstance(row[0], int) and isinstance(row[1], bytes)
        return (row[0], row[1]) if fits else None

    # --- SQLite ------------------------------------------------------------------------------

    def _opened(self) -> sqlite3.Connection:
        """The copy, open; with the first page of a new record where its own is of no use."""
        try:
            return self._undo.enter_context(contextlib.closing(self._connected()))
        except _DAMAGE as error:
            self._note(error)
        self._graft()
        return self._undo.enter_context(contextlib.closing(self._connected()))

    def _connected(self) -> sqlite3.Connection:
        db = sqlite3.connect(self._copy, isolation_level=None)
        db.text_factory = bytes
        try:
            for table in database.SCHEMA:  # each page that the schema leads to first
                db.execute(f"SELECT 1 FROM {table} LIMIT 1").fetchone()
        except BaseException:
            db.close()
            raise
        return db

    def _graft(self) -> None:
        """Put the first page of a new record in front: header and schema.

        The tables of every record are made in the same order in one go, so their first pages have
        the same numbers. The header's page count is that of the file (sqlite.org/fileformat2.html,
        section 1.3.7), its list of free pages empty.
        """
        for beside in ("-wal", "-journal"):
            Path(f"{self._copy}{beside}").unlink(missing_ok=True)
        new = self._copy.with_name("new")
        database.create(new, Meta("", "", "", ""), ()).close()
        with contextlib.closing(sqlite3.connect(new)) as db:
            db.execute("PRAGMA journal_mode = DELETE")
        page = bytearray(new.read_bytes()[:_PAGE])
        rest = self._copy.read_bytes()[_PAGE:]
        rest += bytes(-len(rest) % _PAGE)
        page[28:32] = (1 + len(rest) // _PAGE).to_bytes(4, "big")
        page[32:40] = bytes(8)
        self._copy.write_bytes(bytes(page) + rest)

    def _rows(self, table: str, columns: str) -> dict[int, Row]:
        """Rows by number: from the first on, from the last back, and one by one in between."""
        query = f"SELECT rowid, {columns} FROM {table} NOT INDEXED"
        found: dict[int, Row] = {}
        if self._gather(found, f"{query} ORDER BY rowid"):
            return found
        low = max(found, default=0)
        self._gather(found, f"{query} ORDER BY rowid DESC")
        # Where the last rows cannot be reached, as many are looked for as the file could hold.
        high = min((one for one in found if one > low), default=self._copy.stat().st_size // 64)
        for number in range(low + 1, min(high, low + _MOST_BETWEEN)):
            self._gather(found, f"{query} WHERE rowid = {number}")
        return found

    def _gather(self, found: dict[int, Row], query: str) -> bool:
        """Read rows until an error; whether there was none."""
        try:
            for number, *row in self._db.execute(query):
                found[number] = tuple(row)
        except _DAMAGE as error:
            self._note(error)
            return False
        return True

    def _note(self, error: Exception) -> None:
        if str(error) not in self.trouble:
            self.trouble.append(str(error))
