"""Whether a record file is whole: its structure, its chain, every body, every sound.

What cannot be read is a fault in words, never a traceback and never passed over. Nothing here
shows who made the record, nor that its last entries were not cut off: see ``record.chain``.
"""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry, Follower, Meta, root
from voicewalk.record.clip import decode_clip
from voicewalk.record.database import open_reading
from voicewalk.record.merkle import tree_head
from voicewalk.record.rows import ENTRIES, read_entry, read_meta


@dataclass(frozen=True, slots=True)
class Report:
    """What was found in a record.

    Attributes:
        ok: nothing is wrong.
        findings: what is wrong, each in one sentence.
        entries: how many entries there are.
        trusted_up_to: number of the last entry up to which nothing is wrong with any entry
            or its sound; 0 for none.
        head: the Merkle tree head (hex) of the entries; "" where they cannot be read.
    """

    ok: bool
    findings: tuple[str, ...]
    entries: int
    trusted_up_to: int
    head: str


@dataclass(frozen=True, slots=True)
class Examined:
    """A record read to its end, whatever its state.

    Attributes:
        report: what is wrong with it.
        meta: what it says about itself; ``None`` where that cannot be read.
        entries: the entries that can be read, in order.
    """

    report: Report
    meta: Meta | None
    entries: tuple[Entry, ...]


def verify(path: Path) -> Report:
    """Check all of a record file. Any path may be given; what is no record is not ok."""
    try:
        return examine(path).report
    except RecordError as error:
        return Report(False, (str(error.args[0]).removeprefix(f"{path}: "),), 0, 0, "")


def examine(path: Path) -> Examined:
    """Check a record and read it, both at one moment of its life.

    Raises:
        RecordError: nothing there, no record, another format, or damaged beyond opening.
    """
    with closing(open_reading(path)) as db:
        db.execute("BEGIN")  # a writer at work appends meanwhile: all steps see the same state
        check = _Check(db)
        check.structure()
        check.entries(check.clips())
        return Examined(check.report(), check.meta, tuple(check.readable))


class _Check:
    """One run over one file; each step notes what it finds and goes on."""

    def __init__(self, db: sqlite3.Connection) -> None:
        """Of an open record."""
        self.meta: Meta | None = None
        self.readable: list[Entry] = []
        self._db = db
        self._findings: list[str] = []
        self._count = 0
        self._trusted = 0
        self._bad = False  # an entry so far
        self._follower = Follower("")

    def report(self) -> Report:
        """All that was found."""
        findings = tuple(self._findings)
        hashes = (bytes.fromhex(entry.hash) for entry in self.readable)
        head = tree_head(hashes).hex() if len(self.readable) == self._count else ""
        return Report(not findings, findings, self._count, self._trusted, head)

    def structure(self) -> None:
        """SQLite's own look at pages, tables and indexes; then the record's own words."""
        try:
            for (found,) in self._db.execute("PRAGMA integrity_check(10)"):
                if found != b"ok":
                    self._findings.append(f"the file is damaged: {found.decode(errors='replace')}")
        except sqlite3.Error as error:
            self._findings.append(f"the file is damaged: {error}")
        try:
            self.meta = read_meta(self._db)
            self._follower = Follower(root(self.meta))
        except (sqlite3.Error, ValueError) as error:
            self._findings.append(f"what the record says about itself cannot be read: {error}")

    def clips(self) -> dict[str, str]:
        """For each stored clip what is wrong with it, "" for nothing."""
        faults: dict[str, str] = {}
        try:
            for name, samples, flac in self._db.execute("SELECT sha256, samples, flac FROM clips"):
                shown = name.decode(errors="replace") if isinstance(name, bytes) else repr(name)
                faults[shown] = _clip_fault(shown, samples, flac)
        except sqlite3.Error as error:
            self._findings.append(f"the sounds cannot be read to their end: {error}")
        return faults

    def entries(self, clips: dict[str, str]) -> None:
        """Each entry in order, with its clip; then the clips that no entry names."""
        unnamed = dict(clips)
        try:
            for row in self._db.execute(ENTRIES):
                self._count += 1
                unnamed.pop(self._entry(row, clips), None)
                self._trusted = self._trusted if self._bad else row[0]
        except sqlite3.Error as error:
            self._findings.append(f"no entry can be read after {self._count} of them: {error}")
        for name, fault in unnamed.items():
            self._findings.append(f"sound {name}: no entry names it{fault and ', and '}{fault}")

    def _entry(self, row: tuple[object, ...], clips: dict[str, str]) -> str:
        """Check one entry; returns the name of its clip."""
        seq = row[0] if isinstance(row[0], int) else 0
        try:
            entry = read_entry(row)
        except ValueError as error:
            self._note(seq, str(error))
            self._follower.skip(seq, row[-1].hex() if isinstance(row[-1], bytes) else "")
            return ""
        self.readable.append(entry)
        for fault in self._follower.faults(entry):
            self._note(seq, fault)
        named = bodies.clip_of(entry.body)
        fault = clips.get(named, "it is missing") if named else ""
        if fault:
            self._note(seq, f"its sound {named}: {fault}")
        return named

    def _note(self, seq: int, fault: str) -> None:
        self._bad = True
        self._findings.append(f"entry {seq}: {fault}")


def _clip_fault(name: str, samples: object, flac: object) -> str:
    """What is wrong with a stored clip; "" for nothing."""
    if not isinstance(flac, bytes) or hashlib.sha256(flac).hexdigest() != name:
        return "it has been changed"
    try:
        decoded = len(decode_clip(flac))
    except ValueError as error:
        return str(error)
    return "" if decoded == samples else f"it holds {decoded} samples and not {samples}"
