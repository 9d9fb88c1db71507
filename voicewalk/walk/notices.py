"""What is told and must be acknowledged, one by one, before a walk goes on: what earlier records
say of the aircraft, and at a hand-over what is open, removed or promised. Pure.

A message that nobody answers is not acknowledged: an unchallenged readback proves nothing
(Monan, NASA CR-177398).
"""

from __future__ import annotations

from collections.abc import Iterator

from voicewalk.card.model import Card, Item
from voicewalk.walk.balance import balance
from voicewalk.walk.earlier import OPEN, Earlier
from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger
from voicewalk.walk.messages import Say
from voicewalk.walk.terms import Result
from voicewalk.walk.values import Defect, joined


def at_start(earlier: Earlier) -> tuple[Say, ...]:
    """What earlier records leave to whoever walks now: open discrepancies, what a lead sent
    back, and critical items that were left out more than once."""
    return tuple(_at_start(earlier))


def _at_start(earlier: Earlier) -> Iterator[Say]:
    for sent in earlier.sent_back:
        yield Say(
            "earlier-sent-back", {"item": sent.name, "reason": sent.reason, "when": sent.wall}
        )
    for found in earlier.found:
        if found.fate == OPEN:
            size = {"size": found.size, "size_unit": found.size_unit}
            where = {"item": found.name, "defect": found.defect, "place": found.place}
            told = {**where, **size, "status": found.status, "when": found.wall}
            yield Say("earlier-discrepancy", told)
    for left in earlier.skipped:
        yield Say("earlier-skipped", {"item": left.name, "times": left.times, "walks": left.walks})


def at_hand_over(card: Card, ledger: Ledger, names_spoken: int) -> tuple[Say, ...]:
    """What whoever takes over must know: each critical item that is begun and open, each count
    that does not balance, the other items begun, the discrepancies, and how many are not called.
    """
    return tuple(_at_hand_over(card, ledger, names_spoken))


def _at_hand_over(card: Card, ledger: Ledger, few: int) -> Iterator[Say]:
    begun = [item for item in card if ledger.of(item.id) and ledger.is_open(item.id)]
    alone = [item for item in begun if item.critical or item.balances]
    for item in alone:
        if item.balances:
            yield _count(card, ledger, item, few)
        else:
            yield Say("hand-over-item", {"item": item.name, "known": known(ledger, item.id)})
    others = [item.name for item in begun if item not in alone]
    if others:
        yield Say("hand-over-begun", {"count": str(len(others)), "names": ", ".join(others)})
    bad = [item.name for item in card if ledger.result(item.id) is Result.DISCREPANCY]
    if bad:
        yield Say("hand-over-discrepancies", {"count": str(len(bad)), "names": ", ".join(bad)})
    missing = [item.name for item in card if not ledger.of(item.id)]
    names = ", ".join(missing[:few])
    yield Say("hand-over-not-called", {"count": str(len(missing)), "names": names})


def _count(card: Card, ledger: Ledger, item: Item, few: int) -> Say:
    stands = balance(ledger, item, ledger.of(item.id))
    names = ", ".join(card.by_id[place].name for place in stands.not_called[:few])
    seen = {"seen": str(stands.seen), "expected": str(stands.target)}
    return Say("hand-over-count", {"item": item.name, **seen, "names": names})


def known(ledger: Ledger, item: str) -> str:
    """The standing discrepancies of an item and what is open, so that none vanishes unheard."""
    standing = (one.entered for one in ledger.of(item))
    beside = (Result.DISCREPANCY, Result.OPEN)
    return ", ".join(_known(one) for one in standing if one.result in beside)


def _known(entered: Entered) -> str:
    if entered.discrepancy:
        return _wrong(entered, entered.discrepancy)
    return joined(entered.state, entered.owner, entered.reason)


def _wrong(entered: Entered, defect: Defect) -> str:
    """A discrepancy in plain text, with the reading that showed it."""
    reading = joined(entered.reading.value, entered.reading.unit) if entered.reading else ""
    return joined(reading, defect.defect, defect.size, defect.size_unit, defect.place)
