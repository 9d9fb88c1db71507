"""The shortest way past what is still open, for the sweep at the end of a walk. Pure.

What the card puts in an order stays in it: a phase ("power off" before "power on"), a hold point
before what it holds, a count after its places, and what an item needs before the item. Within
that, stations are passed on the shortest way from where the walk is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise, permutations

from voicewalk.card.model import Card, Item, Station

TRIED = 7
"""Stations of which every order is tried (5,040 of them); with more, the nearest is next."""


def shortest(card: Card, items: Sequence[str], start: str) -> tuple[str, ...]:
    """``items`` (ids, in card order) in the order in which they are best done.

    Args:
        start: id of the item where the walk is, "" for the first station.
    """
    place = {station.id: n for n, station in enumerate(card.stations)}
    here = place[card.by_id[start].station] if start else 0
    found: list[Item] = []
    for part in _parts(card, [card.by_id[item] for item in items]):
        stations = sorted({place[item.station] for item in part})
        for station in _passed(here, stations, card.stations):
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


def _passed(here: int, stations: Sequence[int], card: Sequence[Station]) -> Sequence[int]:
    """The stations in the order of the shortest way. Where the card places them it is as far as
    in the plan drawing; else a walk goes round, and the last station lies beside the first."""
    count = len(card)

    def far(one: int, other: int) -> float:
        a, b = card[one].at, card[other].at
        if a is None or b is None:
            return min(abs(one - other), count - abs(one - other))
        return math.dist(a, b)

    def length(way: Sequence[int]) -> float:
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
