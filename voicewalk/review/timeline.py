"""A walk along time: stations as spans, each entry as a mark, placed by a clock nobody can step.

Pure: numbers for a drawing 1000 wide. What it looks like is the page's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.chain import Entry
from voicewalk.review.needs import Grade

WIDTH = 1000.0
_STEPS_MINUTES = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 1440)
_MOST_TICKS = 8
_LEAST_LABELLED = 24.0
"""A span narrower than this has no room for its station's number."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One entry. ``grade`` is ``NOTHING``, and ``said`` empty, where it needs nobody."""

    x: float
    grade: Grade
    seq: int
    said: str


@dataclass(frozen=True, slots=True)
class Span:
    """Entries of one station after each other; ``number`` is the station's on the card."""

    x: float
    width: float
    number: int

    @property
    def label(self) -> str:
        """The number, where there is room for it."""
        return str(self.number) if self.number and self.width >= _LEAST_LABELLED else ""


@dataclass(frozen=True, slots=True)
class Tick:
    """A time since the beginning, in minutes."""

    x: float
    minutes: int


@dataclass(frozen=True)
class Timeline:
    """The drawing. ``minutes`` is how long the walk took."""

    marks: tuple[Mark, ...]
    spans: tuple[Span, ...]
    ticks: tuple[Tick, ...]
    minutes: int


def timeline(
    entries: Iterable[Entry], grades: Mapping[int, Grade], numbers: Mapping[str, int]
) -> Timeline:
    """The drawing of a walk.

    Args:
        entries: of the record, in order.
        grades: by number of an entry, how much it needs the lead.
        numbers: by station id, its number on the card.
    """
    walk = [one for one in entries if bodies.of_the_walk(one.body)]
    times = elapsed_ms(walk)
    whole = max(times[-1] if times else 0, 1)
    xs = [WIDTH * ms / whole for ms in times]
    marks = tuple(
        Mark(x, grades[entry.seq], entry.seq, _said(entry))
        if entry.seq in grades
        else Mark(x, Grade.NOTHING, entry.seq, "")
        for x, entry in zip(xs, walk, strict=True)
    )
    placed = [
        (x, numbers.get(bodies.text(entry.body, "station"), 0))
        for x, entry in zip(xs, walk, strict=True)
        if bodies.kind(entry.body) == bodies.ITEM
    ]
    runs = [list(run) for _, run in groupby(placed, key=lambda one: one[1])]
    spans = tuple(Span(run[0][0], run[-1][0] - run[0][0], run[0][1]) for run in runs)
    return Timeline(marks, spans, _ticks(whole), round(whole / 60_000))


def elapsed_ms(entries: Iterable[Entry]) -> list[int]:
    """Milliseconds since the first entry, for each: within a run by the clock that never runs
    back, between two runs by wall time, and no less than nothing."""
    times: list[int] = []
    before: Entry | None = None
    for entry in entries:
        if before is None:
            times.append(0)
        elif before.run == entry.run:
            times.append(times[-1] + max(entry.at.monotonic_ms - before.at.monotonic_ms, 0))
        else:
            times.append(times[-1] + max(_wall_ms(entry) - _wall_ms(before), 0))
        before = entry
    return times


def _wall_ms(entry: Entry) -> int:
    try:
        return round(datetime.fromisoformat(entry.at.wall).timestamp() * 1000)
    except ValueError:  # a time of another form: a finding of the check, and no place here
        return 0


def _ticks(whole: int) -> tuple[Tick, ...]:
    minutes = whole / 60_000
    step = next((one for one in _STEPS_MINUTES if minutes / one <= _MOST_TICKS), _STEPS_MINUTES[-1])
    count = min(int(minutes / step), 60)
    return tuple(Tick(WIDTH * n * step / minutes, n * step) for n in range(count + 1))


def _said(entry: Entry) -> str:
    about, said = wording.telling(entry)
    return f"#{entry.seq} {wording.clock(entry.at.wall)} {about}: {said}"
