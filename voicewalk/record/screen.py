"""A record on a terminal: every entry in order, then where the items stand.

On a terminal a table; in a pipe plain lines, one for each entry. Colour only ever repeats what
a word says.
"""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from voicewalk.card.model import Card
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.report import caution, counts, trust
from voicewalk.record.summary import DISCREPANCY, Line, Summary, open_items, summary
from voicewalk.record.verify import Examined


def show_on(console: Console, examined: Examined, card: Card | None = None) -> None:
    """Show a record. With the card, the open items are named."""
    told = summary(examined.entries)
    lines = {line.entry.seq: line for line in told.lines}
    shown = [lines.get(entry.seq, Line(entry)) for entry in examined.entries]
    if console.is_terminal:
        console.print(_table(shown))
    else:
        for line in shown:
            _print(console, "  ".join(_cells(line)).rstrip())
    for text in _ending(told, examined, card):
        _print(console, text)


def _print(console: Console, text: str) -> None:
    """A line as it is: no markup in a record's texts, no breaks at a width that no pipe has."""
    console.print(Text(text), soft_wrap=not console.is_terminal)


def _cells(line: Line) -> tuple[str, str, str, str, str]:
    about, said = wording.telling(line.entry)
    return f"#{line.entry.seq}", wording.clock(line.entry.at.wall), about, said, line.note


def _table(lines: list[Line]) -> Table:
    table = Table("#", "UTC", "about", "said", "since then")
    for line in lines:
        bad = bodies.text(line.entry.body, "result") == DISCREPANCY
        style = "dim strike" if line.struck else "red" if bad else ""
        table.add_row(*(Text(cell, style) for cell in _cells(line)))
    return table


def _ending(told: Summary, examined: Examined, card: Card | None) -> list[str]:
    still = open_items(card, told) if card else ()
    return [
        *counts(told),
        *(f"open: {item.name}" for item in still),
        *(f"record: {line}" for line in trust(examined.report)),
        f"head: {examined.report.head or 'cannot be computed'}",
        caution(told),
    ]
