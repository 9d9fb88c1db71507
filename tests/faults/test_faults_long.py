"""Eight hours, 5,000 entries: memory and the time of an append stay as they are."""

import statistics
import time
import tracemalloc

import pytest
from fault_walk import Clock

from voicewalk.record.clip import Clip
from voicewalk.record.file import RecordFile

pytestmark = pytest.mark.slow

ENTRIES = 5_000
HOURS = 8
MOST_GROWTH_BYTES = 200_000
"""An entry of this test is 4 kB with its sound: 5,000 of them are 20 MB."""


def test_a_long_walk_needs_no_more_memory_and_time_at_its_end(tmp_path):
    clock = Clock()
    took: list[float] = []
    with RecordFile.create(tmp_path / "a.walk", program="p", recorder="r", at=clock()) as record:
        record._db.execute("PRAGMA synchronous = OFF")  # the disk's time is not ours
        tracemalloc.start()
        try:
            for number in range(ENTRIES):
                clock.pass_seconds(HOURS * 3600 / ENTRIES)
                clip = Clip(number.to_bytes(4, "big") * 1000, 4000, number)
                body = {"kind": "item", "input": {"heard": {"how": "sound", "clip": clip.sha256}}}
                began = time.process_time()
                record.append(body, clock(), clip)
                took.append(time.process_time() - began)
                if number == ENTRIES // 10:
                    early = tracemalloc.get_traced_memory()[0]
            late = tracemalloc.get_traced_memory()[0]
        finally:
            tracemalloc.stop()
    grown = late - early - 8 * 2 * ENTRIES * 4  # of it our own list of times
    assert grown < MOST_GROWTH_BYTES
    tenth = ENTRIES // 10
    assert statistics.median(took[-tenth:]) < 2 * statistics.median(took[:tenth])
