"""Files and folders that nobody but their owner reads: a record holds voices and names.

What is made here has mode 0600, or 0700 for a folder, whatever the umask. What is there already
keeps its rights: whoever shares a record with others has given them on purpose.
"""

from __future__ import annotations

import os
from pathlib import Path

_FILE, _FOLDER = 0o600, 0o700
_OTHERS = 0o077


def by_default() -> None:
    """Let this process, and those it starts, make no file that others can read: for what is
    written by libraries, and by their own rights would be anybody's."""
    os.umask(_OTHERS)


def opener(path: str, flags: int) -> int:
    """For ``open`` in a mode that makes files, as its argument of this name.

    Raises:
        OSError: as of ``os.open``.
    """
    try:
        handle = os.open(path, flags | os.O_EXCL, _FILE)
    except FileExistsError:
        if flags & os.O_EXCL:
            raise
        return os.open(path, flags, _FILE)
    os.fchmod(handle, _FILE)
    return handle


def make_file(path: Path) -> None:
    """An empty file, for a library that opens it by its name.

    Raises:
        OSError: it exists, or cannot be made.
    """
    with open(path, "xb", opener=opener):
        pass


def make_folder(path: Path) -> None:
    """A folder, and those above it that are missing.

    Raises:
        OSError: it cannot be made.
    """
    missing = [one for one in (path, *path.parents) if not one.exists()]
    for one in reversed(missing):
        one.mkdir(mode=_FOLDER, exist_ok=True)
        one.chmod(_FOLDER)
    if not path.is_dir():
        path.mkdir()  # tells what is there instead
