"""Mirrored items: written once without a side, laid out as a left and a right item.

Two ways to write them: ``sides: [left, right]`` on an item, and a station with ``side: right``
that ``mirrors`` the one with ``side: left``. Names, ids and differences of each side are made
here; everything else of an item is left to ``card.load``.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from voicewalk.card.model import Side
from voicewalk.card.source import Place, Source, nearest
from voicewalk.card.spoken import slug, ways
from voicewalk.card.written import WrittenCard, WrittenDifference, WrittenItem, WrittenStation


@dataclass(frozen=True, slots=True)
class Laid:
    """One side of a written item.

    Attributes:
        place: where it is written.
        alone: no other side of it is on the card, so that its bare name is not ambiguous.
    """

    written: WrittenItem
    side: Side
    place: Place
    alone: bool = False

    @property
    def group(self) -> str:
        """The id without a side."""
        return self.written.id or slug(self.written.name)

    @property
    def id(self) -> str:
        """The id with its side."""
        return f"{self.side}-{self.group}" if self.side else self.group

    @property
    def difference(self) -> WrittenDifference:
        """What is different on this side."""
        written = {Side.LEFT: self.written.left, Side.RIGHT: self.written.right}.get(self.side)
        return written or WrittenDifference()

    @property
    def bare_names(self) -> tuple[str, ...]:
        """The names as written, without a side."""
        return tuple(way for name in (self.written.name, self.written.also) for way in _ways(name))

    @property
    def names(self) -> tuple[str, ...]:
        """The full names: "left main tyre", "main tyre left"; the first is the item's name."""
        if not self.side:
            return self.bare_names
        before = [f"{self.side} {name}" for name in self.bare_names]
        after = [f"{name} {self.side}" for name in self.bare_names]
        bare = self.bare_names if self.alone else ()
        return (*before, *after, *bare, *_ways(self.difference.also))


def lay_out(card: WrittenCard, source: Source) -> list[list[Laid]]:
    """The items of each station, side by side in the order of the walk.

    Raises:
        SourceError: a side or a mirrored station that does not fit.
    """
    stations = {station_id(s): (n, s) for n, s in enumerate(card.stations)}
    laid = [
        [
            Laid(item, side, place)
            for item, place in _written(n, station, stations, source)
            for side in _sides_of(item, station, place, source)
        ]
        for n, station in enumerate(card.stations)
    ]
    members = Counter(one.group for items in laid for one in items)
    return [
        [Laid(one.written, one.side, one.place, members[one.group] == 1) for one in items]
        for items in laid
    ]


def station_id(station: WrittenStation) -> str:
    """A station's id: its own, or made of its name."""
    return station.id or slug(station.station)


def _ways(text: str | None) -> tuple[str, ...]:
    return ways(text) if text is not None else ()


def _written(
    n: int, station: WrittenStation, stations: dict[str, tuple[int, WrittenStation]], source: Source
) -> list[tuple[WrittenItem, Place]]:
    """The items of a station as written, those taken from the mirrored one first."""
    at: Place = ("stations", n)
    if station.mirrors is None:
        if station.plus or station.without:
            raise source.fault(
                (*at, "plus" if station.plus else "without"),
                "'plus' and 'without' belong to a station that mirrors another",
                "Write 'mirrors', or list the items under 'items'.",
            )
        return [(item, (*at, "items", m)) for m, item in enumerate(station.items)]
    if station.items:
        raise source.fault(
            (*at, "items"),
            "a station that mirrors another has no items of its own",
            "Write what this side has besides under 'plus'.",
        )
    number, twin = _twin(at, station, stations, source)
    known = {item.id or slug(item.name) for item in twin.items}
    for m, left_out in enumerate(station.without):
        if left_out not in known:
            raise source.fault(
                (*at, "without", m), f"'{left_out}' is no item there", nearest(left_out, known)
            )
    taken: list[tuple[WrittenItem, Place]] = [
        (item, ("stations", number, "items", m))
        for m, item in enumerate(twin.items)
        if (item.id or slug(item.name)) not in station.without
    ]
    return [*taken, *((item, (*at, "plus", m)) for m, item in enumerate(station.plus))]


def _twin(
    at: Place,
    station: WrittenStation,
    stations: dict[str, tuple[int, WrittenStation]],
    source: Source,
) -> tuple[int, WrittenStation]:
    """The station that ``station`` mirrors: on the other side, and with items of its own."""
    mirrors = station.mirrors or ""
    if mirrors not in stations:
        raise source.fault(
            (*at, "mirrors"), f"'{mirrors}' is no station", nearest(mirrors, stations)
        )
    number, twin = stations[mirrors]
    if not station.side or not twin.side or station.side == twin.side:
        raise source.fault(
            (*at, "mirrors"),
            f"'{station.station}' and '{twin.station}' are not on opposite sides",
            "Write 'side: left' at one of them and 'side: right' at the other.",
        )
    if twin.mirrors is not None:
        raise source.fault(
            (*at, "mirrors"),
            f"'{twin.station}' mirrors a station itself",
            "Mirror the station whose items are written out.",
        )
    return number, twin


def _sides_of(
    item: WrittenItem, station: WrittenStation, place: Place, source: Source
) -> list[Side]:
    """The sides an item has in its station."""
    if station.side and item.sides:
        raise source.fault(
            (*place, "sides"),
            f"'{item.name}' stands at a station that is itself {station.side}",
            "Remove 'sides' here, or 'side' from the station.",
        )
    sides = [Side(station.side)] if station.side else [Side(side) for side in item.sides]
    if not sides and (item.left or item.right):
        raise source.fault(
            (*place, "left" if item.left else "right"),
            f"'{item.name}' has no sides",
            "Write 'sides: [left, right]', or remove the difference.",
        )
    return sides or [Side.NONE]
