"""What an inspection asks: stations in walking order, each with its items.

Plain frozen data. Reading a card from a file is ``card.load``; judging whether a card is
fit for use is ``card.checks``. Nothing here knows about aircraft.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Decimal
from enum import StrEnum
from functools import cached_property
from itertools import pairwise

from voicewalk.card.rules import EntryFields, Release, StatusRule, Validity


class Kind(StrEnum):
    """How an item is answered."""

    CONDITION = "condition"  # satisfactory, or a discrepancy
    STATE = "state"  # one of the item's own states ("off", "latched")
    READING = "reading"  # a number with a unit, judged by a limit
    COUNT = "count"  # how many, judged by the number expected
    SERVICING = "servicing"  # the quantity before and after, the latter judged by a limit


class Side(StrEnum):
    """The side of a mirrored item; ``NONE`` for an item that stands once."""

    LEFT = "left"
    RIGHT = "right"
    NONE = ""


class Readback(StrEnum):
    """What the tool says after an item is recorded."""

    SHORT = "short"  # the item's name and the result
    FULL = "full"  # all values, digit by digit
    CONFIRM = "confirm"  # all values, and nothing is recorded before "affirm"


class GoBack(StrEnum):
    """Which items are done again after an interruption."""

    THREE = "back three"  # the last three that were called
    STATION = "station"  # all of the station where the walk was
    RESUME = "resume"  # none


@dataclass(frozen=True, slots=True)
class State:
    """An allowed state of an item.

    Attributes:
        name: the state as the record keeps it ("latched").
        words: other ways to say it, besides ``name``.
        good: whether this is the state the card wants. Any other is a discrepancy.
        stays_open: a state on the way to the good one ("installed"): a fact that is kept, and
            neither a discrepancy nor the end of the item.
    """

    name: str
    words: tuple[str, ...]
    good: bool
    stays_open: bool = False


@dataclass(frozen=True, slots=True)
class Limit:
    """What a reading must lie between, both ends included; ``None`` is an open end."""

    low: Decimal | None
    high: Decimal | None
    unit: str
    reference: str

    def holds(self, value: Decimal) -> bool:
        """Whether ``value``, in this limit's unit, is within it."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True, slots=True)
class Band:
    """What follows from a reading at or above ``low`` and below ``high``; ``None`` is open."""

    low: Decimal | None
    high: Decimal | None
    then: str

    def holds(self, value: Decimal) -> bool:
        """Whether ``value`` lies in it."""
        return (self.low is None or value >= self.low) and (self.high is None or value < self.high)


@dataclass(frozen=True, slots=True)
class Chart:
    """The least reading for each reading of another item, such as a temperature.

    Attributes:
        at: id of that item.
        points: its values and the least readings there, ascending; at least two.
    """

    at: str
    points: tuple[tuple[Decimal, Decimal], ...]
    reference: str

    def value(self, at: Decimal) -> Decimal | None:
        """The least reading, on the straight line between points; ``None`` outside them.

        Rounded up to a tenth: what is spoken is what is judged by, and never less than the line.
        """
        for (left, low), (right, high) in pairwise(self.points):
            if left <= at <= right:
                exact = low + (high - low) * (at - left) / (right - left)
                tenth = exact.quantize(Decimal("0.1"), ROUND_CEILING)
                return tenth if tenth % 1 else tenth.quantize(Decimal(1))
        return None


@dataclass(frozen=True, slots=True)
class Classes:
    """Into which class a scheme puts a finding, by its size.

    A size on the border of two classes is in the worse: each begins with its own border.

    Attributes:
        scheme: its name; schemes differ, so that a class without it says nothing.
        of: the defects that are measured by it.
        steps: the least size of each class and its name, ascending.
    """

    scheme: str
    reference: str
    unit: str
    of: tuple[str, ...]
    steps: tuple[tuple[Decimal, str], ...]

    def of_size(self, size: Decimal) -> str:
        """The class of a size in ``unit``; "" below the first."""
        return next((name for least, name in reversed(self.steps) if size >= least), "")


