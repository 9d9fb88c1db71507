"""A new record from what is whole in a damaged one. The damaged file is never touched.

Entries keep their numbers, runs and times; a lost one between others leaves an entry of kind
"lost". The last entry says what the original was, how far its recorder's seal was found to hold,
and what is missing. What can be read of a damaged file is ``record.salvage``'s.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record import database
from voicewalk.record.afterwards import gone
from voicewalk.record.chain import Entry, Meta, link, root, time_fault
from voicewalk.record.clip import Clip, decode_clip
from voicewalk.record.file import RecordFile
from voicewalk.record.merkle import Peaks, grown, head_of, tree_head
from voicewalk.record.rows import read_entry
from voicewalk.record.salvage import Row, Salvage
from voicewalk.record.seal import head_message, holds
from voicewalk.record.verify import verify
from voicewalk.walk.messages import Json


@dataclass(frozen=True, slots=True)
class Found:
    """What is whole in a damaged record.

    Attributes:
        meta: what it said about itself; ``None`` where that is lost.
        entries: the whole ones, and what stands for those lost between them: 1, 2, 3, ...
        unproved: numbers of those whose hash cannot be checked, since the one before is lost.
        lost: numbers of those that must have been there and are not whole.
        signed_up_to: up to which entry the recorder's signature was found to hold; 0 for none.
    """

    meta: Meta | None
    entries: tuple[Entry, ...]
    unproved: tuple[int, ...]
    lost: tuple[int, ...]
    signed_up_to: int


def recover(path: Path, to: Path, *, program: str, recorder: str, at: Instant) -> Json:
    """Make the new record; returns the body of its last entry, which tells everything.

    Args:
        path: the damaged file.
        to: the new one; nothing may be there yet.
        program, recorder, at: as in ``RecordFile.create``.

    Raises:
        RecordError: the file is whole, or nothing in it is; the new one cannot be written.
        KeyFault: this recorder's key cannot be used.
    """
    database.must_be_file(path)
    if to.exists():
        raise RecordError(f"{to}: there is such a file already", "Give another name with --to.")
    if verify(path).ok:
        raise RecordError(f"{path}: it is whole", "There is nothing to recover: use it as it is.")
    part = to.with_name(f"{to.name}.part")
    try:
        with Salvage(path) as salvage:
            found = whole_in(salvage.meta(), salvage.entries())
            if not found.entries:
                raise RecordError(
                    f"{path}: not one entry in it is whole",
                    "Keep the file; perhaps a copy of it or of its disk is better.",
                )
            body = _carry_over(salvage, found, part, Meta(recorder, program, at.wall, ""), at)
        with RecordFile.open(part) as record:
            record.append(body, at)
        os.link(part, to)  # whole and marked, or not there; never in the place of another file
    except OSError as error:
        raise database.trouble(to, error) from error
    finally:
        for beside in ("", "-wal", "-shm", "-lock"):
            part.with_name(f"{part.name}{beside}").unlink(missing_ok=True)
    return body


def whole_in(meta: Meta | None, rows: dict[int, Row]) -> Found:
    """Judge what was read. Rows by number; see ``salvage.Salvage.entries``."""
    kept: list[Entry] = []
    unproved: list[int] = []
    previous, right = (root(meta), True) if meta else ("", False)
    before = 0
    for seq, row in sorted(rows.items()):
        if seq != before + 1:
            previous, right = "", False
        entry = _read(row)
        linked = entry is not None and _linked(previous, entry)
        if entry is not None and (linked or not right):  # else it is known to be changed
            filled = [*kept, *_lost_before(entry, kept)]
            if not time_fault(entry, filled[-1] if filled else None):
                kept = [*filled, entry]
                unproved += [] if linked else [seq]
        previous = row[6].hex() if isinstance(row[6], bytes) else ""
        right, before = linked, seq
    lost = {entry.seq for entry in kept if bodies.kind(entry.body) == bodies.LOST}
    lost |= {seq for seq in rows if seq > len(kept)}
    signed = _signed_up_to(meta, kept, {*unproved, *lost})
    return Found(meta, tuple(kept), tuple(unproved), tuple(sorted(lost)), signed)


def _read(row: Row) -> Entry | None:
    try:
        return read_entry(row)
    except ValueError:
        return None


def _linked(previous: str, entry: Entry) -> bool:
    try:
        return bool(previous) and link(previous, entry) == entry.hash
    except ValueError:  # a number that JSON cannot hold
        return False


def _lost_before(entry: Entry, kept: list[Entry]) -> Iterator[Entry]:
    """What stands for the entries between the last one kept and this one."""
    last = kept[-1] if kept else Entry(0, 0, Instant(entry.at.wall, 0), {})
    for seq in range(last.seq + 1, entry.seq):
        run = max(last.run, min(last.run + 1, entry.run))
        monotonic_ms = last.at.monotonic_ms if run == last.run else 0
        last = Entry(seq, run, Instant(last.at.wall, monotonic_ms), {"kind": bodies.LOST})
        yield last


def _signed_up_to(meta: Meta | None, kept: list[Entry], doubtful: set[int]) -> int:
    """The last entry before any doubtful one whose signature by the recorder holds; 0 for none."""
    last = 0
    peaks: Peaks = ()
    for entry in kept:
        if meta is None or entry.seq in doubtful:
            break
        peaks = grown(peaks, bytes.fromhex(entry.hash))
        message = head_message(root(meta), entry.seq, head_of(peaks).hex())
        if not entry.key and holds(meta.key, entry.signature, message):
            last = entry.seq
    return last


def _carry_over(salvage: Salvage, found: Found, part: Path, meta: Meta, at: Instant) -> Json:
    """Fill the new record; returns the body of the entry that is to end it."""
    texts, clips = salvage.texts(), salvage.clips()
    named = set(bodies.texts_of(found.entries[0].body).values())
    sounds_lost: list[str] = []
    with RecordFile.create(
        part,
        program=f"{meta.program}, recovery",
        recorder=meta.recorder,
        at=at,
        texts=[text for digest, text in texts.items() if digest in named],
    ) as record:
        away = gone(found.entries)
        for entry in found.entries:
            name = bodies.clip_of(entry.body)
            clip = _clip(salvage, clips, name, entry.start) if name and name not in away else None
            if name and clip is None and name not in away:
                sounds_lost.append(name)
            record.carry_over(replace(entry, key=""), clip)
    signed = found.signed_up_to
    return {
        "kind": bodies.RECOVERED,
        "original": {
            "meta": asdict(found.meta) if found.meta else {},
            "root": root(found.meta) if found.meta else "",
            "size": signed,
            "head": tree_head(bytes.fromhex(one.hash) for one in found.entries[:signed]).hex(),
            "signature": found.entries[signed - 1].signature if signed else "",
        },
        "lost": list(found.lost),
        "unproved": list(found.unproved),
        "sounds_lost": sorted(set(sounds_lost)),
        "texts_lost": sorted(named - texts.keys()),
        "damage": salvage.trouble,
    }


def _clip(salvage: Salvage, clips: dict[str, int], name: str, start: int | None) -> Clip | None:
    """A sound, where it is still what its name says."""
    read = salvage.clip(clips[name]) if name in clips else None
    if read is None or hashlib.sha256(read[1]).hexdigest() != name:
        return None
    try:
        samples = len(decode_clip(read[1]))
    except ValueError:
        return None
    return Clip(read[1], samples, start or 0)
