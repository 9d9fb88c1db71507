"""A record as a table (CSV, RFC 4180): one row for each entry of an item, each remark and each
step of the clock.

Pure. A cell that a spreadsheet would take for a formula gets an apostrophe before it (OWASP
ASVS 5.0, requirement 1.2.10, and OWASP "CSV Injection"), and so does what would become one where
the spreadsheet takes another sign than the comma between cells. Decimals in columns of numbers
stay numbers: the walk wrote them, and "-2" computes nothing.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from io import StringIO

from voicewalk.record import body as bodies
from voicewalk.record.summary import Summary

_SIGNS = "=+@＝＋－＠-"
_FORMULA = re.compile(
    rf"""\A(?=[\t\r\n\0]|\ *[{_SIGNS}])  # a cell that begins so
    |(?<=[;|\t\r\n])(?=[\ "]*[{_SIGNS}])  # one that would, were this sign between cells
    """,
    re.VERBOSE,
)
_DECIMAL = re.compile(r"-?\d+(\.\d+)?", re.ASCII)

_TEXTS: dict[str, tuple[str, ...]] = {
    "kind": ("kind",),
    "station": ("station",),
    "item": ("item",),
    "name": ("name",),
    "result": ("result",),
    "state": ("state",),
    "unit": ("reading", "unit"),
    "limit_unit": ("reading", "limit", "unit"),
    "limit_reference": ("reading", "limit", "reference"),
    "defect": ("discrepancy", "defect"),
    "place": ("discrepancy", "place"),
    "size_unit": ("discrepancy", "size_unit"),
    "reason": ("reason",),
    "transcript": ("transcript",),
    "accepted": ("accepted",),
    "words": ("input", "words"),
    "how": ("input", "heard", "how"),
    "clip": ("input", "heard", "clip"),
    "paper_written": ("input", "heard", "paper", "written"),
    "paper_typist": ("input", "heard", "paper", "typist"),
}
"""Columns of texts, and where each lies in the body."""

_DECIMALS: dict[str, tuple[str, ...]] = {
    "value": ("reading", "value"),
    "limit_low": ("reading", "limit", "low"),
    "limit_high": ("reading", "limit", "high"),
    "seen": ("count", "seen"),
    "expected": ("count", "expected"),
    "size": ("discrepancy", "size"),
    "probability": ("input", "heard", "probability"),
}
"""Columns of decimals, and where each lies in the body."""

NUMBERS = frozenset({*_DECIMALS, "seq", "fate_by", "clock_by_ms"})
"""Columns of numbers."""

COLUMNS = (
    *("seq", "wall", "kind", "station", "item", "name", "result", "fate", "fate_by", "state"),
    "status",
    *("value", "unit", "within", "limit_low", "limit_high", "limit_unit", "limit_reference"),
    *("seen", "expected", "defect", "place", "size", "size_unit", "reason", "transcript"),
    *(
        "accepted",
        "words",
        "how",
        "probability",
        "clip",
        "paper_written",
        "paper_typist",
        "clock_by_ms",
        "hash",
    ),
)
"""The header row. "fate" is empty for an entry that stands."""


def csv_table(told: Summary) -> str:
    """The table with its header row; lines end with CR LF."""
    file = StringIO()
    writer = csv.DictWriter(file, COLUMNS)
    writer.writeheader()
    for row in table_rows(told):
        cells = {
            name: decimal(cell) if name in NUMBERS else safe(cell) for name, cell in row.items()
        }
        writer.writerow(cells)
    return file.getvalue()


def table_rows(told: Summary) -> Iterator[dict[str, str]]:
    """The rows in order of the entries, by ``COLUMNS``: texts as they stand in the record."""
    kept = [(line.entry, line.fate.value, line.by) for line in told.lines]
    kept += [(entry, "", 0) for entry in (*told.remarks, *told.clock_steps)]
    for entry, fate, by in sorted(kept, key=lambda one: one[0].seq):
        body = entry.body
        within = bodies.part(body, "reading").get("within")
        yield (
            {name: bodies.text(body, *path) for name, path in (_TEXTS | _DECIMALS).items()}
            | {"seq": str(entry.seq), "wall": entry.at.wall, "hash": entry.hash}
            | {"fate": fate, "fate_by": str(by or "")}
            | {"status": told.statuses.get(entry.seq, "")}
            | {"clock_by_ms": str(bodies.number(body, "by_ms") or "")}
            | {"within": {True: "yes", False: "no"}[within] if isinstance(within, bool) else ""}
        )


def safe(text: str) -> str:
    """The text as a cell that no spreadsheet computes."""
    return _FORMULA.sub("'", text)


def decimal(text: str) -> str:
    """A number as it is; anything else like a text."""
    return text if _DECIMAL.fullmatch(text) else safe(text)
