"""The present result of every item, after all that was corrected, withdrawn and opened again.

Pure. Later entries win; earlier ones stay listed with what became of them. The rules are the
walk's: an entry takes the place of its item's entries from number ``replaces`` on; a withdrawn
entry does not bring back the one that it replaced; an item opened again is open although its
entries stand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from voicewalk.card.model import Card, Item
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry
from voicewalk.walk.messages import Json

SATISFACTORY = "satisfactory"
DISCREPANCY = "discrepancy"
NOT_INSPECTED = "not inspected"
NOT_APPLICABLE = "not applicable"
OPEN = "open"
CONFIRMED = "confirmed"


class Fate(StrEnum):
    """What became of an entry."""

    STANDS = ""
    REPLACED = "replaced by"
    WITHDRAWN = "withdrawn by"
    REOPENED = "open again since"


@dataclass(frozen=True, slots=True)
class Line:
    """An item's entry with what became of it, and by which entry (0 for none)."""

    entry: Entry
    fate: Fate = Fate.STANDS
    by: int = 0

    @property
    def struck(self) -> bool:
        """Whether it counts no more. What was found at an item that is open again still does."""
        return self.fate in (Fate.REPLACED, Fate.WITHDRAWN)

    @property
    def note(self) -> str:
        """What became of it, in words; "" where it stands."""
        return f"{self.fate.value} #{self.by}" if self.by else ""


@dataclass(frozen=True)
class Summary:
    """A walk at the end of its record.

    Attributes:
        started, closed: bodies of these entries; empty where there is none.
        lines: every entry of an item, in order.
        remarks, asked_back, clock_steps, handed_over, confirmations: entries of these kinds, in
            order.
        statuses: by number of a discrepancy, the status that it was given last.
        results: by item id, the present result of each item that is not open.
        begun, ended: wall time of the first and the last entry, "" without any.
    """

    started: Json
    closed: Json
    lines: tuple[Line, ...]
    remarks: tuple[Entry, ...]
    asked_back: tuple[Entry, ...]
    clock_steps: tuple[Entry, ...]
    handed_over: tuple[Entry, ...]
    confirmations: tuple[Entry, ...]
    statuses: dict[int, str]
    results: dict[str, str]
    begun: str
    ended: str

    def count(self, result: str) -> int:
        """How many items have this result."""
        return sum(1 for one in self.results.values() if one == result)

    @property
    def discrepancies(self) -> tuple[Line, ...]:
        """The discrepancies neither replaced nor withdrawn."""
        return tuple(
            line
            for line in self.lines
            if not line.struck and bodies.text(line.entry.body, "result") == DISCREPANCY
        )

    @property
    def readings(self) -> tuple[Line, ...]:
        """The readings neither replaced nor withdrawn."""
        return tuple(
            line
            for line in self.lines
            if not line.struck and bodies.part(line.entry.body, "reading")
        )

    @property
    def unconfirmed(self) -> tuple[Line, ...]:
        """What the second person was to confirm and has not; of open items there is nothing."""
        confirmed = {
            bodies.number(one.body, "entry")
            for one in self.confirmations
            if bodies.text(one.body, "finding") == CONFIRMED
        }
        return tuple(
            line
            for line in self.lines
            if not line.struck
            and line.entry.body.get("second") is True
            and bodies.text(line.entry.body, "item") in self.results
            and line.entry.seq not in confirmed
        )

    @property
    def open_count(self) -> int:
        """How many items of the card have no result."""
        return max(bodies.number(self.started, "items") - len(self.results), 0)


def open_items(card: Card, summary: Summary) -> tuple[Item, ...]:
    """The items of the card without a result, in walking order."""
    return tuple(item for item in card if item.id not in summary.results)


def summary(entries: Iterable[Entry]) -> Summary:
    """Sum up a record's entries, given in order."""
    entries = tuple(one for one in entries if bodies.of_the_walk(one.body))
    of_kind: dict[str, list[Entry]] = {}
    for entry in entries:
        of_kind.setdefault(bodies.kind(entry.body), []).append(entry)
    tally = _Tally()
    for entry in entries:
        tally.take(entry)
    return Summary(
        started=of_kind[bodies.STARTED][0].body if bodies.STARTED in of_kind else {},
        closed=of_kind[bodies.CLOSED][-1].body if bodies.CLOSED in of_kind else {},
        lines=tuple(tally.line(entry) for entry in of_kind.get(bodies.ITEM, [])),
        remarks=tuple(of_kind.get(bodies.REMARK, [])),
        asked_back=tuple(of_kind.get(bodies.ASKED_BACK, [])),
        clock_steps=tuple(of_kind.get(bodies.CLOCK_STEPPED, [])),
        handed_over=tuple(of_kind.get(bodies.HANDED_OVER, [])),
        confirmations=tuple(of_kind.get(bodies.CONFIRMATION, [])),
        statuses={
            bodies.number(one.body, "entry"): bodies.text(one.body, "status")
            for one in of_kind.get(bodies.STATUS, [])
        },
        results=tally.results(),
        begun=entries[0].at.wall if entries else "",
        ended=entries[-1].at.wall if entries else "",
    )


def _left_open(kept: list[Entry]) -> bool:
    """Whether the last of an item's entries leaves it open. A discrepancy does not end that,
    but a number that is wrong and final does."""
    ends = [
        bodies.text(one.body, "result")
        for one in kept
        if bodies.text(one.body, "result") != DISCREPANCY or bodies.part(one.body, "count")
    ]
    return ends[-1:] == [OPEN]


@dataclass
class _Tally:
    """Counting along: which entries stand, by item, and which items are open again."""

    standing: dict[str, list[Entry]] = field(default_factory=dict)
    reopened: dict[str, int] = field(default_factory=dict)
    gone: dict[int, tuple[Fate, int]] = field(default_factory=dict)

    def take(self, entry: Entry) -> None:
        kind = bodies.kind(entry.body)
        if kind == bodies.ITEM:
            self._enter(entry)
        elif kind == bodies.DISREGARDED:
            withdrawn = bodies.number(entry.body, "entry")
            self._remove(lambda one: one.seq == withdrawn, Fate.WITHDRAWN, entry.seq)
        for item in bodies.texts(entry.body, "reopens"):
            self.reopened[item] = entry.seq

    def _enter(self, entry: Entry) -> None:
        item = bodies.text(entry.body, "item")
        replaces = bodies.number(entry.body, "replaces")
        if replaces:
            self._remove(
                lambda one: one.seq >= replaces and bodies.text(one.body, "item") == item,
                Fate.REPLACED,
                entry.seq,
            )
        self.standing.setdefault(item, []).append(entry)
        self.reopened.pop(item, None)

    def _remove(self, which: Callable[[Entry], bool], fate: Fate, by: int) -> None:
        for item, kept in self.standing.items():
            self.gone.update({one.seq: (fate, by) for one in kept if which(one)})
            self.standing[item] = [one for one in kept if not which(one)]

    def line(self, entry: Entry) -> Line:
        """The entry with what has become of it."""
        if entry.seq in self.gone:
            return Line(entry, *self.gone[entry.seq])
        opened = self.reopened.get(bodies.text(entry.body, "item"), 0)
        return Line(entry, Fate.REOPENED, opened) if opened else Line(entry)

    def results(self) -> dict[str, str]:
        """By item: a discrepancy outweighs all, else the last entry counts."""
        found = {}
        for item, kept in self.standing.items():
            if kept and item not in self.reopened and not _left_open(kept):
                said = [bodies.text(one.body, "result") for one in kept]
                found[item] = DISCREPANCY if DISCREPANCY in said else said[-1]
        return found
