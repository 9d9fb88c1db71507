"""Whether the charts and tolerances of a card can judge its readings. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from voicewalk.card.fault import Fault
from voicewalk.card.model import Card, Chart, Item, Kind


def reading_faults(item: Item, card: Card) -> Iterator[Fault]:
    """What is wrong with what judges a reading besides its limit."""
    for key in ("bands", "chart", "agrees"):
        if getattr(item, key) and item.kind is not Kind.READING:
            yield _fault(item, key, "has no reading", "Write 'reading' and its unit.")
    if item.agrees and len(card.groups[item.group]) != 2:
        yield _fault(item, "agrees", "has no two sides", "Write 'sides: [left, right]'.")
    for key in ("agrees", "chart", "classes"):
        sourced = getattr(item, key)
        if sourced and not sourced.reference:
            yield _fault(item, key, "does not say where it comes from", "Write 'reference'.")
    if item.chart:
        yield from _chart(item, item.chart, card)
    if item.classes and not all(
        one < other for (one, _), (other, _) in pairwise(item.classes.steps)
    ):
        what = "Write the smaller 'least' first, each once."
        yield _fault(item, "classes", "has classes that do not ascend", what)


def _chart(item: Item, chart: Chart, card: Card) -> Iterator[Fault]:
    at = card.by_id.get(chart.at)
    if at is None or at.kind is not Kind.READING:
        message = f"needs a reading '{chart.at}', which the card does not have"
        yield _fault(item, "chart", message, "Write that item with its 'reading' and unit.")
    if item.limit:
        yield _fault(item, "limit", "has a chart and a limit", "Keep one of the two.")
    ascending = all(one < other for (one, _), (other, _) in pairwise(chart.points))
    if len(chart.points) < 2 or not ascending:
        what = "Write at least two points [at, least], the smaller 'at' first."
        yield _fault(item, "chart", "has a chart with no line to read from", what)


def _fault(item: Item, key: str, message: str, what_to_do: str) -> Fault:
    return Fault(f"'{item.name}' {message}", what_to_do, item=item.id, key=(key,))
