"""Taking sound out of a record: its hash stays, and an entry that says so.

One commit for both. SQLite overwrites what it frees, so that the sound is not left in the file.
Copies of the file elsewhere keep theirs: whoever holds them has to do the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record.afterwards import gone
from voicewalk.record.chain import Entry
from voicewalk.record.file import RecordFile


def redact_entry(record: RecordFile, seq: int, reason: str, at: Instant) -> int:
    """Take out the sound of one entry; returns the number of the entry that says so.

    Raises:
        RecordError: no such entry, it has no sound any more, no reason is given, or the record
            is another recorder's or cannot be written.
    """
    entries = record.entries()
    sounds = {entry.seq: bodies.clip_of(entry.body) for entry in entries}
    clip = sounds.get(seq, "")
    if not clip or clip in gone(entries):
        raise RecordError(
            f"{record.path}: entry {seq} has no sound", "Look up the number with 'voicewalk show'."
        )
    if not reason.strip():
        raise RecordError("no reason is given", "Say why the sound is taken out, with --reason.")
    return _redact(record, seq, clip, " ".join(reason.split()), at)


def redact_older(record: RecordFile, days: int, at: Instant) -> list[int]:
    """Take out all sounds kept more than ``days`` days before ``at``; the entries that say so.

    Raises:
        RecordError: the record is another recorder's or cannot be written.
    """
    before = datetime.fromisoformat(at.wall) - timedelta(days=days)
    return [
        _redact(record, entry.seq, clip, f"older than {days} days", at)
        for entry, clip in list(_sounds(record.entries()))
        if datetime.fromisoformat(entry.at.wall) < before
    ]


def _sounds(entries: list[Entry]) -> Iterator[tuple[Entry, str]]:
    """Each sound that is still there, with the first entry that names it."""
    seen = set(gone(entries))
    for entry in entries:
        clip = bodies.clip_of(entry.body)
        if clip and clip not in seen:
            seen.add(clip)
            yield entry, clip


def _redact(record: RecordFile, seq: int, clip: str, reason: str, at: Instant) -> int:
    body = {"kind": bodies.REDACTED, "entry": seq, "clip": clip, "reason": reason}
    return record.append(body, at)
