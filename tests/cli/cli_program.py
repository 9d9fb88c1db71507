"""The program in a process of its own, as a shell would run it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
SURROUNDINGS = {
    **os.environ,
    "PYTHONPATH": str(ROOT),
    "COLUMNS": "100",
    "NO_COLOR": "1",
    "TERM": "dumb",
}


def started(*arguments: str | Path, cwd: Path) -> subprocess.Popen[str]:
    """The program, running; standard error goes with standard output."""
    return subprocess.Popen(
        [sys.executable, "-m", "voicewalk.cli.main", *map(str, arguments)],
        cwd=cwd,
        env=SURROUNDINGS,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def run(*arguments: str | Path, cwd: Path, lines: str = "") -> tuple[int, str]:
    """Exit code and output, after ``lines`` were typed."""
    process = started(*arguments, cwd=cwd)
    output, _ = process.communicate(lines, timeout=300)
    return process.returncode, output
