"""Readings judged by more than one limit: a chart, the other side, bands with consequences.

Pure. Nothing is judged by a guess: a chart gives no value outside its points, and a reading
without a value of the chart leaves its item open. The gas law is told as an estimate and named so:
at high pressure it misleads (TM 1-1510-262-10: 1250 psig at -30 degrees C where it gives 1325).
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from voicewalk.card import gas
from voicewalk.card.model import Card, Item, Kind, Limit
from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger, Standing
from voicewalk.walk.terms import Result
from voicewalk.walk.values import Defect, Reading, plain

NO_CHART_VALUE = "no chart value"
APART, BELOW = "sides differ", "below limit"


def judged(card: Card, ledger: Ledger, item: Item, new: Entered) -> Entered:
    """``new``, a reading of ``item`` judged by its limit, judged by all else that the card has."""
    if item.kind is Kind.SERVICING:
        new = _serviced(ledger, item, new)
    if item.chart:
        new = _charted(card, ledger, item, new)
    if item.agrees:
        new = _paired(card, ledger, item, new)
    value = _value(new)
    then = next((one.then for one in item.bands if value is not None and one.holds(value)), "")
    return replace(new, reading=replace(new.reading, then=then)) if new.reading and then else new


def serviced(item: Item, kept: tuple[Standing, ...], new: Entered) -> int:
    """Number of the entry that a quantity replaces, with the later ones; 0 for none. The quantity
    found stays beside the one that is left; found again, it begins anew."""
    before = item.states[0].name
    found = (one.seq for one in kept if one.entered.state == before)
    others = (one.seq for one in kept if one.entered.state != before)
    return next(found if new.state == before else others, 0)


def lacks_before(ledger: Ledger, item: Item, state: str, unit: str) -> bool:
    """Whether it is the quantity left, and none found was called in its unit."""
    if item.kind is not Kind.SERVICING or state == item.states[0].name:
        return False
    found = (one.entered for one in ledger.of(item.id) if one.entered.state != state)
    return not any(one.reading and one.reading.unit == unit for one in found)


def _serviced(ledger: Ledger, item: Item, new: Entered) -> Entered:
    """The quantity found leaves the item open; the one left is judged, and only beside it."""
    before = item.states[0].name
    if new.reading is None:
        return new
    if new.state == before:
        read = replace(new.reading, within=None, limit=None, why="")
        return replace(new, result=Result.OPEN, discrepancy=None, reading=read)
    found = [
        one.entered.reading
        for one in ledger.of(item.id)
        if one.entered.state == before and one.entered.reading
    ]
    if not found:
        return new
    added = Decimal(new.reading.value) - Decimal(found[-1].value)
    reading = replace(new.reading, before=found[-1].value, added=plain(added))
    return replace(new, reading=reading)


def _charted(card: Card, ledger: Ledger, item: Item, new: Entered) -> Entered:
    """The least value for the temperature that was read, between the points of the chart.

    Outside them the gas law gives an estimate, which judges nothing.
    """
    chart, value = item.chart, _value(new)
    if chart is None or value is None or new.reading is None:
        return new
    at = _standing(ledger, chart.at)
    low = chart.value(at) if at is not None else None
    if low is None:
        guess = gas.beyond(chart, at, item.unit, card.by_id[chart.at].unit)
        reading = replace(new.reading, why=NO_CHART_VALUE, estimate=guess)
        return replace(new, result=Result.OPEN, reading=reading)
    limit = Limit(low, None, item.unit, chart.reference)
    new = replace(new, reading=replace(new.reading, within=limit.holds(value), limit=limit))
    if limit.holds(value):
        return new
    return replace(new, result=Result.DISCREPANCY, discrepancy=Defect(BELOW))


def _paired(card: Card, ledger: Ledger, item: Item, new: Entered) -> Entered:
    """Both sides agree within a tolerance; the one read later tells where they do not."""
    others = [one for one in card.groups[item.group] if one.id != item.id]
    theirs = _standing(ledger, others[0].id) if others else None
    value = _value(new)
    if theirs is None or value is None or new.reading is None or item.agrees is None:
        return new
    reading = replace(
        new.reading,
        other=format(theirs, "f"),
        difference=format(abs(value - theirs), "f"),
        agrees=item.agrees,
    )
    new = replace(new, reading=reading)
    if abs(value - theirs) <= item.agrees.within or new.result is Result.DISCREPANCY:
        return new
    return replace(new, result=Result.DISCREPANCY, discrepancy=Defect(APART))


def _value(new: Entered) -> Decimal | None:
    return Decimal(new.reading.value) if new.reading else None


def _standing(ledger: Ledger, item: str) -> Decimal | None:
    """The last reading of an item, ``None`` where it is open or none stands."""
    read: list[Reading] = [one.entered.reading for one in ledger.of(item) if one.entered.reading]
    return Decimal(read[-1].value) if read and not ledger.is_open(item) else None
