"""The lead's answers to a record: heard and agreed, sent back, remarks, released or not.

Each is an entry like any other, and none changes an entry. They are about the record and no
part of its walk. The lead's signature is ``record.signing``'s; who may give an answer, and by
which name, is left to the callers: here a name is a text.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from voicewalk.card.rules import Release
from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry
from voicewalk.record.file import RecordFile
from voicewalk.walk.messages import Json

MOST_SIGNS = 2_000
"""Of a reason or remark: a page of text. A longer one belongs into a document of its own."""


@dataclass(frozen=True)
class Answers:
    """What has been answered to a record so far.

    Attributes:
        heard: by number of an entry, the answer by which it was heard and agreed to.
        sent_back: by item id, the last answer that sent it back.
        remarks: in order.
        release: the last decision; ``None`` before any.
        signed: people's signatures, in order.
    """

    heard: dict[int, Entry] = field(default_factory=dict)
    sent_back: dict[str, Entry] = field(default_factory=dict)
    remarks: tuple[Entry, ...] = ()
    release: Entry | None = None
    signed: tuple[Entry, ...] = ()


def answers(entries: Iterable[Entry]) -> Answers:
    """What has been answered in a record's entries, given in order."""
    heard: dict[int, Entry] = {}
    back: dict[str, Entry] = {}
    of_kind: dict[str, list[Entry]] = {}
    for entry in entries:
        kind = bodies.kind(entry.body)
        of_kind.setdefault(kind, []).append(entry)
        if kind == bodies.HEARD:
            heard |= dict.fromkeys(bodies.numbers(entry.body, "entries"), entry)
        elif kind == bodies.SENT_BACK:
            back |= dict.fromkeys(bodies.texts(entry.body, "items"), entry)
    decided = [*of_kind.get(bodies.RELEASED, ()), *of_kind.get(bodies.NOT_RELEASED, ())]
    return Answers(
        heard=heard,
        sent_back=back,
        remarks=tuple(of_kind.get(bodies.LEAD_REMARK, ())),
        release=max(decided, key=lambda entry: entry.seq, default=None),
        signed=tuple(of_kind.get(bodies.SIGNED, ())),
    )


def agree(record: RecordFile, who: str, numbers: Iterable[int], at: Instant) -> int:
    """The lead has heard these entries and agrees with them; returns the answer's number.

    The sounds that they name are named in it: what was heard can be told from what was read.

    Raises:
        RecordError: no entry is named, or one that is not there; nobody is named; or it cannot
            be kept.
    """
    wanted = sorted(set(numbers))
    there = {entry.seq: entry for entry in record.entries()}
    missing = [seq for seq in wanted if seq not in there]
    if missing or not wanted:
        raise RecordError(
            f"{record.path}: there is no entry {missing[0] if missing else ''}".rstrip(),
            "Look at the record again, and choose the entries that were heard.",
        )
    named = (bodies.clip_of(there[seq].body) for seq in wanted)
    clips = list(dict.fromkeys(clip for clip in named if clip))
    return _keep(record, bodies.HEARD, who, {"entries": wanted, "clips": clips}, at)


def send_back(record: RecordFile, who: str, items: Iterable[str], reason: str, at: Instant) -> int:
    """These items are to be inspected again; returns the answer's number.

    Args:
        items: ids of the card's items.

    Raises:
        RecordError: no item, no reason, nobody named; or it cannot be kept.
    """
    wanted = list(dict.fromkeys(items))
    if not wanted or not all(wanted):
        raise RecordError("no item is named", "Choose the items that are to be inspected again.")
    return _keep(
        record, bodies.SENT_BACK, who, {"items": wanted, "reason": _said(reason, "a reason")}, at
    )


def remark(record: RecordFile, who: str, words: str, at: Instant, *, entry: int = 0) -> int:
    """A remark of the lead's, on one entry or (0) on the whole; returns its number.

    Raises:
        RecordError: it says nothing, or too much; nobody is named; no such entry; or it cannot
            be kept.
    """
    if entry and all(one.seq != entry for one in record.entries()):
        raise RecordError(f"{record.path}: there is no entry {entry}", "Look at the record again.")
    about: Json = {"entry": entry} if entry else {}
    return _keep(record, bodies.LEAD_REMARK, who, {**about, "text": _said(words, "a remark")}, at)


def decide(record: RecordFile, who: str, words: Release, at: Instant, *, released: bool) -> int:
    """Released for maintenance action, or not, in the card's own words; returns its number.

    It says nothing about fitness for use. A later decision stands beside an earlier one.

    Raises:
        RecordError: the walk is not closed, nobody is named, or it cannot be kept.
    """
    if all(bodies.kind(entry.body) != bodies.CLOSED for entry in record.entries()):
        raise RecordError(
            f"{record.path}: the walk is not closed",
            "Close the walk first, or send items back: what is decided on must not change.",
        )
    kind = bodies.RELEASED if released else bodies.NOT_RELEASED
    return _keep(
        record, kind, who, {"words": words.released if released else words.not_released}, at
    )


def _keep(record: RecordFile, kind: str, who: str, fields: Json, at: Instant) -> int:
    name = " ".join(who.split())
    if not name:
        raise RecordError("nobody is named", "Give the name of who answers for the record.")
    return record.append({"kind": kind, "who": name, **fields}, at)


def _said(text: str, what: str) -> str:
    """A text of one paragraph, as it will be read."""
    words = " ".join(text.split())
    if not words:
        raise RecordError(f"{what} is missing", "Write it in a few words.")
    if len(words) > MOST_SIGNS:
        raise RecordError(
            f"{what} of {len(words)} signs is too long", f"Keep it below {MOST_SIGNS} signs."
        )
    return words
