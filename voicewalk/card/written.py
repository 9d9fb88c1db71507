"""A card as people write it in YAML; the shape only. ``card.sides`` makes items of it.

The kind of an item is told by its key: ``state``, ``reading``, ``count`` or ``servicing``; an item
with none of them is answered by its condition.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from voicewalk.card.source import Number, Texts, Written

SideWord = Literal["left", "right"]


def _nothing_to_empty(value: object) -> object:
    """A key without a value reads as empty, so that the check of the card can name it."""
    return "" if value is None else value


WrittenPoint = Annotated[list[Number], Field(min_length=2, max_length=2)]
"""``[x, y]`` in the plan drawing."""

Blank = Annotated[str, BeforeValidator(_nothing_to_empty)]


def _units(value: object) -> object:
    return [] if value is None else [value] if isinstance(value, str) else value


Units = Annotated[list[str], BeforeValidator(_units)]
"""One unit, or a list of units; a key without a value reads as none."""


class WrittenStates(Written):
    """``{good: closed, bad: open / not closed}``; a list holds several states.

    ``on_the_way`` are states that are no discrepancy and leave the item open.
    """

    good: Texts = Field(default_factory=list)
    on_the_way: Texts = Field(default_factory=list)
    bad: Texts = Field(default_factory=list)


class WrittenLimit(Written):
    """Both ends included; an end left out is open."""

    low: Number | None = None
    high: Number | None = None
    unit: Blank = ""
    reference: Blank = ""


class WrittenBand(Written):
    """At or above ``low`` and below ``high``; ``then`` is what follows."""

    low: Number | None = None
    high: Number | None = None
    then: str


class WrittenChart(Written):
    """``{at: item, least: [[20, 1600], [70, 1800]], reference: ...}``, in the reading's unit."""

    at: str
    least: list[list[Number]]
    reference: str


class WrittenClass(Written):
    """A size at ``least`` is of this class, up to the next."""

    least: Number
    name: str


class WrittenClasses(Written):
    """``{scheme: ..., reference: ..., unit: inch, of: [stain], by: [{least: 0.75, ...}]}``."""

    scheme: str
    reference: str
    unit: str
    of: Texts
    by: list[WrittenClass] = Field(min_length=1)


class WrittenAgreement(Written):
    """By how much both sides may differ, in the reading's unit."""

    within: Number
    reference: str


class WrittenDifference(Written):
    """What is different on one side of a mirrored item; a key left out is the same."""

    also: str | None = None
    limit: WrittenLimit | None = None
    count: int | None = Field(default=None, ge=0)
    needs: Texts | None = None
    reopened_by: Texts | None = None


class WrittenItem(Written):
    """One thing to inspect, or both sides of it."""

    name: str
    id: str | None = None
    also: str | None = None
    sides: list[SideWord] = Field(default_factory=list)
    state: WrittenStates | None = None
    reading: Units | None = None
    servicing: Units | None = None
    limit: WrittenLimit | None = None
    other_limits: list[WrittenLimit] = Field(default_factory=list)
    bands: list[WrittenBand] = Field(default_factory=list)
    chart: WrittenChart | None = None
    agrees: WrittenAgreement | None = None
    classes: WrittenClasses | None = None
    count: int | None = Field(default=None, ge=0)
    counted: Texts = Field(default_factory=list)
    places: Texts = Field(default_factory=list)
    both: bool = False
    defects: Texts = Field(default_factory=list)
    critical: bool = False
    second: bool = False
    hold: str | None = None
    action: str | None = None
    readback: Literal["short", "full", "confirm"] | None = None
    needs: Texts = Field(default_factory=list)
    reopened_by: Texts = Field(default_factory=list)
    left: WrittenDifference | None = None
    right: WrittenDifference | None = None


class WrittenValidity(Written):
    """``{hours: 72, flown_hours: 24, reference: ...}``."""

    hours: int = Field(gt=0)
    reference: str
    flown_hours: int | None = Field(default=None, gt=0)


class WrittenStatus(Written):
    """``{order: [x, diagonal], critical: x, usual: diagonal, reference: ...}``: the gravest first,
    each of them in ``statuses`` of a vocabulary."""

    order: Texts
    critical: str
    usual: str
    reference: str


class WrittenStation(Written):
    """A place on the walk; with ``side``, all its items are of that side.

    ``mirrors`` takes the items of the station on the other side, ``without`` some and ``plus``
    others.
    """

    station: str
    phase: str
    id: str | None = None
    at: WrittenPoint | None = None
    side: SideWord | None = None
    items: list[WrittenItem] = Field(default_factory=list)
    mirrors: str | None = None
    without: Texts = Field(default_factory=list)
    plus: list[WrittenItem] = Field(default_factory=list)


class WrittenRelease(Written):
    """The card's own words for a release for maintenance action, and for none."""

    released: Blank = ""
    not_released: Blank = ""


class WrittenFields(Written):
    """Fields to be filled in by hand on a printed summary, and the rule that asks for them."""

    fields: Texts = Field(min_length=1)
    reference: str = Field(min_length=1)


class WrittenCard(Written):
    """A whole card."""

    id: str
    title: str
    version: str
    subject: str
    caution: str
    vocabularies: Texts
    after_interruption: Literal["back three", "station", "resume"] | None = None
    stand_by_seconds: int | None = Field(default=None, gt=0)
    entry_fields: WrittenFields | None = None
    outline: list[WrittenPoint] = Field(default_factory=list)
    release: WrittenRelease | None = None
    silent_seconds: int | None = Field(default=None, gt=0)
    identity_said: bool = False
    valid: WrittenValidity | None = None
    status: WrittenStatus | None = None
    stations: list[WrittenStation]
