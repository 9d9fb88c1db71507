"""The status that a finder gives to a discrepancy: proposed by the card, decided by the finder.

Pure. A status is a word of the aircraft's form, kept beside the discrepancy. A graver one may be
given at any time; a lesser one is read back, and the record tells what it was: nobody lowers it in
silence (DA PAM 750-8 as told in PS Magazine 691: it is the finder's judgement). Without an answer a
discrepancy has no status, and that is told.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import ClassVar

from voicewalk.card.model import Card, Item
from voicewalk.language.meaning import Act, Meaning
from voicewalk.walk.messages import Json
from voicewalk.walk.terms import Utterance
from voicewalk.walk.values import telling


@dataclass(frozen=True, slots=True)
class Stated:
    """A status was given.

    Attributes:
        entry: number of the discrepancy that it is of.
        proposed: what the card proposed.
        was: the graver status that it had, "" where it is not lowered.
    """

    kind: ClassVar[str] = "status"
    item: str
    entry: int
    status: str
    proposed: str
    was: str = ""

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(
            item=self.item,
            entry=self.entry,
            status=self.status,
            proposed=self.proposed,
            was=self.was,
        )


@dataclass(frozen=True, slots=True)
class Statuses:
    """By number of a discrepancy, the status that it has."""

    given: dict[int, str] = field(default_factory=dict)

    def of(self, entry: int) -> str:
        """The status of a discrepancy, "" for none."""
        return self.given.get(entry, "")

    def stated(self, what: Stated) -> Statuses:
        """With one more."""
        return replace(self, given={**self.given, what.entry: what.status})


def proposed(card: Card, item: Item) -> str:
    """What the card proposes for a discrepancy of an item, "" where it has no rule."""
    if card.status is None:
        return ""
    return card.status.critical if item.critical else card.status.usual


def question(card: Card, item: Item) -> Utterance:
    """The call that "affirm" would accept: the status proposed."""
    return Utterance(Meaning(Act.STATUS, item=item.id, state=proposed(card, item)), "")


def lowered(card: Card, old: str, new: str) -> bool:
    """Whether ``new`` is less grave than ``old``."""
    order = card.status.order if card.status else ()
    known = old in order and new in order
    return known and order.index(new) > order.index(old)
