"""What earlier records say of an aircraft or vehicle, for a walk that begins.

Reads every record in a folder that is of the same identity; none is changed. A record that is not
whole is told and left out: nothing may be announced, nor missed, because somebody changed a file.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from voicewalk.card.model import Card
from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry
from voicewalk.record.file import ENDING, RecordReader
from voicewalk.record.review import answers
from voicewalk.record.summary import DISCREPANCY, NOT_INSPECTED, Fate, Line, Summary, summary
from voicewalk.record.verify import examine
from voicewalk.walk.earlier import OPEN, Earlier, Found, Read, SentBack, Skipped
from voicewalk.walk.turns import signs

LOOKED_BACK = 5
"""Walks of the same card that are counted for what was left out: as many as are remembered.
Common practice, no source."""

LEFT_OUT = 2
"""A critical item not inspected in so many of them is told: once is a reason, twice a habit."""


@dataclass(frozen=True)
class _Walk:
    """An earlier walk; ``card`` is the id of its card."""

    card: str
    entries: tuple[Entry, ...]
    told: Summary


@dataclass(frozen=True)
class History:
    """What is known, and what could not be used.

    Attributes:
        troubles: one line for each record that was left out, with why.
    """

    earlier: Earlier
    troubles: tuple[str, ...] = ()


def history(folder: Path, identity: str, card: Card, now: Instant) -> History:
    """What the records in ``folder`` say of ``identity``, for a walk of ``card``.

    Raises:
        RecordError: the folder cannot be read.
    """
    walks, troubles = [], []
    for path in _files(folder):
        try:
            if not _is_of(path, identity):
                continue
            walks.append(_walk(path))
        except RecordError as error:
            troubles.append(f"{error.args[0]}: not used for what was found earlier")
    walks.sort(key=lambda walk: walk.told.begun)
    same = [walk for walk in walks if walk.card == card.id]
    closed = [walk for walk in same if walk.told.closed]
    last = closed[-1].told.ended if closed else ""
    earlier = Earlier(
        wall=last,
        expired=_expired(card, last, now),
        found=tuple(found for walk in walks for found in _found(walk, _is_last(walk, walks))),
        readings=tuple(_readings(same)),
        sent_back=_sent_back(walks),
        skipped=tuple(_skipped(closed[-LOOKED_BACK:], card)),
    )
    return History(earlier, tuple(troubles))


def _files(folder: Path) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if path.name.endswith(ENDING))
    except OSError as error:
        raise RecordError(
            f"{folder}: its records cannot be listed ({error.strerror})",
            "Give the folder of earlier records with --earlier, or leave it out.",
        ) from error


def _is_of(path: Path, identity: str) -> bool:
    """Whether a record's first entry names it; all of it is only read then."""
    with closing(RecordReader.open(path)) as record:
        first = record.first()
    named = bodies.text(first.body, "identity") if first else ""
    return bool(named) and signs(named) == signs(identity)


def _walk(path: Path) -> _Walk:
    examined = examine(path)
    if not examined.report.ok:
        raise RecordError(f"{path}: it is not whole", "Look into it with 'voicewalk verify'.")
    told = summary(examined.entries)
    return _Walk(bodies.text(told.started, "card", "id"), examined.entries, told)


def _expired(card: Card, last: str, now: Instant) -> str:
    if card.valid is None or not last:
        return ""
    age = datetime.fromisoformat(now.wall) - datetime.fromisoformat(last)
    return "" if card.valid.holds(age) else str(card.valid.hours)


def _is_last(walk: _Walk, walks: Sequence[_Walk]) -> bool:
    """Whether no later walk of the same card was closed: what it left open is open still."""
    later = walks[walks.index(walk) + 1 :]
    return not any(one.card == walk.card and one.told.closed for one in later)


def _found(walk: _Walk, last: bool) -> Iterator[Found]:
    for line in walk.told.lines:
        body = line.entry.body
        if bodies.text(body, "result") == DISCREPANCY:
            what = bodies.part(body, "discrepancy")
            yield Found(
                item=bodies.text(body, "item"),
                name=bodies.text(body, "name"),
                wall=line.entry.at.wall,
                fate=_fate(line, last),
                defect=bodies.text(what, "defect"),
                place=bodies.text(what, "place"),
                size=bodies.text(what, "size"),
                size_unit=bodies.text(what, "size_unit"),
                status=walk.told.statuses.get(line.entry.seq, ""),
            )


def _fate(line: Line, last: bool) -> str:
    if line.struck:
        return "withdrawn" if line.fate is Fate.WITHDRAWN else "replaced"
    return OPEN if last else "earlier"


def _readings(walks: Sequence[_Walk]) -> Iterator[Read]:
    """The last reading of each item, whatever became of its walk."""
    last: dict[str, Read] = {}
    for walk in walks:
        for line in walk.told.readings:
            body = line.entry.body
            read = bodies.part(body, "reading")
            item = bodies.text(body, "item")
            value, unit = bodies.text(read, "value"), bodies.text(read, "unit")
            last[item] = Read(item, value, unit, line.entry.at.wall)
    yield from last.values()


def _sent_back(walks: Sequence[_Walk]) -> tuple[SentBack, ...]:
    """What a lead sent back and no later walk of the same card has called since."""
    waiting: dict[tuple[str, str], SentBack] = {}
    for walk in walks:
        named = {
            bodies.text(line.entry.body, "item"): bodies.text(line.entry.body, "name")
            for line in walk.told.lines
        }
        for item in named:
            waiting.pop((walk.card, item), None)
        for item, entry in answers(walk.entries).sent_back.items():
            name = named.get(item) or item.replace("-", " ")
            reason = bodies.text(entry.body, "reason")
            waiting[walk.card, item] = SentBack(item, name, reason, entry.at.wall)
    return tuple(waiting.values())


def _skipped(walks: Sequence[_Walk], card: Card) -> Iterator[Skipped]:
    """Critical items that were left out oftener than once."""
    left = Counter(
        item
        for walk in walks
        for item, result in walk.told.results.items()
        if result == NOT_INSPECTED
    )
    for item in card:
        if item.critical and left[item.id] >= LEFT_OUT:
            yield Skipped(item.id, item.name, str(left[item.id]), str(len(walks)))
