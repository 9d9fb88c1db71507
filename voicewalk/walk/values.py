"""The values of a result as the record keeps them: readings, counts, defects.

Pure data. How a value is judged is ``rules``'.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from voicewalk.card.model import Agreement, Limit
from voicewalk.walk.messages import Json


def telling(**fields: object) -> Json:
    """Only the fields that say something; ``False`` does."""
    return {name: value for name, value in fields.items() if value not in (None, "", [], {})}


def joined(*parts: str) -> str:
    """The parts that say something, as one text."""
    return " ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading as said and as judged.

    Attributes:
        spoken: the words of the call that brought it.
        value: decimal string in ``unit``; never converted.
        within: whether ``limit`` holds; ``None`` where there is no limit.
        why: why it could not be judged, and its item is open.
        then: what the card says follows from it.
        other, difference: the other side's reading, and by how much this one differs.
        agrees: by how much it may.
        before, added: of servicing, the quantity found, and by how much it is more now.
        estimate: what the gas law gives where the chart has no value; no limit.
    """

    spoken: str
    value: str
    unit: str
    within: bool | None = None
    limit: Limit | None = None
    why: str = ""
    then: str = ""
    other: str = ""
    difference: str = ""
    agrees: Agreement | None = None
    before: str = ""
    added: str = ""
    estimate: str = ""

    def to_json(self) -> Json:
        """Only the fields that say something."""
        tolerance = self.agrees and {
            "within": plain(self.agrees.within),
            "reference": self.agrees.reference,
        }
        return telling(
            spoken=self.spoken,
            value=self.value,
            unit=self.unit,
            within=self.within,
            limit=self.limit and _bounds(self.limit),
            why=self.why,
            then=self.then,
            other=self.other,
            difference=self.difference,
            agrees=tolerance,
            before=self.before,
            added=self.added,
            estimate=self.estimate,
        )


def _bounds(limit: Limit) -> Json:
    return telling(
        low=plain(limit.low), high=plain(limit.high), unit=limit.unit, reference=limit.reference
    )


def plain(value: Decimal | None) -> str:
    """A decimal in plain notation, "" for none."""
    return "" if value is None else format(value, "f")


@dataclass(frozen=True, slots=True)
class Counted:
    """A number that was counted before: of what, in which entry, by whom."""

    state: str
    seen: str
    entry: int
    by: str

    def to_json(self) -> Json:
        """Only the fields that say something."""
        return telling(state=self.state, seen=self.seen, entry=self.entry, by=self.by)


@dataclass(frozen=True, slots=True)
class Count:
    """How many were seen, and how many there should be ("" where the card does not say).

    Attributes:
        open: of a count that must balance, how many are still to be accounted for.
        not_called: ids of its places that are not called as the card wants them.
        counted: what was counted of it before.
    """

    seen: str
    expected: str = ""
    open: str = ""
    not_called: tuple[str, ...] = ()
    counted: tuple[Counted, ...] = ()

    def to_json(self) -> Json:
        """Only the fields that say something."""
        return telling(
            seen=self.seen,
            expected=self.expected,
            open=self.open,
            not_called=list(self.not_called),
            counted=[one.to_json() for one in self.counted],
        )


@dataclass(frozen=True, slots=True)
class Defect:
    """What is wrong.

    Attributes:
        size: a decimal string in ``size_unit``.
        scheme: by which the card classes it.
        grade: its class by that, "" where no size in the scheme's unit was said.
    """

    defect: str
    place: str = ""
    size: str = ""
    size_unit: str = ""
    scheme: str = ""
    grade: str = ""

    def to_json(self) -> Json:
        """Only the fields that say something."""
        return telling(
            defect=self.defect,
            place=self.place,
            size=self.size,
            size_unit=self.size_unit,
            scheme=self.scheme,
            grade=self.grade,
        )
