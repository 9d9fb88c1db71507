"""A desk to run a document's commands at: the program, the shipped data, an empty folder."""

import os
import subprocess
import sys
from collections.abc import Callable

import pytest
from shown import ROOT

PROGRAM = """#!{python}
import sys
sys.path.insert(0, {root!r})
from voicewalk.cli.main import main
sys.exit(main())
"""


@pytest.fixture
def run(tmp_path) -> Callable[[str], str]:
    """Runs a shell command and gives what it prints on a terminal of 80 columns.

    Standard error is included. All commands of one test run in the same folder.
    """
    (tmp_path / "bin").mkdir()
    program = tmp_path / "bin" / "voicewalk"
    program.write_text(PROGRAM.format(python=sys.executable, root=str(ROOT)))
    program.chmod(0o755)
    folder = tmp_path / "desk"
    folder.mkdir()
    for data in ("grammars", "fixtures"):
        (folder / data).symlink_to(ROOT / data)
    surroundings = {
        **os.environ,
        "PATH": f"{program.parent}:{os.environ['PATH']}",
        "COLUMNS": "80",
        "NO_COLOR": "1",
        "TERM": "dumb",
        "LC_ALL": "C.UTF-8",
    }

    def printed(command: str) -> str:
        done = subprocess.run(
            ["bash", "-c", command],
            cwd=folder,
            env=surroundings,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=600,
            check=False,
        )
        return done.stdout

    return printed
