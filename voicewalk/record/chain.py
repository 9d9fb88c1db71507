"""The entry and the hash that ties it to all before it.

Pure. Each hash covers the entry's number, both times, its body, the place of its sound and the
hash before it; the first one stands on a hash of what the file says about itself. So the last
hash covers the whole record, and through the clips' names in the bodies all of its sound.

A chain shows that a record is whole in itself. It cannot show who made it: whoever can rewrite
one entry can rewrite all that follow. For that, and to notice entries missing at the end, the
head must be known from elsewhere (noted on paper, or signed).
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import asdict, dataclass

from voicewalk.clock import Instant
from voicewalk.record import body as bodies
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
        at: both clocks when it happened.
        body: what the walk asked to keep.
        start: number of the first sample of its clip in the session's sound; None without.
        hash: SHA-256, hex, as stored.
    """

    seq: int
    at: Instant
    body: Json
    start: int | None
    hash: str


def root(meta: Meta) -> str:
    """The hash (hex) that stands before the first entry."""
    return hashlib.sha256(_RECORD_DOMAIN + canonical(asdict(meta))).hexdigest()


def link(previous: str, seq: int, at: Instant, body: Json, start: int | None) -> str:
    """The hash (hex) of an entry that follows the one with hash ``previous``.

    Raises:
        ValueError: the body has no canonical form.
    """
    envelope = {
        "previous": previous,
        "seq": seq,
        "wall": at.wall,
        "monotonic_ms": at.monotonic_ms,
        "start": start,
        "body": body,
    }
    return hashlib.sha256(_ENTRY_DOMAIN + canonical(envelope)).hexdigest()


def time_fault(at: Instant, before: Instant | None, body: Json) -> str:
    """What is wrong with an entry's times; "" where nothing is.

    Monotonic time begins anew with each boot, and only an entry "interrupted" can be the first
    one after a boot. Wall time may be stepped by people at any time.
    """
    if not _WALL.fullmatch(at.wall):
        return f"its wall time '{at.wall}' is not RFC 3339 in UTC with milliseconds"
    back = before is not None and at.monotonic_ms < before.monotonic_ms
    if back and bodies.kind(body) != bodies.INTERRUPTED:
        return "its monotonic time runs back although there was no interruption"
    return ""


class Follower:
    """Goes along a chain entry by entry and says what is wrong with each."""

    def __init__(self, root_hash: str) -> None:
        self._previous = root_hash
        self._seq = 0
        self._before: Instant | None = None

    def faults(self, entry: Entry) -> list[str]:
        """What is wrong with the next entry; empty where it stands rightly on those before.

        Each entry is judged by the stored hash of the one before: so one changed entry is
        one fault and not a fault of all that follow.
        """
        found = []
        if entry.seq != self._seq + 1:
            found.append(f"the entry before it is missing (the last one was {self._seq})")
        try:
            right = link(self._previous, entry.seq, entry.at, entry.body, entry.start)
        except ValueError as error:
            found.append(f"it has no canonical form ({error})")
        else:
            if right != entry.hash:
                found.append("its hash does not fit: it, or the one before, has been changed")
        fault = time_fault(entry.at, self._before, entry.body)
        self._previous, self._seq, self._before = entry.hash, entry.seq, entry.at
        return [*found, fault] if fault else found

    def skip(self, seq: int, stored_hash: str) -> None:
        """Step over an entry that cannot be read."""
        self._previous, self._seq, self._before = stored_hash, seq, None
