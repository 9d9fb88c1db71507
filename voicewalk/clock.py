"""Time as a value. Only the session reads a clock; everything else is handed an ``Instant``."""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import UTC, datetime


@dataclass(frozen=True, slots=True)
class Instant:
    """One moment by two clocks.

    Attributes:
        wall: UTC wall time, RFC 3339 with milliseconds and ``Z``; may be stepped by people.
        monotonic_ms: milliseconds of a clock that never runs back within one boot.
    """

    wall: str
    monotonic_ms: int


def now() -> Instant:
    """Read both clocks. Called by the session and the command line only."""
    wall = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return Instant(wall, time.monotonic_ns() // 1_000_000)
