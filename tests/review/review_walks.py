"""Walks for the tests of the pages: typed through the real session, on a short card.

All names and numbers are invented.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from voicewalk.clock import Instant
from voicewalk.record.file import RecordFile
from voicewalk.session.equipment import Calls
from voicewalk.session.walking import begin_walk

CARD = Path(__file__).with_name("apron.yaml")
LEAD = "Iva Denholm"

CALLS = {
    "aircraft_forms": "aircraft forms reviewed",
    "wheel_chocks": "wheel chocks in place",
    "nose_tyre": "nose tyre satisfactory",
    "nose_tyre_pressure": "nose tyre pressure nine five psi",
    "left_main_tyre": "left main tyre satisfactory",
    "right_main_tyre": "right main tyre satisfactory",
    "left_main_tyre_pressure": "left main tyre pressure two one zero psi",
    "right_main_tyre_pressure": "right main tyre pressure two one zero psi",
    "left_fuel_cap": "left fuel cap secure",
    "right_fuel_cap": "right fuel cap secure",
    "hydraulic_reservoir": "hydraulic reservoir eight zero percent",
    "upper_antenna": "upper antenna satisfactory",
}
"""A call for each item; every one is good."""
GOOD = tuple(CALLS.values())
CLOSE = "walkaround complete"


def but(**others: str) -> tuple[str, ...]:
    """The good calls, but for some: ``but(left_fuel_cap="left fuel cap not secure")``."""
    assert others.keys() <= CALLS.keys()
    return tuple((CALLS | others).values())


class Clock:
    """Both clocks, a second on with each look."""

    def __init__(self, at: str = "06:00") -> None:
        hours, minutes = at.split(":")
        self.ms = (int(hours) * 60 + int(minutes)) * 60_000

    def __call__(self) -> Instant:
        self.ms += 1000
        return self.of(self.ms)

    @staticmethod
    def of(day_ms: int) -> Instant:
        """So many milliseconds into the day of the scenario."""
        seconds, ms = divmod(day_ms, 1000)
        minutes, second = divmod(seconds, 60)
        hour, minute = divmod(minutes, 60)
        return Instant(f"2031-04-02T{hour:02}:{minute:02}:{second:02}.{ms:03}Z", day_ms)


class Lines:
    """Typed lines; ``before`` is called ahead of each, with how many were read."""

    def __init__(self, lines: Iterable[str], before: Callable[[int], None] | None = None) -> None:
        self.lines = list(lines)
        self.read_so_far = 0
        self.before = before

    def read(self, seconds: float | None) -> str:
        if self.before:
            self.before(self.read_so_far)
        if not self.lines:
            raise EOFError
        self.read_so_far += 1
        return self.lines.pop(0)


def typed(
    path: Path,
    calls: Iterable[str],
    identity: str = "M07",
    at: str = "06:00",
    inspector: str = "Tamsin Orlo",
    before: Callable[[int], None] | None = None,
    clock: Clock | None = None,
) -> Path:
    """A record of typed calls."""
    lines = Calls(Lines(calls, before))
    begin_walk(str(CARD), identity, inspector, path, lines, (), clock or Clock(at))
    return path


def append(path: Path, *bodies: dict, at: str = "07:00") -> None:
    """Add entries as the recorder itself."""
    clock = Clock(at)
    with RecordFile.open(path) as record:
        for body in bodies:
            record.append(body, clock())
