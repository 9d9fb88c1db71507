"""What the second person has confirmed, and what is still to be confirmed. Pure data.

It follows from the entries alone. A confirmation is of one entry: whatever takes that entry's
place is to be confirmed anew. Who is asked what, and what an answer comes to, is
``second_person``'s.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger, Standing
from voicewalk.walk.second_entry import Confirmation
from voicewalk.walk.terms import Finding
from voicewalk.walk.turns import signs


@dataclass(frozen=True, slots=True)
class Confirmations:
    """The second person's part of a walk.

    Attributes:
        name: who it is, "" where nobody was named: then nobody is asked, and nothing confirmed.
        confirmed: numbers of the entries that were confirmed.
        silent: numbers of those that were asked about in vain; they are not asked about again
            before the station ends or the walk is to be closed.
        station: id of the station where the last result was called.
        chased: with that result another station began while some were still to be confirmed.
        answers: how many answers there were; it tells one question's timer from the next.
    """

    name: str = ""
    confirmed: frozenset[int] = frozenset()
    silent: frozenset[int] = frozenset()
    station: str = ""
    chased: bool = False
    answers: int = 0

    def pending(self, ledger: Ledger) -> tuple[Standing, ...]:
        """The entries that are to be confirmed, in their order. Of an item that is open there
        are none: its next result will be."""
        found = (
            one
            for item in ledger.card.second
            if not ledger.is_open(item)
            for one in ledger.of(item)
        )
        waiting = [one for one in found if one.entered.second and one.seq not in self.confirmed]
        return tuple(sorted(waiting, key=lambda one: one.seq))

    def asked(self, ledger: Ledger) -> Standing | None:
        """The one that the second person is asked about: the oldest. It stays the one asked
        about while others come in, so that no answer is taken for another item's."""
        waiting = self.pending(ledger) if self.name else ()
        return next((one for one in waiting if one.seq not in self.silent), None)

    def entered(self, ledger: Ledger, what: Entered) -> Confirmations:
        """After a result, ``ledger`` being the one before it."""
        left = self.station not in ("", what.station)
        chased = left and bool(self.pending(ledger))
        silent = frozenset[int]() if chased else self.silent
        return replace(self, station=what.station, chased=chased, silent=silent)

    def answered(self, what: Confirmation) -> Confirmations:
        """After an answer, or none."""
        confirmed, silent = self.confirmed, self.silent
        if what.finding is Finding.CONFIRMED:
            confirmed = confirmed | {what.entry}
        elif what.finding is Finding.SILENCE:
            silent = silent | {what.entry}
        return replace(self, confirmed=confirmed, silent=silent, answers=self.answers + 1)

    def asked_anew(self) -> Confirmations:
        """All that are still to be confirmed are asked about again, one after the other."""
        return replace(self, silent=frozenset())


def same_person(one: str, other: str) -> bool:
    """Whether two names are one identity: only letters and digits count, and no case."""
    return signs(one.casefold()) == signs(other.casefold())