@dataclass(frozen=True, slots=True)
class Agreement:
    """By how much the readings of two sides may differ."""

    within: Decimal
    reference: str


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to inspect.

    Attributes:
        id: stable name in the record, unique in the card ("left-main-tyre-pressure").
        group: the id shared by the two sides of a mirrored item; equals ``id`` otherwise.
        station: id of the station it belongs to.
        name: how it is called aloud, side included ("left main tyre pressure").
        aliases: other spoken names, side included.
        bare_names: for a mirrored item, the names without a side: they lead to the question
            which side. Empty otherwise.
        states: for ``Kind.STATE``; at least one good and one not good. For ``Kind.COUNT``, what
            is counted one after the other ("installed", "removed"), the last of which closes
            the item where all numbers are the same; none for a plain count. For
            ``Kind.SERVICING``, what is said before the first and the last quantity ("before",
            "after").
        unit: for ``Kind.READING`` and ``Kind.SERVICING``, the unit's name in ``language.units``.
        other_units: further units in which it may be read; nothing is converted.
        limit: for both; ``None`` where the reading is only written down.
        other_limits: the limits in those other units that have one.
        bands: for ``Kind.READING``, what follows from it; the first that fits counts.
        chart: for ``Kind.READING``, in the place of a limit.
        agrees: for ``Kind.READING`` with two sides.
        classes: how a finding is classed by its size.
        expected: for ``Kind.COUNT``, how many there should be.
        places: for ``Kind.COUNT``, ids of the items that are counted, each called by itself.
        both: one call may be of both sides.
        defects: families of defect words of the vocabulary that fit this item.
        hold: who must confirm it, such as "crew chief": nothing after it is called good before. ""
            for an item that is no hold point.
        action: what is done before it is answered ("switch on"); told when the item is named.
        critical: a more critical item needs a surer hearing.
        second: a second person confirms what was called of it.
        needs: ids of items that should be closed before; told as a caution.
        reopened_by: ids of items whose new entry opens this one again.
        line: line in the card's file, for messages.
    """

    id: str
    group: str
    station: str
    name: str
    aliases: tuple[str, ...]
    bare_names: tuple[str, ...]
    side: Side
    kind: Kind
    states: tuple[State, ...] = ()
    unit: str = ""
    other_units: tuple[str, ...] = ()
    limit: Limit | None = None
    other_limits: tuple[Limit, ...] = ()
    bands: tuple[Band, ...] = ()
    chart: Chart | None = None
    agrees: Agreement | None = None
    classes: Classes | None = None
    expected: int | None = None
    places: tuple[str, ...] = ()
    both: bool = False
    defects: tuple[str, ...] = ()
    hold: str = ""
    action: str = ""
    critical: bool = False
    second: bool = False
    readback: Readback = Readback.SHORT
    needs: tuple[str, ...] = ()
    reopened_by: tuple[str, ...] = ()
    line: int = 0

    @property
    def units(self) -> tuple[str, ...]:
        """The units in which it may be read."""
        return (self.unit, *self.other_units) if self.unit else ()

    def limit_in(self, unit: str) -> Limit | None:
        """The limit of a reading in this unit."""
        limits = (self.limit, *self.other_limits)
        return next((one for one in limits if one and one.unit == unit), None)

    @property
    def balances(self) -> bool:
        """Whether it is a count whose numbers, or whose places, must agree."""
        return self.kind is Kind.COUNT and bool(self.states or self.places)


Point = tuple[Decimal, Decimal]
"""A place in the plan drawing: x to the right, 0 to 100, and y downwards, 0 to 200."""


@dataclass(frozen=True, slots=True)
class Station:
    """A place on the walk. ``phase`` is a heading such as "power off".

    Attributes:
        at: where the plan drawing shows it; ``None`` on a card without places.
    """

    id: str
    name: str
    phase: str
    items: tuple[Item, ...]
    at: Point | None = None


@dataclass(frozen=True)
class Card:
    """A whole inspection.

    Attributes:
        subject: what is inspected, in one word as it is spoken ("aircraft", "vehicle").
        vocabularies: names of the vocabulary files whose words the card uses.
        caution: the caution shown and spoken at the start and the end.
        after_interruption: what is done again after one, once the identity was said; ``None``
            where the card has no rule, and nothing is asked.
        stand_by_seconds: standing by for longer is an interruption; ``None`` for never.
        entry_fields: fields left blank on a printed summary; ``None`` for none.
        outline: corners of the subject's shape in the plan drawing; empty for none.
        release: ``None`` where the card leaves a release to other papers.
        silent_seconds: so is saying nothing for longer.
        identity_said: the identity is said at the start, before anything else.
        valid: how long a walk counts; ``None`` where the card does not say.
        status: ``None`` where discrepancies get no status.
        digest: SHA-256 of the card's file, hex; the record keeps it.
        texts: the bytes of the vocabularies' files by name, and of the card's own by the name
            "": the record keeps them.
    """

    id: str
    title: str
    version: str
    subject: str
    caution: str
    vocabularies: tuple[str, ...]
    stations: tuple[Station, ...]
    after_interruption: GoBack | None = None
    stand_by_seconds: int | None = None
    entry_fields: EntryFields | None = None
    outline: tuple[Point, ...] = ()
    release: Release | None = None
    silent_seconds: int | None = None
    identity_said: bool = False
    valid: Validity | None = None
    status: StatusRule | None = None
    digest: str = ""
    path: str = field(default="", compare=False)
    texts: Mapping[str, bytes] = field(default_factory=dict, compare=False, repr=False)

    def __iter__(self) -> Iterator[Item]:
        """All items in walking order."""
        return (item for station in self.stations for item in station.items)

    def __len__(self) -> int:
        """How many items, each side counted."""
        return len(self.by_id)

    @cached_property
    def second(self) -> tuple[str, ...]:
        """Ids of the items that a second person confirms; none where nobody is needed."""
        return tuple(item.id for item in self if item.second)

    @cached_property
    def holds(self) -> tuple[str, ...]:
        """Ids of the hold points."""
        return tuple(item.id for item in self if item.hold)

    @cached_property
    def place(self) -> dict[str, int]:
        """Which item is the how manieth of the walk, from 0."""
        return {item: n for n, item in enumerate(self.by_id)}

    @cached_property
    def counts_of(self) -> dict[str, tuple[str, ...]]:
        """By id of a place, the ids of the counts that it is a place of."""
        return _turned_round((item.id, item.places) for item in self)

    @cached_property
    def opened_by(self) -> dict[str, tuple[str, ...]]:
        """By id of an item, the ids of those that its new entry opens again: the card says so, or
        they are judged by what is read of it."""
        return _turned_round(
            (item.id, (*item.reopened_by, *((item.chart.at,) if item.chart else ())))
            for item in self
        )

    @property
    def vocabulary_digests(self) -> dict[str, str]:
        """SHA-256 (hex) of each vocabulary's file by name."""
        named = {name: text for name, text in self.texts.items() if name}
        return {name: hashlib.sha256(text).hexdigest() for name, text in named.items()}

    @cached_property
    def by_id(self) -> dict[str, Item]:
        """Items by id, in walking order."""
        return {item.id: item for item in self}

    @cached_property
    def groups(self) -> dict[str, tuple[Item, ...]]:
        """Items by group: one item, or the two sides of a mirrored one."""
        groups: dict[str, tuple[Item, ...]] = {}
        for item in self:
            groups[item.group] = (*groups.get(item.group, ()), item)
        return groups


def _turned_round(
    references: Iterable[tuple[str, tuple[str, ...]]],
) -> dict[str, tuple[str, ...]]:
    """By what is referred to, who refers to it; nobody to himself."""
    found: dict[str, dict[str, None]] = {}
    for one, others in references:
        for other in others:
            if other != one:
                found.setdefault(other, {})[one] = None
    return {other: tuple(ones) for other, ones in found.items()}
