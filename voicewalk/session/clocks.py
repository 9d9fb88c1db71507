"""Whether the wall clock was set, or is wrong, judged by what else is known of time. Pure.

The walk keeps what is found here as an entry, "clock stepped". What clocks show is read by
``voicewalk.clock``.
"""

from __future__ import annotations

from datetime import datetime

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
