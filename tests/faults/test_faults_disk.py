"""Each file operation of a walk fails once, or all fail until space is back, or to the end.

Nothing told as recorded is lost, what failed is said, the walk ends well when the fault is gone,
and its record is whole. CI tries a part of the operations; "script/bench faults" tries all.
"""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys

import pytest
from fault_shim import HERE, build, surroundings

pytestmark = pytest.mark.slow

STRIDE = int(os.environ.get("VOICEWALK_FAULTS_STRIDE", "11"))
"""Every so many operations; a prime, so that the steps of an append take turns."""
FILL = "owt"
"""What needs space: opening (which may create), writing, setting a length."""


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    return build(tmp_path_factory.mktemp("shim"))


@pytest.mark.parametrize(
    ("error", "operations", "afterwards"),
    [
        pytest.param(errno.EIO, "orwstu", "once", id="input-output-error-once"),
        pytest.param(errno.EIO, "orwstu", "back", id="input-output-errors-until-the-disk-is-back"),
        pytest.param(errno.EIO, "orwstu", "never", id="input-output-errors-to-the-end"),
        pytest.param(errno.EIO, "l", "once", id="a-lock-not-given"),
        pytest.param(-300, "orwstu", "once", id="a-disk-that-is-slow-once"),
        pytest.param(errno.ENOSPC, FILL, "back", id="full-disk-until-there-is-space"),
        pytest.param(0, "w", "back", id="full-within-a-write-until-there-is-space"),
        pytest.param(errno.ENOSPC, FILL, "never", id="full-disk-to-the-end"),
        pytest.param(errno.EROFS, "owtu", "back", id="read-only-until-it-can-be-written"),
    ],
)
def test_a_walk_survives_a_fault_at_any_operation(library, tmp_path, error, operations, afterwards):
    command = [sys.executable, HERE / "fault_sweep.py", tmp_path]
    arguments = [str(error), operations, afterwards, str(STRIDE)]
    swept = subprocess.run(
        [*command, *arguments],
        env=surroundings(library, tmp_path),
        capture_output=True,
        text=True,
        check=False,
    )
    assert swept.returncode == 0, swept.stderr
    *found, total = map(json.loads, swept.stdout.splitlines())
    assert found == []
    assert total["operations"] > 30
