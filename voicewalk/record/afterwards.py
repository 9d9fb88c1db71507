"""Entries that are about the record and not of its walk: people's signatures, time stamps,
sounds taken out, recovery, the lead's answers. What must hold of them, and what a reader has to
be told.

Reads nothing and writes nothing. How such entries come to be is told by the modules that
append them: ``signing``, ``timestamp``, ``redaction``, ``recovery`` and ``review``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry, Meta, link, root
from voicewalk.record.merkle import Peaks, grown, head_of, size_of, tree_head
from voicewalk.record.seal import fingerprint, head_message, holds, signature_message

Faults = dict[int, list[str]]
"""By number of the entry."""


def faults(root_hash: str, entries: Sequence[Entry]) -> Faults:
    """What is wrong with such entries of a chain.

    Args:
        root_hash: the root (hex) that the chain stands on.
        entries: all of them in order, with their stored hashes; one that cannot be read has no
            body.
    """
    found: Faults = {}
    first = 0
    for place, entry in enumerate(entries):
        if bodies.kind(entry.body) == bodies.RECOVERED:
            # What was carried over was signed by people in the record that was damaged.
            first, found = place + 1, _origin_faults(entry, entries[:place])
    peaks: Peaks = ()
    signers: dict[str, str] = {}
    closed = False
    for place, entry in enumerate(entries):
        kind = bodies.kind(entry.body)
        closed = closed or kind == bodies.CLOSED
        wrong: list[str] = []
        if kind == bodies.SIGNED and place >= first:
            wrong += _signature_faults(root_hash, peaks, entry)
            wrong += [] if closed else ["it was signed before the walk was closed"]
        if kind in (bodies.RELEASED, bodies.NOT_RELEASED) and not closed:
            wrong += ["it was decided before the walk was closed"]
        if kind == bodies.SIGNED:
            wrong += role_faults(signers, entry.body)
        if wrong:
            found.setdefault(entry.seq, []).extend(wrong)
        peaks = grown(peaks, bytes.fromhex(entry.hash))
    return found


def role_faults(signers: dict[str, str], body: object) -> Iterator[str]:
    """One person, one role: takes note of who signs, by key and by name, and as what."""
    role = bodies.text(body, "role")
    for who in (bodies.text(body, "key"), " ".join(bodies.text(body, "name").casefold().split())):
        if signers.setdefault(who, role) != role:
            yield f"who signs here as {role} has signed as {signers[who]} too"


def _signature_faults(root_hash: str, peaks: Peaks, entry: Entry) -> Iterator[str]:
    body = entry.body
    size, head = size_of(peaks), head_of(peaks).hex()
    if (bodies.number(body, "size"), bodies.text(body, "head")) != (size, head):
        yield "it does not sign what lies before it"
    told = bodies.text(body, "role"), bodies.text(body, "name"), entry.at.wall
    message = signature_message(root_hash, size, head, *told)
    if not holds(bodies.text(body, "key"), bodies.text(body, "signature"), message):
        yield "the person's signature does not hold"


def _origin_faults(recovered: Entry, carried: Sequence[Entry]) -> Faults:
    """Whether the original's recorder signed what was carried over, as far as it is said to."""
    origin = bodies.part(recovered.body, "original")
    size = bodies.number(origin, "size")
    if not size:
        return {}
    meta = original_meta(recovered.body)
    try:
        again = list(chained(meta, carried[:size]))
    except ValueError:  # a number that JSON cannot hold
        again = []
    head = tree_head(bytes.fromhex(entry.hash) for entry in again)
    message = head_message(root(meta), size, head.hex())
    if len(again) != size or not holds(meta.key, bodies.text(origin, "signature"), message):
        return {recovered.seq: ["what it carries over was not signed by the original's recorder"]}
    return faults(root(meta), again)


def original_meta(recovered: object) -> Meta:
    """What the original of a recovered record said about itself."""
    told = bodies.part(recovered, "original", "meta")  # nothing in it where that is lost
    return Meta(*(bodies.text(told, name) for name in ("recorder", "program", "created", "key")))


def chained(meta: Meta, entries: Sequence[Entry]) -> Iterator[Entry]:
    """The entries with the hashes that they have in the chain of ``meta``."""
    previous = root(meta)
    for entry in entries:
        previous = link(previous, entry)
        yield replace(entry, hash=previous)


