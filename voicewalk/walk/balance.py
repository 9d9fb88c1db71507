"""Counts that must balance: what was fitted has been removed, and every place was called.

Pure. A number never fills a place, and a place never fills a number: each is called by itself,
and the item is closed when both agree. What others fitted counts like one's own (ATSB
AO-2018-053: three covers fitted by a helper, and the certifier did not know).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from voicewalk.card.model import Card, Item
from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger, Standing
from voicewalk.walk.terms import Result
from voicewalk.walk.values import Counted, Defect

WRONG_COUNT = "wrong count"
NOT_DONE = (Result.NOT_INSPECTED, Result.NOT_APPLICABLE)


@dataclass(frozen=True, slots=True)
class Balance:
    """How a count stands.

    Attributes:
        seen: how many are as the card wants them.
        target: how many there must be: as many as were counted first, else as the card says.
        not_called: ids of the places that are not called as the card wants them.
    """

    seen: int
    target: int
    not_called: tuple[str, ...]


def balance(ledger: Ledger, item: Item, kept: tuple[Standing, ...]) -> Balance:
    """How the count of ``item`` stands by the entries ``kept`` of it and of its places."""
    counts = ((one.entered.state, one.entered.count) for one in kept)
    numbers = {state: int(count.seen) for state, count in counts if count}
    called = [place for place in item.places if ledger.result(place) is Result.SATISFACTORY]
    first = item.states[0].name if item.states else ""
    closing = item.states[-1].name if item.states else ""
    return Balance(
        seen=len(called) if item.places else numbers.get(closing, 0),
        target=numbers.get(first, item.expected or 0) if first != closing else item.expected or 0,
        not_called=tuple(place for place in item.places if place not in called),
    )


def weighed(ledger: Ledger, item: Item, new: Entered, inspector: str) -> Entered:
    """``new``, an entry of a count that must balance, with how it balances.

    It closes the item only where it is the last of what is counted, all numbers counted before
    are the same, and every place was called.
    """
    kept = ledger.of(item.id)
    if new.result in NOT_DONE:
        return replace(new, result=Result.OPEN) if _begun(ledger, item, kept) else new
    if new.count is None:
        return new
    before = tuple(one for one in kept if _earlier(item, one.entered, new))
    stands, seen = balance(ledger, item, before), int(new.count.seen)
    closing = not item.states or new.state == item.states[-1].name
    missing = max(stands.target - seen, len(stands.not_called)) if closing else 0
    count = replace(
        new.count,
        expected=str(stands.target if closing else item.expected),
        open=str(missing or ""),
        not_called=stands.not_called if closing else (),
        counted=tuple(map(_counted, before)),
    )
    new = replace(new, count=count, by=new.by or inspector, result=Result.OPEN, discrepancy=None)
    numbers = {str(seen), *(one.seen for one in count.counted)}
    if not closing or stands.not_called or len(numbers) > 1 or seen != stands.target:
        return new
    if seen == item.expected:
        return replace(new, result=Result.SATISFACTORY)
    return replace(new, result=Result.DISCREPANCY, discrepancy=Defect(WRONG_COUNT))


def replaced(item: Item, kept: tuple[Standing, ...], new: Entered) -> int:
    """Number of the entry that a new number replaces, with the later ones; 0 for none. What was
    counted before stays; what comes after it must be counted again."""
    later = (one.seq for one in kept if one.entered.count and not _earlier(item, one.entered, new))
    return next(later, 0)


def shaken(card: Card, ledger: Ledger, items: Iterable[str]) -> tuple[str, ...]:
    """Ids of the closed counts of which one of ``items`` is a place: they are to be counted
    again when that place is not as it was counted."""
    counts = {count for item in items for count in card.counts_of.get(item, ())}
    return tuple(
        sorted((one for one in counts if not ledger.is_open(one)), key=card.place.__getitem__)
    )


def _earlier(item: Item, old: Entered, new: Entered) -> bool:
    """Whether ``old`` counts what is counted before what ``new`` counts."""
    order = [state.name for state in item.states]
    return (
        old.count is not None
        and old.state != new.state
        and (order.index(old.state) < order.index(new.state))
    )


def _begun(ledger: Ledger, item: Item, kept: tuple[Standing, ...]) -> bool:
    """Whether something was counted, or seen fitted: it cannot be left uncounted any more."""
    some = (one.entered for place in item.places for one in ledger.of(place))
    counted = any(one.entered.count for one in kept)
    return counted or any(one.result not in NOT_DONE for one in some)


def _counted(one: Standing) -> Counted:
    seen = one.entered.count.seen if one.entered.count else ""
    return Counted(one.entered.state, seen, one.seq, one.entered.by)
