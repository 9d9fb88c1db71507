"""Writes the walk's diagram and table into docs/walk.md, from the transition table.

.venv/bin/python script/draw_walk.py
"""

from __future__ import annotations

import re
from pathlib import Path

from voicewalk.walk.diagram import markdown, mermaid
from voicewalk.walk.table import TABLE

DOCUMENT = Path(__file__).parents[1] / "docs" / "walk.md"


def main() -> None:
    """Replace what stands between the marks."""
    text = DOCUMENT.read_text(encoding="utf-8")
    for name, drawn in (
        ("diagram", f"```mermaid\n{mermaid(TABLE)}\n```"),
        ("table", markdown(TABLE)),
    ):
        marked = re.compile(rf"(<!-- {name} -->\n).*?(<!-- end of {name} -->)", re.S)
        text = marked.sub(lambda found, drawn=drawn: f"{found[1]}{drawn}\n{found[2]}", text)
    DOCUMENT.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
