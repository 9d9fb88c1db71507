"""Runs with the shim loaded: the short walk, with what it tells as recorded in the shim's log.

fault_logged.py RECORD [AT ERROR OPERATIONS]   the operation number AT fails, once
"""

from __future__ import annotations

import sys
from pathlib import Path

from fault_shim import Shim
from fault_walk import walk

from voicewalk.session.events import Event, Kept

SHIM = Shim()


def mark(event: Event) -> None:
    """The number of an entry that is told as recorded."""
    if isinstance(event, Kept):
        SHIM.mark(str(event.seq))


if __name__ == "__main__":
    record, *fault = sys.argv[1:]
    if fault:
        SHIM.arm(int(fault[0]), 1, int(fault[1]), fault[2])
    walk(Path(record), observe=mark)
