"""The entry and the hash that ties it to all before it.

Pure. Each hash covers all of its entry and the hash before it; the first one stands on a hash of
what the file says about itself. So the last hash covers the whole record, and through the
clips' names in the bodies all of its sound.

A chain shows that a record is whole in itself. It cannot show who made it: whoever can rewrite
one entry can rewrite all that follow. For that, and to notice entries missing at the end, the
head must be known from elsewhere (noted on paper, or signed).
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import asdict, dataclass

from voicewalk.clock import Instant
from voicewalk.record.canonical import canonical
from voicewalk.walk.messages import Json

_RECORD_DOMAIN = b"voicewalk record 1\x00"
_ENTRY_DOMAIN = b"voicewalk entry 1\x00"
_WALL = re.compile(r"\d{4}-[01]\d-[0-3]\dT[0-2]\d:[0-5]\d:[0-6]\d\.\d{3}Z", re.ASCII)


@dataclass(frozen=True, slots=True)
class Meta:
    """What a record says about itself.

    Attributes:
        recorder: identity of the recorder (device or post) that made it.
        program: name and version of the program that made it.
        created: wall time, as in ``Instant``.
    """

    recorder: str
    program: str
    created: str


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
    """

    seq: int
    run: int
    at: Instant
    body: Json
    start: int | None = None
    hash: str = ""


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

    def __init__(self, root_hash: str) -> None:
        """Begins before the first entry, at the hash from ``root``."""
        self._previous = root_hash
        self._seq = 0
        self._before: Entry | None = None

    def faults(self, entry: Entry) -> list[str]:
        """What is wrong with the next entry; empty where it stands rightly on those before.

        Each entry is judged by the stored hash of the one before: so one changed entry is
        one fault and not a fault of all that follow.
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
        self._previous, self._seq, self._before = entry.hash, entry.seq, entry
        return found

    def _linked(self, entry: Entry) -> bool:
        try:
            return link(self._previous, entry) == entry.hash
        except ValueError:  # a number beyond 2**53, which nothing of ours has written
            return False

    def skip(self, seq: int, stored_hash: str) -> None:
        """Step over an entry that cannot be read."""
        self._previous, self._seq, self._before = stored_hash, seq, None
