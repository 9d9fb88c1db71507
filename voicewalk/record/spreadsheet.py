"""A record as a workbook (XLSX, ISO/IEC 29500): what was found, every entry, and the record itself.

Texts are stored as texts: nothing in it is computed, whatever a cell begins with, and nothing is
a link. The same record makes the same bytes.
"""

from __future__ import annotations

import datetime
import io
import re
from collections.abc import Iterable, Sequence

import xlsxwriter
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.report import caution, counts, trust
from voicewalk.record.summary import Summary
from voicewalk.record.table import COLUMNS, NUMBERS, table_rows
from voicewalk.record.verify import Examined

_MOST = 32_767
"""Signs that a cell can hold; more would leave it empty."""
_CUT = " [cut here; the JSON has all of it]"

_EXACT = re.compile(r"-?\d{1,15}|-?(?=[\d.]{3,16}\Z)\d+\.\d+", re.ASCII)
"""Numbers that a spreadsheet keeps to the last digit: fifteen of them."""

_NARROW, _WIDE = 10, 28
_WIDE_COLUMNS = {"name", "wall", "limit_reference", "transcript", "words", "defect", "reason"}


def workbook(examined: Examined, told: Summary) -> bytes:
    """The workbook: sheets "discrepancies" (those that stand), "entries" and "record"."""
    file = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(file, options) as book:
        book.set_properties({"created": _ended(told), "title": "Walkaround record"})
        standing = {str(line.entry.seq) for line in told.discrepancies}
        rows = list(table_rows(told))
        _table(book, "discrepancies", [row for row in rows if row["seq"] in standing])
        _table(book, "entries", rows)
        _facts(book, examined, told)
    return file.getvalue()


def _ended(told: Summary) -> datetime.datetime:
    """When the record's last entry was kept: a workbook tells when it was made, and this one is
    the same whenever it is made."""
    try:
        return datetime.datetime.fromisoformat(told.ended).replace(tzinfo=None)
    except ValueError:
        return datetime.datetime(1980, 1, 1)


def _table(book: Workbook, name: str, rows: Sequence[dict[str, str]]) -> None:
    sheet = book.add_worksheet(name)
    bold = book.add_format({"bold": True})
    for column, title in enumerate(COLUMNS):
        sheet.write_string(0, column, title, bold)
        sheet.set_column(column, column, _WIDE if title in _WIDE_COLUMNS else _NARROW)
    for line, row in enumerate(rows, 1):
        for column, title in enumerate(COLUMNS):
            _cell(sheet, line, column, row[title], number=title in NUMBERS)
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, len(rows), len(COLUMNS) - 1)


def _cell(sheet: Worksheet, line: int, column: int, text: str, *, number: bool = False) -> None:
    if number and _EXACT.fullmatch(text):
        sheet.write_number(line, column, float(text))
    elif text:
        fits = len(text) <= _MOST
        sheet.write_string(line, column, text if fits else text[: _MOST - len(_CUT)] + _CUT)


def _facts(book: Workbook, examined: Examined, told: Summary) -> None:
    """What the record is of, whether it is whole, and what it does not say."""
    sheet = book.add_worksheet("record")
    sheet.set_column(0, 0, 110)
    card = bodies.part(told.started, "card")
    subject = bodies.text(told.started, "subject") or "subject"
    lines: Iterable[str] = (
        f"{subject}: {bodies.text(told.started, 'identity')}",
        f"inspector, a name and no signature: {bodies.text(told.started, 'inspector')}",
        f"card: {bodies.text(card, 'title')}, version {bodies.text(card, 'version')}",
        f"begun {wording.date_and_time(told.begun)}",
        f"last entry {wording.date_and_time(told.ended)}",
        "the walk is closed" if told.closed else "THE WALK IS NOT CLOSED",
        *counts(told),
        *trust(examined.report),
        f"head {examined.report.head or 'cannot be computed'}",
        caution(told),
    )
    for line, text in enumerate(lines):
        _cell(sheet, line, 0, text)
