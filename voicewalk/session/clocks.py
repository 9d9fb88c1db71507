"""Whether the wall clock was set, or is wrong, judged by what else is known of time. Pure.

The walk keeps what is found here as an entry, "clock stepped". What clocks show is read by
``voicewalk.clock``.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from voicewalk.clock import Instant

EARLIEST = Instant("2025-01-01T00:00:00.000Z", 0, "no boot")
"""No walk was earlier: this program had not been written. A clock that shows less was never
set, as after a start without the battery of its clock."""


def wall_ms(at: Instant) -> int:
    """Wall time in milliseconds since 1970."""
    return round(datetime.fromisoformat(at.wall).timestamp() * 1000)


def step_ms(before: Instant, now: Instant) -> int:
    """Milliseconds by which the wall clock was set in between; 0 for nothing known.

    Within one boot the monotonic clock tells how long it was. From one boot to another only a
    clock that shows an earlier time than before is known to be wrong, by so much at least.
    """
    passed = wall_ms(now) - wall_ms(before)
    if before.boot == now.boot:
        return passed - (now.monotonic_ms - before.monotonic_ms)
    return min(passed, 0)


def earlier(now: Instant, ago_ms: int, last: Instant) -> Instant:
    """The instant so many milliseconds before ``now``, but not before ``last`` of the same boot;
    ``now`` itself where ``last`` was in another."""
    most = now.monotonic_ms - last.monotonic_ms if now.boot == last.boot else 0
    ago = max(0, min(ago_ms, most))
    wall = datetime.fromisoformat(now.wall) - timedelta(milliseconds=ago)
    text = wall.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return replace(now, wall=text, monotonic_ms=now.monotonic_ms - ago)
