"""Power cuts at every moment of a walk: what was told as recorded is there, and the walk goes on.

A walk runs once with every file operation noted (shim.c). From the notes, what a power cut can
leave is computed (fault_power.py), written to a disk and opened.
"""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections import Counter
from itertools import islice
from pathlib import Path

import pytest
from fault_power import State, power_cuts
from fault_shim import HERE, build, surroundings
from fault_walk import bodies, faults_of, walk

from voicewalk.record.verify import verify

pytestmark = pytest.mark.slow

RECORD = "one.walk"
DRAWN = int(os.environ.get("VOICEWALK_FAULTS_DRAWN", "1"))
"""So many subsets and so many torn writes at each moment."""
STRIDE = int(os.environ.get("VOICEWALK_FAULTS_STRIDE", "2"))
"""Every so many of the states are tried; "script/bench faults" tries all."""


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    return build(tmp_path_factory.mktemp("shim"))


def logged(library: Path, folder: Path, *fault: str) -> Path:
    """The log of a walk."""
    medium = folder / "medium"
    medium.mkdir()
    log = folder / "log"
    command = [sys.executable, HERE / "fault_logged.py", medium / RECORD, *fault]
    subprocess.run(command, env=surroundings(library, medium, log), check=True)
    return log


def write(state: State, folder: Path) -> Path:
    for left in folder.iterdir():
        left.unlink()
    for name, content in state.files.items():
        (folder / name).write_bytes(content)
    return folder / RECORD


def survives(state: State, folder: Path) -> None:
    """The record of ``state`` holds what was told, and its walk goes on to its end."""
    record = write(state, folder)
    told = max(map(int, state.said), default=0)
    where = f"before sync {state.moment}, {state.kind}"
    report = verify(record)
    if not told and not report.ok:  # nothing was told yet, and it says in words what it is
        assert report.findings, where
        return
    assert report.findings == (), where
    assert told <= report.entries <= told + 1, where
    kept = bodies(record)
    on = walk(record if kept else record.with_name("anew"), on=bool(kept))
    if on.refused:
        assert "its walk is closed" in on.refused, where
        assert kept[-1]["kind"] == "closed", where
        return
    assert on.outcome is not None
    assert on.outcome.closed, where
    assert list(faults_of(on.outcome.record, on)) == [], where
    assert bodies(on.outcome.record)[: len(kept)] == kept, where


@pytest.fixture(scope="module")
def states(library, tmp_path_factory):
    return list(power_cuts(logged(library, tmp_path_factory.mktemp("whole")), 1, DRAWN))


def test_the_power_cuts_are_of_every_kind(states):
    kinds = Counter(state.kind for state in states)
    assert set(kinds) == {"none", "all", "subset", "torn"}
    assert len({state.moment for state in states}) > 20
    assert {max(map(int, state.said), default=0) for state in states} == set(range(10))


def test_a_walk_survives_a_power_cut_after_a_failed_sync(library, tmp_path):
    """What a failed sync was to make durable is lost, although the next sync succeeds."""
    medium = tmp_path / "cut"
    medium.mkdir()
    log = logged(library, tmp_path, "12", str(errno.EIO), "s")
    for state in islice(power_cuts(log, 2, DRAWN), 0, None, 5):
        survives(state, medium)


def test_a_walk_survives_a_power_cut_at_any_moment(states, tmp_path):
    for state in states[::STRIDE]:
        survives(state, tmp_path)
