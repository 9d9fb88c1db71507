"""Draws what "voicewalk show" shows on a terminal, for the README.

    .venv/bin/python script/draw_show.py

A walk is typed, its record shown, and the screen written to docs/show.svg.
"""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from rich.console import CONSOLE_SVG_FORMAT, Console

from voicewalk.record.screen import show_on
from voicewalk.record.verify import examine

PICTURE = Path(__file__).parents[1] / "docs" / "show.svg"
VOICEWALK = Path(sys.executable).with_name("voicewalk")
WALK = (VOICEWALK, *["walk", "jet-trainer", "--aircraft", "M07", "--inspector", "7", "--typed"])
CALLS = """\
radome satisfactory
left main tyre pressure two one zero psi
right main tyre pressure one nine zero psi
right main tyre cut half an inch outboard
left main gear pin removed
disregard
canopy glass not inspected because covered
walkaround complete
"""
FONT = 'font-family: "DejaVu Sans Mono", Menlo, Consolas, monospace;'


def main() -> None:
    """Type the walk, show its record, write the picture."""
    with tempfile.TemporaryDirectory() as folder:
        record = Path(folder) / "m07.walk"
        subprocess.run(
            [*WALK, "--record", record],
            input=CALLS,
            text=True,
            check=True,
            capture_output=True,
            env={**os.environ, "VOICEWALK_KEYS": folder},
        )
        examined = examine(record)
        console = Console(record=True, width=118, force_terminal=True, file=io.StringIO())
        show_on(console, examined)  # without the list of all that is open
    # Without the fonts that would be fetched from somewhere: what the reader has will do.
    form = re.sub(r"@font-face \{\{.*?\}\}\s*", "", CONSOLE_SVG_FORMAT, flags=re.S)
    form = re.sub(r"font-family: [^;]*;", FONT, form)
    form = re.sub(r"<!--.*?-->\s*", "", form, flags=re.S)
    PICTURE.write_text(console.export_svg(title="voicewalk show", code_format=form))


if __name__ == "__main__":
    main()
