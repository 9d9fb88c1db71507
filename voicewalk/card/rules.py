"""What a card rules besides its items: how long a walk counts, which status is proposed, in which
words it is released, what an entry leaves to be written. Pure data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta


@dataclass(frozen=True, slots=True)
class Release:
    """In which words a lead releases what was inspected for maintenance action, or does not.

    The words are the card's: they are no statement that the subject is fit for use.
    """

    released: str
    not_released: str


@dataclass(frozen=True, slots=True)
class EntryFields:
    """What a person writes by hand on a printed summary: names of fields, never their values.

    Attributes:
        reference: the rule that asks for them.
    """

    fields: tuple[str, ...]
    reference: str


@dataclass(frozen=True, slots=True)
class Validity:
    """How long an inspection counts after it was closed, as its own rules say.

    Attributes:
        hours: where nothing happened since.
        flown_hours: from its closing, where it has flown since; ``None`` where that voids it.
    """

    hours: int
    reference: str
    flown_hours: int | None = None

    def holds(self, age: timedelta, *, flown: bool = False) -> bool:
        """Whether it still counts at this age; the last moment is included."""
        hours = self.flown_hours if flown else self.hours
        return hours is not None and age <= timedelta(hours=hours)


@dataclass(frozen=True, slots=True)
class StatusRule:
    """Which status of the form is proposed for a discrepancy: of a critical item, and of another.
    The finder decides. ``order`` holds all of them, the gravest first."""

    order: tuple[str, ...]
    critical: str
    usual: str
    reference: str
