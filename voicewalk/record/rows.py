"""From SQLite's rows to values: each field of the right type, each body in canonical form.

A ``ValueError`` here says in words what is wrong with a row; who reads on and who gives up is
left to the callers.
"""

from __future__ import annotations

import sqlite3

from voicewalk.clock import Instant
from voicewalk.record.canonical import read_canonical
from voicewalk.record.chain import Entry, Meta

ENTRIES = (
    "SELECT seq, run, wall, monotonic_ms, body, start, hash, key, signature FROM entries"
    " ORDER BY seq"
)
"""All entries in order, as ``read_entry`` takes them."""


def read_meta(db: sqlite3.Connection) -> Meta:
    """What the record says about itself.

    Raises:
        ValueError: not one row of four texts.
        sqlite3.Error: as SQLite puts it.
    """
    rows = db.execute("SELECT recorder, program, created, key FROM meta").fetchall()
    if len(rows) != 1:
        raise ValueError(f"the record describes itself {len(rows)} times instead of once")
    return Meta(*(_text(value) for value in rows[0]))


def read_entry(row: tuple[object, ...]) -> Entry:
    """One row of ``ENTRIES``.

    Raises:
        ValueError: a field of a wrong type, or a body not in canonical form.
    """
    seq, run, wall, monotonic_ms, body, start, digest, key, signature = row
    if not isinstance(digest, bytes) or len(digest) != 32:
        raise ValueError("its hash is no SHA-256")
    if not isinstance(signature, bytes):
        raise ValueError("its signature is missing")
    if key == b"":
        raise ValueError("its key is empty")
    return Entry(
        seq=_whole(seq),
        run=_whole(run),
        at=Instant(_text(wall), _whole(monotonic_ms)),
        body=_body(body),
        start=None if start is None else _whole(start),
        hash=digest.hex(),
        signature=signature.hex(),
        key="" if key is None else _text(key),
    )


def _whole(value: object) -> int:
    if not isinstance(value, int):
        raise ValueError("a number is missing")
    return value


def _text(value: object) -> str:
    if not isinstance(value, bytes):
        raise ValueError("a text is missing")
    return value.decode("utf-8")


def _body(value: object) -> dict[str, object]:
    if not isinstance(value, bytes):
        raise ValueError("its body is missing")
    try:
        return read_canonical(value)
    except ValueError as error:
        raise ValueError(f"its body cannot be read: {error}") from error
