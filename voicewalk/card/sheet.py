"""What stands on a card's printed pages, as plain data in walking order: for the day on which no
device works.

Pure. How a page looks is told by the template in ``paper``; the words of results come from the
card's vocabulary and are handed in.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from voicewalk.card.model import Band, Card, Chart, Item, Kind, Limit

Json = dict[str, object]


def card_sheet(card: Card, results: tuple[str, str, str], printed: str) -> Json:
    """The data of ``Template.CARD``.

    Args:
        results: the words for "satisfactory", "not inspected" and "not applicable".
        printed: the day of printing, as it is to be read.
    """
    satisfactory, *closing = results
    numbers = {item.id: str(n) for n, item in enumerate(card, 1)}
    asked = card.entry_fields
    return {
        "title": f"{card.title}, paper card",
        "heading": card.title,
        "subject": card.subject,
        "about": f"{card.id}, version {card.version}, printed {printed}",
        "digest": card.digest,
        "caution": card.caution,
        "stations": [
            {
                "name": station.name,
                "phase": station.phase,
                "items": [
                    {
                        "number": numbers[item.id],
                        "name": item.name,
                        "critical": item.critical,
                        "notes": list(_notes(item, card, numbers)),
                        "boxes": [*_boxes(item, satisfactory), *closing],
                        "blanks": list(_blanks(item)),
                        "hold": item.hold,
                        "second": item.second,
                    }
                    for item in station.items
                ],
            }
            for station in card.stations
        ],
        "fields": list(asked.fields) if asked else [],
        "reference": asked.reference if asked else "",
    }


def _boxes(item: Item, satisfactory: str) -> Iterator[str]:
    """What may be ticked besides the results that any item can have."""
    if item.kind is Kind.CONDITION:
        yield satisfactory
    elif item.kind is Kind.STATE:
        yield from (state.name for state in item.states)


def _blanks(item: Item) -> Iterator[list[str]]:
    """What is written: each with what stands before and behind the line."""
    if item.kind is Kind.READING:
        yield ["", " / ".join(item.units)]
    elif item.kind is Kind.SERVICING:
        yield from ([state.name, " / ".join(item.units)] for state in item.states)
    elif item.kind is Kind.COUNT:
        behind = f"of {item.expected}"
        yield from ([state.name, behind] for state in item.states)
        if not item.states:
            yield ["", behind]


def _notes(item: Item, card: Card, numbers: dict[str, str]) -> Iterator[str]:
    """What the paper has to say where nobody speaks: what to do, what must be, what follows."""
    if item.action:
        yield f"first: {item.action}"
    if item.needs:
        yield f"after {_named(item.needs, card, numbers)}"
    if on_the_way := [
        state.name for state in item.states if state.stays_open and item.kind is Kind.STATE
    ]:
        yield f"{', '.join(on_the_way)}: leaves it open"
    yield from (_limit(limit) for limit in (item.limit, *item.other_limits) if limit)
    if item.chart:
        yield _chart(item.chart, item.unit, card, numbers)
    yield from (f"{_span(band, item.unit)}: {band.then}" for band in item.bands)
    if item.classes:
        steps = ", ".join(f"{name} from {least}" for least, name in item.classes.steps)
        what = f"{item.classes.scheme}: {steps} {item.classes.unit}"
        yield f"{what}; {item.classes.reference}"
    if item.agrees:
        within = f"both sides within {item.agrees.within} {item.unit} of each other"
        yield f"{within}; {item.agrees.reference}"
    if item.places:
        yield f"counts {_named(item.places, card, numbers)}"
    if item.reopened_by:
        yield f"again after {_named(item.reopened_by, card, numbers)}"


def _named(ids: tuple[str, ...], card: Card, numbers: dict[str, str]) -> str:
    return ", ".join(f"{card.by_id[one].name} ({numbers[one]})" for one in ids)


def _limit(limit: Limit) -> str:
    return f"limit: {_between(limit.low, limit.high)} {limit.unit}; {limit.reference}"


def _between(low: Decimal | None, high: Decimal | None) -> str:
    if low is not None and high is not None:
        return f"{low} to {high}"
    return f"at least {low}" if low is not None else f"at most {high}"


def _chart(chart: Chart, unit: str, card: Card, numbers: dict[str, str]) -> str:
    at = card.by_id[chart.at]
    points = ", ".join(f"{least} {unit} at {value} {at.unit}" for value, least in chart.points)
    read = f"by {at.name} ({numbers[at.id]}), on the straight line between points"
    return f"least: {points}, {read}; {chart.reference}"


def _span(band: Band, unit: str) -> str:
    """A band as it is read: its low end belongs to it, its high end does not."""
    low = f"from {band.low}" if band.low is not None else ""
    high = f"below {band.high}" if band.high is not None else ""
    return f"{' '.join(filter(None, (low, high)))} {unit}".strip()
