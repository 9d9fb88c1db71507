"""The entry, the hash that ties it to all before it, and the recorder's signature over both.

Pure. Each hash covers all of its entry and the hash before it; the first one stands on a hash of
what the file says about itself. So the last hash covers the whole record, and through the
clips' names in the bodies all of its sound.

A chain shows that a record is whole in itself; whoever can rewrite one entry could rewrite all
that follow. So each entry carries the recorder's signature over the tree head at its place.
Entries missing at the end, and a record made anew by the key's holder, show only to those who
know a head, or the key, from elsewhere.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import asdict, dataclass

from voicewalk.clock import Instant
from voicewalk.record import body as bodies
from voicewalk.record.canonical import canonical
from voicewalk.record.merkle import Peaks, grown, head_of, size_of
from voicewalk.record.seal import head_message, holds
from voicewalk.walk.messages import Json

_RECORD_DOMAIN = b"voicewalk record 2\x00"
_ENTRY_DOMAIN = b"voicewalk entry 2\x00"
_WALL = re.compile(r"\d{4}-[01]\d-[0-3]\dT[0-2]\d:[0-5]\d:[0-6]\d\.\d{3}Z", re.ASCII)


@dataclass(frozen=True, slots=True)
class Meta:
    """What a record says about itself.

    Attributes:
        recorder: identity of the recorder (device or post) that made it.
        program: name and version of the program that made it.
        created: wall time, as in ``Instant``.
        key: the recorder's public key, hex.
    """

    recorder: str
    program: str
    created: str
    key: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One kept entry.

    Attributes:
        seq: 1, 2, 3, ... without gaps.
        run: which run of the program kept it: 1, then one more each time that a later run went
            on with the record. Monotonic time counts within a run: a boot may lie between two.
        at: both clocks when it was kept.
        body: what the walk asked to keep.
        start: number of the first sample of its clip in the sound of its run; ``None`` where
            no clip came with it.
        hash: SHA-256, hex, as stored; ``link`` tells what it must be.
        signature: Ed25519 over the head up to and with this entry, hex.
        key: the public key (hex) that signed it where that is not the record's own.
    """

    seq: int
    run: int
    at: Instant
    body: Json
    start: int | None = None
    hash: str = ""
    signature: str = ""
    key: str = ""


def root(meta: Meta) -> str:
    """The hash (hex) that stands before the first entry."""
    return hashlib.sha256(_RECORD_DOMAIN + canonical(asdict(meta))).hexdigest()


def link(previous: str, entry: Entry) -> str:
    """What the hash (hex) of an entry must be that follows the one with hash ``previous``.

    Raises:
        ValueError: the body has no canonical form.
    """
    envelope = {
        "previous": previous,
        "seq": entry.seq,
        "run": entry.run,
        "wall": entry.at.wall,
        "monotonic_ms": entry.at.monotonic_ms,
        "start": entry.start,
        "body": entry.body,
    }
    return hashlib.sha256(_ENTRY_DOMAIN + canonical(envelope)).hexdigest()


def time_fault(entry: Entry, before: Entry | None) -> str:
    """What is wrong with an entry's run and times; "" where nothing is.

    Wall time may be stepped by people at any time: only its form is checked.
    """
    if not _WALL.fullmatch(entry.at.wall):
        return f"its wall time '{entry.at.wall}' is not RFC 3339 in UTC with milliseconds"
    if before is None:
        return "" if entry.run == 1 else "it is the first one, but not of the first run"
    if entry.run not in (before.run, before.run + 1):
        return f"it is of run {entry.run}, and the one before of run {before.run}"
    if entry.run == before.run and entry.at.monotonic_ms < before.at.monotonic_ms:
        return "its monotonic time runs back"
    return ""


class Follower:
    """Goes along a chain entry by entry and says what is wrong with each."""

    def __init__(self, root_hash: str, key: str) -> None:
        """Begins before the first entry, at the hash from ``root``; ``key`` is the record's."""
        self.peaks: Peaks = ()
        self._root = self._previous = root_hash
        self._key = key
        self._seq = 0
        self._before: Entry | None = None
        self._signed = True  # all entries so far

    def faults(self, entry: Entry) -> list[str]:
        """What is wrong with the next entry; empty where it stands rightly on those before.

        Each entry is judged by the stored hash of the one before: so one changed entry is
        one fault and not a fault of all that follow. A signature covers all before it: only the
        first that does not hold is a fault of its own.
        """
        found = []
        if entry.seq != self._seq + 1:
            found.append(f"the entry before it is missing (the last one was {self._seq})")
        if not self._linked(entry):
            found.append("its hash does not fit: it, or the one before, has been changed")
        # Where the one before is missing or cannot be read, there is no time to compare with.
        if self._before is not None or entry.seq == 1:
            fault = time_fault(entry, self._before)
            found += [fault] if fault else []
        fault = self._signature_fault(entry)
        found += [fault] if fault else []
        self._previous, self._seq, self._before = entry.hash, entry.seq, entry
        return found

    def _signature_fault(self, entry: Entry) -> str:
        self.peaks = grown(self.peaks, bytes.fromhex(entry.hash))
        if entry.key == self._key:
            return "it names the record's own key where nothing should stand"
        if entry.key and bodies.kind(entry.body) not in bodies.BY_OTHERS:
            return "it is signed by another recorder than the one that made the record"
        signed = head_message(self._root, size_of(self.peaks), head_of(self.peaks).hex())
        if holds(entry.key or self._key, entry.signature, signed):
            return ""
        first, self._signed = self._signed, False
        return "its signature does not fit it and what lies before it" if first else ""

    def _linked(self, entry: Entry) -> bool:
        try:
            return link(self._previous, entry) == entry.hash
        except ValueError:  # a number beyond 2**53, which nothing of ours has written
            return False

    def skip(self, seq: int, stored_hash: str) -> None:
        """Step over an entry that cannot be read."""
        self.peaks = grown(self.peaks, bytes.fromhex(stored_hash))
        self._previous, self._seq, self._before = stored_hash, seq, None
