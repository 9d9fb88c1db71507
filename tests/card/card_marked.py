"""YAML with a mark where the fault is, so that a test need not count lines and columns."""

from __future__ import annotations

import textwrap
from pathlib import Path

MARK = "¦"


def write(folder: Path, text: str, name: str = "card.yaml") -> tuple[Path, str]:
    """Write ``text`` without its mark; returns the file and ``file:line:column`` of the mark."""
    text = textwrap.dedent(text)
    before, _, after = text.partition(MARK)
    path = folder / name
    path.write_text(before + after, encoding="utf-8")
    line = before.count("\n") + 1
    column = len(before) - (before.rfind("\n") + 1) + 1
    return path, f"{path}:{line}:{column}"


def card(items: str, *, stations: str = "") -> str:
    """A whole card around the items of its one station, or around its stations."""
    head = """\
        id: small
        title: Small card
        version: "1"
        subject: pump
        caution: A card for tests.
        vocabularies: english
        stations:
        """
    if not stations:
        stations = "- station: pump room\n  phase: stopped\n  items:\n"
        stations += textwrap.indent(textwrap.dedent(items), "    ")
    return textwrap.dedent(head) + textwrap.indent(textwrap.dedent(stations), "  ")
