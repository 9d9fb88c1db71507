"""What earlier records say of the same aircraft or vehicle, as far as a walk needs it.

Pure data, made by ``record.history`` and kept in the walk's first entry, so that a record can be
replayed without those it refers to. What is said of it is ``notices``'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from decimal import Decimal
from typing import TypeVar, cast

from voicewalk.walk.messages import Json
from voicewalk.walk.values import telling

OPEN = "open"
"""The fate of a discrepancy that neither was withdrawn nor gave way to a good result."""


@dataclass(frozen=True, slots=True)
class Found:
    """An earlier discrepancy.

    Attributes:
        item, name: of the card that it was found with.
        wall: when it was called, RFC 3339.
        fate: ``OPEN``, or what became of it ("withdrawn", "replaced").
        status: that it was given on the form.
    """

    item: str
    name: str
    wall: str
    fate: str
    defect: str
    place: str = ""
    size: str = ""
    size_unit: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True)
class Read:
    """The last reading of an item."""

    item: str
    value: str
    unit: str
    wall: str


@dataclass(frozen=True, slots=True)
class SentBack:
    """An item that a lead has sent back to be inspected again."""

    item: str
    name: str
    reason: str
    wall: str


@dataclass(frozen=True, slots=True)
class Skipped:
    """A critical item that was not inspected in some of the last walks."""

    item: str
    name: str
    times: str
    walks: str


_Part = TypeVar("_Part", Found, Read, SentBack, Skipped)


@dataclass(frozen=True)
class Earlier:
    """All of it.

    Attributes:
        wall: when the last walk of this card was closed, "" for none.
        expired: the hours after which such a walk does not count any more, where it is older;
            else "".
    """

    wall: str = ""
    expired: str = ""
    found: tuple[Found, ...] = ()
    readings: tuple[Read, ...] = ()
    sent_back: tuple[SentBack, ...] = ()
    skipped: tuple[Skipped, ...] = field(default=())

    def to_json(self) -> Json:
        """Only what says something; the inverse of ``from_json``."""
        parts = {name: [telling(**asdict(one)) for one in getattr(self, name)] for name in _PARTS}
        return telling(wall=self.wall, expired=self.expired, **parts)

    @classmethod
    def from_json(cls, data: Json) -> Earlier:
        """Read what ``to_json`` wrote. Raises ``ValueError`` on anything else."""
        known = {one.name for one in fields(cls)}
        if unknown := set(data) - known:
            raise ValueError(f"unknown fields of earlier records: {sorted(unknown)}")
        return cls(
            wall=_text(data.get("wall", "")),
            expired=_text(data.get("expired", "")),
            found=_listed(data, "found", Found),
            readings=_listed(data, "readings", Read),
            sent_back=_listed(data, "sent_back", SentBack),
            skipped=_listed(data, "skipped", Skipped),
        )

    def seen_before(self, item: str, defect: str) -> str:
        """When the same was found last at this item, also where it was withdrawn; "" for never."""
        same = (one.wall for one in self.found if (one.item, one.defect) == (item, defect))
        return max(same, default="")

    def last_reading(self, item: str, unit: str) -> Read | None:
        """The last reading of an item in this unit."""
        return next((one for one in self.readings if (one.item, one.unit) == (item, unit)), None)


_PARTS = ("found", "readings", "sent_back", "skipped")


def is_far(value: str, last: Read, share: Decimal) -> bool:
    """Whether a reading differs from the last one by more than ``share`` of that."""
    before = Decimal(last.value)
    return abs(Decimal(value) - before) > abs(before) * share


def _listed(data: Json, name: str, part: type[_Part]) -> tuple[_Part, ...]:
    given = data.get(name, [])
    if not isinstance(given, list) or not all(isinstance(one, Mapping) for one in given):
        raise ValueError(f"'{name}' is no list of objects: {given!r}")
    try:
        return tuple(
            part(**{key: _text(value) for key, value in cast(Json, one).items()}) for one in given
        )
    except TypeError as error:
        raise ValueError(f"'{name}': {error}") from error


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"no text: {value!r}")
    return value
