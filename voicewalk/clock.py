"""Time as a value. Only the session reads a clock; everything else is handed an ``Instant``."""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Instant:
    """One moment by two clocks.

    Attributes:
        wall: UTC wall time, RFC 3339 with milliseconds and ``Z``; may be stepped by people.
        monotonic_ms: milliseconds of a clock that never runs back within one boot. On Linux it
            goes on while the machine sleeps (CLOCK_BOOTTIME); elsewhere it may stand still, and
            a sleep then looks like a step of the wall clock.
        boot: identity of that boot; "" for unknown.
    """

    wall: str
    monotonic_ms: int
    boot: str = ""


_TOGETHER_MS = 50
_MOST_READINGS = 20
_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
"""Linux: drawn anew by the kernel at each boot. See random(4)."""


def now() -> Instant:
    """Read both clocks. Called by the session and the command line only."""
    for _ in range(_MOST_READINGS):
        before = _monotonic_ms()
        wall = datetime.now(UTC)
        monotonic = _monotonic_ms()
        # A busy machine may leave a program waiting between the two; that is no step of a clock.
        if monotonic - before <= _TOGETHER_MS:
            break
    text = wall.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return Instant(text, monotonic, _boot())


def _monotonic_ms() -> int:
    if sys.platform == "linux":
        return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000
    return time.monotonic_ns() // 1_000_000


@cache
def _boot() -> str:
    try:
        return _BOOT_ID.read_text("ascii").strip()
    except OSError:  # no Linux, or a container that hides it
        return ""
