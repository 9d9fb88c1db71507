"""Whether a plan drawing can be made of a card: places of its stations, and its outline. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from voicewalk.card.fault import Fault
from voicewalk.card.model import Card, Point

WIDE, HIGH = 100, 200
"""The drawing's greatest x and y."""

_APART = 10
"""Stations nearer to each other than this, both in x and in y, would cover each other."""


def plan_faults(card: Card) -> Iterator[Fault]:
    """What is wrong with the places and the outline."""
    placed = [station for station in card.stations if station.at]
    for n, station in enumerate(card.stations):
        if station.at is None and placed:
            message = f"the station '{station.name}' has no place, and others have one"
            what = "Write 'at: [x, y]', or remove 'at' from all stations."
            yield Fault(message, what, station=station.id)
        elif station.at and _outside(station.at):
            yield Fault(
                f"the place of '{station.name}' lies outside the drawing",
                f"x goes from 0 to {WIDE}, y downwards from 0 to {HIGH}.",
                station=station.id,
                key=("at",),
            )
        for other in card.stations[:n]:
            if station.at and other.at and _covers(station.at, other.at):
                message = f"'{station.name}' would cover '{other.name}' in the drawing"
                what = f"Move it by {_APART} or more."
                yield Fault(message, what, station=station.id, key=("at",))
    if card.outline and (len(card.outline) < 3 or any(map(_outside, card.outline))):
        yield Fault(
            "the outline is no shape within the drawing",
            f"Write three corners or more, x from 0 to {WIDE}, y from 0 to {HIGH}.",
            key=("outline",),
        )


def _outside(point: Point) -> bool:
    x, y = point
    return not (0 <= x <= WIDE and 0 <= y <= HIGH)


def _covers(one: Point, other: Point) -> bool:
    return all(abs(a - b) < _APART for a, b in zip(one, other, strict=True))
