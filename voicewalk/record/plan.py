"""The plan drawing of a walk: its stations, how far each is, and the way that was walked (SVG).

Pure. Each station's state is told by its shape and in words; the classes let a page add colour.
Where a card gives no places, its stations stand in rows, each row the other way round than the
one before, so that the walk runs through them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from voicewalk.card.model import Card, Station
from voicewalk.record import body as bodies
from voicewalk.record import summary as results
from voicewalk.record.summary import Summary
from voicewalk.record.wording import plain

_RADIUS = 4.2
_FONT = 3.3
_LINE = 3.6
_PER_LINE = 15
"""Letters of a name on one line of its label."""
_IN_ROW = 3
_ROW = 28.0
_MARGIN = 4.0
_BELOW = 26.0
"""Room for the label of the lowest station."""
_WIDTH = 100.0


@dataclass(frozen=True, slots=True)
class StationState:
    """How far a station is: entries of discrepancies that count, and items by their results.

    Attributes:
        number: its place in the card's walking order, from 1.
    """

    number: int
    station: Station
    discrepancies: int
    not_inspected: int
    open: int

    @property
    def words(self) -> tuple[str, ...]:
        """Its state in words, the worst first: "2 discrepancies", "3 open"."""
        found = self.discrepancies
        told = (
            f"{found} {'discrepancy' if found == 1 else 'discrepancies'}" if found else "",
            f"{self.not_inspected} not inspected" if self.not_inspected else "",
            f"{self.open} open" if self.open else "",
        )
        return tuple(one for one in told if one) or ("done",)

    @property
    def kind(self) -> str:
        """The worst of it in one word, which the drawing uses as a class and for the shape."""
        if self.discrepancies:
            return "discrepancy"
        if self.not_inspected:
            return "not-inspected"
        return "open" if self.open else "done"


def station_states(card: Card, told: Summary) -> tuple[StationState, ...]:
    """The state of each station, in walking order."""
    found = [bodies.text(line.entry.body, "item") for line in told.discrepancies]
    states = []
    for number, station in enumerate(card.stations, 1):
        ids = [item.id for item in station.items]
        states.append(
            StationState(
                number=number,
                station=station,
                discrepancies=sum(one in ids for one in found),
                not_inspected=sum(told.results.get(i) == results.NOT_INSPECTED for i in ids),
                open=sum(i not in told.results for i in ids),
            )
        )
    return tuple(states)


def walked(card: Card, told: Summary) -> tuple[str, ...]:
    """Ids of the stations in the order in which the record tells of their items; a station
    comes again where the walk came back to it."""
    known = {station.id for station in card.stations}
    way: list[str] = []
    for line in told.lines:
        station = bodies.text(line.entry.body, "station")
        if station in known and way[-1:] != [station]:
            way.append(station)
    return tuple(way)


def plan_svg(card: Card, told: Summary) -> str:
    """The drawing as text: an ``svg`` element with role, title and description.

    Presentation is in attributes only, so that a page that allows no styles within shows it; a
    page's own rules on the classes go before it. ``paper`` is what lies behind letters.
    """
    states = station_states(card, told)
    places = _places(card)
    spots = [*places.values(), *((float(x), float(y)) for x, y in card.outline)]
    top = min((y for _, y in spots), default=0.0) - 2 * _MARGIN
    height = max((y for _, y in places.values()), default=0.0) + _BELOW - top
    identity = bodies.text(told.started, "identity")
    title = f"Plan of the walk, {card.subject} {identity}"
    return "".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="plan" role="img"'
            f' viewBox="{-_MARGIN:g} {top:g} {_WIDTH + 2 * _MARGIN:g} {height:g}"'
            f' font-family="sans-serif" font-size="{_FONT}" text-anchor="middle"'
            f' aria-labelledby="plan-title plan-desc">\n'
            f'<title id="plan-title">{_safe(title)}</title>\n'
            f'<desc id="plan-desc">{_safe(plan_words(card, told))}</desc>\n',
            _outline(card),
            *_way([places[station] for station in walked(card, told)]),
            *(_station(state, *places[state.station.id]) for state in states),
            "</svg>\n",
        )
    )


def _places(card: Card) -> dict[str, tuple[float, float]]:
    """Where each station stands: its own place, or one in the rows."""
    found = {}
    for n, station in enumerate(card.stations):
        row, column = divmod(n, _IN_ROW)
        column = _IN_ROW - 1 - column if row % 2 else column
        x, y = station.at or (_WIDTH * (column + 0.5) / _IN_ROW, _ROW * row)
        found[station.id] = float(x), float(y)
    return found


def plan_words(card: Card, told: Summary) -> str:
    """The drawing in words, for who does not see it."""
    states = station_states(card, told)
    parts = [f"{one.number} {one.station.name}: {', '.join(one.words)}." for one in states]
    numbers = {one.station.id: str(one.number) for one in states}
    way = ", ".join(numbers[station] for station in walked(card, told))
    return " ".join([*parts, f"Walked in this order: {way}." if way else "Not begun."])


def _outline(card: Card) -> str:
    if not card.outline:
        return ""
    corners = " ".join(f"{x},{y}" for x, y in card.outline)
    return (
        f'<polygon class="outline" points="{corners}" fill="none" stroke="#888888"'
        f' stroke-width="0.5" stroke-linejoin="round"/>\n'
    )


def _way(points: list[tuple[float, float]]) -> Iterator[str]:
    """The way walked, each stretch with an arrow's head in its middle."""
    for (x, y), (to_x, to_y) in pairwise(points):
        far = ((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5
        dx, dy = (to_x - x) / far, (to_y - y) / far
        mid_x, mid_y = (x + to_x) / 2, (y + to_y) / 2
        head = [
            (mid_x + 1.4 * dx, mid_y + 1.4 * dy),
            (mid_x - dx - dy, mid_y - dy + dx),
            (mid_x - dx + dy, mid_y - dy - dx),
        ]
        corners = " ".join(f"{a:.2f},{b:.2f}" for a, b in head)
        yield (
            f'<g class="way" stroke="#336699" fill="#336699"><line x1="{x:g}" y1="{y:g}"'
            f' x2="{to_x:g}" y2="{to_y:g}" stroke-width="0.5" stroke-dasharray="2 1"/>'
            f'<polygon stroke="none" points="{corners}"/></g>\n'
        )


_SHAPES = {
    "discrepancy": '<polygon points="0,-5.8 5.6,4.2 -5.6,4.2" fill="#a00020" stroke="#a00020"'
    ' stroke-linejoin="round" class="shape"/>',
    "not-inspected": '<rect x="-4.2" y="-4.2" width="8.4" height="8.4" fill="#ffffff"'
    ' stroke="#000000" class="shape paper"/>',
    "open": f'<circle r="{_RADIUS}" fill="#ffffff" stroke="#000000" stroke-dasharray="1.4 1.2"'
    ' class="shape paper"/>',
    "done": f'<circle r="{_RADIUS}" fill="#ffffff" stroke="#000000" class="shape paper"/>'
    '<circle r="3.2" fill="none" stroke="#000000" stroke-width="0.4" class="shape"/>',
}
"""A triangle, a square, a broken ring and a double ring, about the origin."""


def _station(state: StationState, x: float, y: float) -> str:
    """One station with its number, its name and its state in words."""
    lines = [*_folded(plain(state.station.name)), *state.words]
    inside = "#ffffff" if state.kind == "discrepancy" else "#000000"
    low = 1.2 if state.kind != "discrepancy" else 2.4
    label = "".join(
        f'<text class="label paper-edge" y="{_RADIUS + _LINE * (n + 1):.1f}" stroke="#ffffff"'
        f' stroke-width="0.9" paint-order="stroke" fill="#000000"'
        f"{_weight(line in state.words)}>{_safe(line)}</text>"
        for n, line in enumerate(lines)
    )
    return (
        f'<g class="station {state.kind}" transform="translate({x:g} {y:g})"'
        f' stroke-width="0.7">{_SHAPES[state.kind]}'
        f'<text class="number" y="{low}" fill="{inside}" font-weight="bold">{state.number}</text>'
        f"{label}</g>\n"
    )


def _weight(bold: bool) -> str:
    return ' font-weight="bold"' if bold else ""


def _folded(name: str) -> list[str]:
    """A name in lines, broken between words."""
    lines: list[str] = []
    for word in name.split():
        if lines and len(lines[-1]) + 1 + len(word) <= _PER_LINE:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _safe(text: str) -> str:
    return escape(plain(text))
