"""Builds the shim (shim.c) and speaks to it: from a test, and from within the watched program."""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
ALL = "orwstul"
"""Every kind of operation, as shim.c names them."""


def build(folder: Path) -> Path:
    """The compiled shim; skips, saying so, where there is no compiler or no LD_PRELOAD."""
    if not sys.platform.startswith("linux") or shutil.which("cc") is None:
        reason = "faults are injected by a C library, on Linux: apt-get install gcc libc6-dev"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    library = folder / "shim.so"
    command = ["cc", "-shared", "-fPIC", "-O1", "-o", library, HERE / "shim.c", "-ldl"]
    subprocess.run(command, check=True, capture_output=True)
    return library


def surroundings(library: Path, folder: Path, log: Path | None = None) -> dict[str, str]:
    """Environment variables of a program whose files in ``folder`` are watched."""
    noted = {"FAULTS_LOG": str(log)} if log else {}
    return {
        **os.environ,
        "LD_PRELOAD": str(library),
        "FAULTS_FOLDER": str(folder.resolve()),
        **noted,
    }


class Shim:
    """The shim as the watched program sees it."""

    def __init__(self) -> None:
        self._library = ctypes.CDLL(None)
        self._library.faults_count.restype = ctypes.c_long

    def arm(self, at: int, count: int = 1, error: int = 0, operations: str = ALL) -> None:
        """See shim.c."""
        arguments = ctypes.c_long(at), ctypes.c_long(count), ctypes.c_int(error)
        self._library.faults_arm(*arguments, operations.encode())

    def disarm(self) -> None:
        """Nothing fails any more; operations are still counted."""
        self.arm(sys.maxsize, 0)

    def count(self) -> int:
        """How many operations there were since it was armed."""
        return int(self._library.faults_count())

    def mark(self, word: str) -> None:
        """Put a word into the log."""
        self._library.faults_mark(word.encode())