def gone(entries: Sequence[Entry]) -> dict[str, str]:
    """Sounds that are rightly not there any more, by name, each with why."""
    found: dict[str, str] = {}
    for entry in entries:
        kind = bodies.kind(entry.body)
        if kind == bodies.REDACTED:
            why = bodies.text(entry.body, "reason")
            found[bodies.text(entry.body, "clip")] = f"was taken out by entry {entry.seq}: {why}"
        if kind == bodies.RECOVERED:
            for name in bodies.texts(entry.body, "sounds_lost"):
                found.setdefault(name, f"was lost before the recovery told in entry {entry.seq}")
    return found


def notes(entries: Sequence[Entry]) -> Iterator[str]:
    """What is no fault and has to be known to whoever relies on the record."""
    if all(bodies.kind(entry.body) != bodies.CLOSED for entry in entries):
        yield "the walk is not closed: what came after its last entry would not be missed"
    away = gone(entries)
    for entry in entries:
        yield from _notes_on(entry, away)


def _notes_on(entry: Entry, away: dict[str, str]) -> Iterator[str]:
    clip = bodies.clip_of(entry.body)
    if clip in away:
        yield f"entry {entry.seq}: its sound {away[clip]}"
    if entry.key:
        yield f"entry {entry.seq}: added by another recorder, {fingerprint(entry.key)}"
    match bodies.kind(entry.body):
        case bodies.SIGNED:
            yield f"entry {entry.seq}: {signature_words(entry.body)}"
        case bodies.RECOVERED:
            yield f"entry {entry.seq}: {recovery_words(entry.body)}"
        case kind if kind in bodies.BY_THE_LEAD:
            yield f"entry {entry.seq}: {kind}: {answer_words(entry.body)}"


def signature_words(body: object) -> str:
    """Who signed what, and as what."""
    role, name = bodies.text(body, "role"), bodies.text(body, "name")
    key = fingerprint(bodies.text(body, "key"))
    return f"entries 1 to {bodies.number(body, 'size')} signed as {role} by {name}, key {key}"


def recovery_words(body: object) -> str:
    """What was carried over from which record, and what was lost."""
    lost = bodies.numbers(body, "lost")
    unproved = bodies.numbers(body, "unproved")
    size = bodies.number(body, "original", "size")
    told = [
        f"recovered from a damaged record, key {fingerprint(original_meta(body).key)}",
        f"its recorder signed entries 1 to {size}" if size else "its recorder's seal is lost",
        f"lost: {_listed(lost)}" if lost else "no entry between others is lost",
    ]
    if unproved:
        told.append(f"not shown to be unchanged: {_listed(unproved)}")
    sounds = len(bodies.texts(body, "sounds_lost"))
    return "; ".join([*told, *([f"{sounds} sounds lost"] if sounds else [])])


def answer_words(body: object) -> str:
    """Who answered what of the lead's; "" for an entry of another kind."""
    who = bodies.text(body, "who")
    match bodies.kind(body):
        case bodies.HEARD:
            heard = ", ".join(f"#{seq}" for seq in bodies.numbers(body, "entries"))
            sounds = len(bodies.texts(body, "clips"))
            return f"{heard} by {who} ({sounds} of them with sound)"
        case bodies.SENT_BACK:
            items = ", ".join(bodies.texts(body, "items"))
            return f"{items}, by {who}: {bodies.text(body, 'reason')}"
        case bodies.LEAD_REMARK:
            on = f" on #{bodies.number(body, 'entry')}" if bodies.number(body, "entry") else ""
            return f"{who}{on}: {bodies.text(body, 'text')}"
        case bodies.RELEASED | bodies.NOT_RELEASED:
            return f"{bodies.text(body, 'words')} (by {who})"
    return ""


def _listed(entries: Sequence[int]) -> str:
    """Entries as "3, 7 to 9"."""
    parts: list[list[int]] = []
    for seq in entries:
        if parts and seq == parts[-1][1] + 1:
            parts[-1][1] = seq
        else:
            parts.append([seq, seq])
    return ", ".join(f"{a} to {b}" if a != b else str(a) for a, b in parts)
