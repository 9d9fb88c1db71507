"""Runs with the shim loaded: the short walk again and again, each time with another operation
failing. Prints what went wrong, as JSON lines.

    fault_sweep.py FOLDER ERROR OPERATIONS AFTERWARDS STRIDE

AFTERWARDS: "once" (one operation fails), "back" (all fail until two calls more were made),
"never" (all fail until the program has ended; then it goes on with the record).
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

from fault_shim import Shim
from fault_walk import Seen, bodies, faults_of, walk

SHIM = Shim()


def disturbed(record: Path, at: int, error: int, operations: str, afterwards: str) -> Seen:
    """One walk in which the operation number ``at`` fails."""
    waited = 0

    def before(waiting: int) -> None:
        nonlocal waited
        waited += waiting > 0
        if afterwards == "back" and waited > 2:
            SHIM.disarm()

    SHIM.arm(at, 1 if afterwards == "once" else -1, error, operations)
    try:
        return walk(record, before=before)
    finally:
        SHIM.disarm()


def check(record: Path, at: int, error: int, operations: str, afterwards: str) -> Iterator[str]:
    """What went wrong in such a walk."""
    seen = disturbed(record, at, error, operations, afterwards)
    if seen.outcome is None:
        if "What to do" not in seen.refused:
            yield "the refusal says nothing"
        left = [one.name for one in record.parent.iterdir() if one.suffix != ".walk-lock"]
        if left and afterwards == "once":  # where all fails, nothing can be taken away either
            yield f"a walk that was not begun leaves {left}"
        record = record.with_name("anew") if left else record
        seen = walk(record)
    yield from faults_of(record, seen)
    if seen.outcome is not None and seen.outcome.closed:
        if bodies(record) != BODIES:
            yield "not the entries of a walk without faults"
    elif afterwards == "never":
        yield from gone_on(record, seen)
    else:
        yield "the walk did not end"


def gone_on(record: Path, seen: Seen) -> Iterator[str]:
    """What goes wrong when a walk goes on whose record could not be written to its end."""
    if seen.outcome is None or not seen.outcome.unkept:
        yield "it is not said that something is missing"
    before = bodies(record)
    if not before:
        record = record.with_name("anew")
    if before and before[-1]["kind"] == "closed":  # its sync failed, and it was kept all the same
        if len(before) > max(seen.told) + 1:
            yield "more is kept than was tried"
        return
    on = walk(record, on=bool(before))
    if on.outcome is None or not on.outcome.closed:
        yield f"the walk cannot go on: {on.refused}"
    yield from faults_of(record, on)
    if bodies(record)[: len(before)] != before:
        yield "it has been changed"


def clear(folder: Path) -> None:
    for left in folder.iterdir():
        left.unlink()


if __name__ == "__main__":
    folder, error, operations, afterwards, stride = sys.argv[1:]
    record = Path(folder) / "one.walk"
    SHIM.arm(sys.maxsize, 0, 0, operations)
    walk(record)
    total, BODIES = SHIM.count(), bodies(record)
    clear(record.parent)
    for at in range(1, total + 1, int(stride)):
        for fault in check(record, at, int(error), operations, afterwards):
            print(json.dumps({"at": at, "fault": fault}))
        clear(record.parent)
    print(json.dumps({"operations": total}))
