"""The shortest way past what is still open, for the sweep at the end of a walk. Pure.

What the card puts in an order stays in it: a phase ("power off" before "power on"), a hold point
before what it holds, a count after its places, and what an item needs before the item. Within
that, stations are passed on the shortest way from where the walk is.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, permutations

from voicewalk.card.model import Card, Item

TRIED = 7
"""Stations of which every order is tried (5,040 of them); with more, the nearest is next."""


def shortest(card: Card, items: Sequence[str], start: str) -> tuple[str, ...]:
    """``items`` (ids, in card order) in the order in which they are best done.

    Args:
        start: id of the item where the walk is, "" for the first station.
    """
    order = [station.id for station in card.stations]
    place = {station: n for n, station in enumerate(order)}
    here = place[card.by_id[start].station] if start else 0
    found: list[Item] = []
    for part in _parts(card, [card.by_id[item] for item in items]):
        stations = sorted({place[item.station] for item in part})
        for station in _passed(here, stations, len(order)):
            found += [item for item in part if place[item.station] == station]
            here = station
    return tuple(_after_what_they_need(found))


def _parts(card: Card, items: Sequence[Item]) -> list[list[Item]]:
    """Items that may be done in any order, part by part: by phase, and up to each hold point."""
    phases = {station.id: station.phase for station in card.stations}
    parts: list[list[Item]] = []
    for item in items:
        new = not parts or parts[-1][-1].hold
        if new or phases[parts[-1][-1].station] != phases[item.station]:
            parts.append([])
        parts[-1].append(item)
    return parts


def _passed(here: int, stations: Sequence[int], count: int) -> Sequence[int]:
    """The stations in the order of the shortest way. A walk goes round: the last station lies
    beside the first."""

    def far(one: int, other: int) -> int:
        return min(abs(one - other), count - abs(one - other))

    def length(way: Sequence[int]) -> int:
        return sum(far(*step) for step in pairwise((here, *way)))

    if len(stations) <= TRIED:
        return min(permutations(stations), key=length)
    left, way = list(stations), [here]
    while left:
        nearest = min(left, key=lambda one: far(way[-1], one))
        left.remove(nearest)
        way.append(nearest)
    return way[1:]


def _after_what_they_need(items: Sequence[Item]) -> list[str]:
    """Each item after those that it needs or counts; else as they come."""
    left, done = list(items), list[str]()
    while left:
        waiting = {item.id for item in left}
        ready = (one for one in left if not waiting & {*one.needs, *one.places} - {one.id})
        item = next(ready, left[0])
        left.remove(item)
        done.append(item.id)
    return done
