"""Whether a record file is whole: structure, chain, signatures, every body, sound and text.

What cannot be read is a fault in words, never a traceback and never passed over. What a record
alone cannot show, that it is the one somebody knows, is ``record.claims``'s.
"""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import afterwards
from voicewalk.record import body as bodies
from voicewalk.record.afterwards import Faults
from voicewalk.record.chain import Entry, Follower, Meta, root
from voicewalk.record.clip import decode_clip
from voicewalk.record.database import open_reading
from voicewalk.record.merkle import head_of
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
        root: the hash (hex) that stands before the first entry.
        key: public key (hex) of the recorder that made it; "" where it cannot be read.
        notes: what is no fault and has to be known, each in one sentence.
    """

    ok: bool
    findings: tuple[str, ...]
    entries: int
    trusted_up_to: int
    head: str
    root: str = ""
    key: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Examined:
    """A record read to its end, whatever its state.

    Attributes:
        report: what is wrong with it.
        meta: what it says about itself; ``None`` where that cannot be read.
        entries: the entries that can be read, in order.
        texts: by SHA-256 (hex), the files that the walk rests on.
    """

    report: Report
    meta: Meta | None
    entries: tuple[Entry, ...]
    texts: dict[str, bytes] = field(default_factory=dict)


def verify(path: Path) -> Report:
    """Check all of a record file. Any path may be given; what is no record is not ok."""
    try:
        return examine(path).report
    except RecordError as error:
        return unopened(path, error)


def unopened(path: Path, error: RecordError) -> Report:
    """The report on a file that cannot even be opened as a record."""
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
        texts = check.texts()
        return Examined(check.report(), check.meta, tuple(check.readable), texts)


class _Check:
    """One run over one file; each step notes what it finds and goes on."""

    def __init__(self, db: sqlite3.Connection) -> None:
        """Of an open record."""
        self.meta: Meta | None = None
        self.readable: list[Entry] = []
        self._db = db
        self._findings: list[str] = []
        self._all: list[Entry] = []  # one that cannot be read has no body
        self._faults: Faults = {}
        self._trusted = 0
        self._root = ""
        self._follower = Follower("", "")

    def report(self) -> Report:
        """All that was found."""
        findings = tuple(self._findings)
        whole = len(self.readable) == len(self._all)
        return Report(
            ok=not findings,
            findings=findings,
            entries=len(self._all),
            trusted_up_to=self._trusted,
            head=head_of(self._follower.peaks).hex() if whole else "",
            root=self._root,
            key=self.meta.key if self.meta else "",
            notes=tuple(afterwards.notes(self.readable)),
        )

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
            self._root = root(self.meta)
            self._follower = Follower(self._root, self.meta.key)
        except (sqlite3.Error, ValueError) as error:
            self._findings.append(f"what the record says about itself cannot be read: {error}")

    def clips(self) -> dict[str, str]:
        """For each stored clip what is wrong with it, "" for nothing."""
        faults: dict[str, str] = {}
        try:
            for name, samples, flac in self._db.execute("SELECT sha256, samples, flac FROM clips"):
                faults[_shown(name)] = _clip_fault(_shown(name), samples, flac)
        except sqlite3.Error as error:
            self._findings.append(f"the sounds cannot be read to their end: {error}")
        return faults

    def entries(self, clips: dict[str, str]) -> None:
        """Each entry in order, with its clip; then the clips that no entry names."""
        unread = ""
        try:
            for row in self._db.execute(ENTRIES):
                self._entry(row)
        except sqlite3.Error as error:
            unread = f"no entry can be read after {len(self._all)} of them: {error}"
        for seq, found in afterwards.faults(self._root, self._all).items():
            self._faults[seq] += found
        away = afterwards.gone(self.readable)
        for entry in self.readable:
            fault = _sound_fault(bodies.clip_of(entry.body), clips, away)
            self._faults[entry.seq] += [fault] if fault else []
        self._trusted = self._whole_up_to()
        for seq, found in self._faults.items():
            self._findings += (f"entry {seq}: {fault}" for fault in found)
        self._findings += [unread] if unread else []
        named = {bodies.clip_of(entry.body) for entry in self.readable}
        for name, fault in clips.items():
            if name not in named:
                self._findings.append(f"sound {name}: no entry names it{fault and ', and '}{fault}")

    def texts(self) -> dict[str, bytes]:
        """The files that the walk rests on: all that its first entry names, and no others."""
        kept: dict[str, bytes] = {}
        try:
            for name, text in self._db.execute("SELECT sha256, text FROM texts"):
                if isinstance(text, bytes) and hashlib.sha256(text).hexdigest() == _shown(name):
                    kept[_shown(name)] = text
                else:
                    self._findings.append(f"text {_shown(name)}: it has been changed")
        except sqlite3.Error as error:
            self._findings.append(f"the card's text cannot be read: {error}")
        named = bodies.texts_of(self.readable[0].body) if self.readable else {}
        lost = {one for entry in self.readable for one in bodies.texts(entry.body, "texts_lost")}
        for digest in named.values():
            if digest not in kept and digest not in lost:
                self._findings.append(f"text {digest}: it is missing or changed")
        for digest in kept.keys() - set(named.values()) if self.readable else ():
            self._findings.append(f"text {digest}: no entry names it")
        return kept

    def _entry(self, row: tuple[object, ...]) -> None:
        """Check one entry by itself and as it stands on those before."""
        seq = row[0] if isinstance(row[0], int) else 0
        try:
            entry = read_entry(row)
            self.readable.append(entry)
            self._faults[seq] = self._follower.faults(entry)
        except ValueError as error:
            stored = row[6].hex() if isinstance(row[6], bytes) else ""
            entry = Entry(seq, 0, Instant("", 0), {}, hash=stored)
            self._faults[seq] = [str(error)]
            self._follower.skip(seq, stored)
        self._all.append(entry)

    def _whole_up_to(self) -> int:
        """Number of the last entry before any that has a fault."""
        whole = 0
        for seq, found in self._faults.items():
            if found:
                break
            whole = seq
        return whole


def _sound_fault(name: str, clips: dict[str, str], away: dict[str, str]) -> str:
    """What is wrong with the sound that an entry names; "" for nothing."""
    if not name:
        return ""
    if name in away:
        return f"its sound {name} {away[name]}; yet it is there" if name in clips else ""
    fault = clips.get(name, "it is missing")
    return f"its sound {name}: {fault}" if fault else ""


def _shown(name: object) -> str:
    return name.decode(errors="replace") if isinstance(name, bytes) else repr(name)


def _clip_fault(name: str, samples: object, flac: object) -> str:
    """What is wrong with a stored clip; "" for nothing."""
    if not isinstance(flac, bytes) or hashlib.sha256(flac).hexdigest() != name:
        return "it has been changed"
    try:
        decoded = len(decode_clip(flac))
    except ValueError as error:
        return str(error)
    return "" if decoded == samples else f"it holds {decoded} samples and not {samples}"
