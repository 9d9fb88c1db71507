"""The workbook, read back by openpyxl: it holds what the record holds, and computes nothing."""

from __future__ import annotations

import io
import zipfile

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from record_samples import CAUTION, at, item, reading, started

from voicewalk.record.chain import Entry
from voicewalk.record.spreadsheet import workbook
from voicewalk.record.summary import summary
from voicewalk.record.table import COLUMNS
from voicewalk.record.verify import Examined, Report


def made(*bodies, **report):
    entries = tuple(Entry(seq, 1, at(seq), body) for seq, body in enumerate(bodies, 1))
    whole = {"ok": True, "findings": (), "entries": len(entries), "trusted_up_to": len(entries)}
    examined = Examined(Report(**{**whole, "head": "ab" * 32, **report}), None, entries)
    return workbook(examined, summary(entries))


def read(data):
    return openpyxl.load_workbook(io.BytesIO(data))


def rows(sheet):
    header, *lines = sheet.iter_rows(values_only=True)
    assert header == COLUMNS
    return [dict(zip(header, line, strict=True)) for line in lines]


WALK = (
    started(items=5),
    item("left main tyre", "discrepancy", discrepancy={"defect": "cut", "place": "outboard"}),
    reading("160.5", False, discrepancy={"defect": "below limit"}),
    item("right main tyre", "discrepancy", discrepancy={"defect": "worn"}),
    item("right main tyre", replaces=4),
    {"kind": "remark", "item": "", "transcript": "oil below"},
)


def test_the_first_sheet_is_what_was_found_and_stands():
    book = read(made(*WALK))
    assert book.sheetnames == ["discrepancies", "entries", "record"]
    found = rows(book["discrepancies"])
    assert [(row["seq"], row["name"], row["defect"]) for row in found] == [
        (2, "left main tyre", "cut"),
        (3, "left tyre pressure", "below limit"),
    ]
    assert found[1]["value"] == 160.5
    assert (found[1]["limit_low"], found[1]["limit_unit"]) == (174, "psi")
    assert [row["seq"] for row in rows(book["entries"])] == [2, 3, 4, 5, 6]


def test_the_record_is_told_with_its_head_and_caution():
    told = [row[0] for row in read(made(*WALK))["record"].iter_rows(values_only=True)]
    assert "aircraft: VW 012" in told
    assert "THE WALK IS NOT CLOSED" in told
    assert f"head {'ab' * 32}" in told
    assert "does not declare the aircraft airworthy" in told[-1]
    closed = made(*WALK, {"kind": "closed", "caution": CAUTION})
    told = [row[0] for row in read(closed)["record"].iter_rows(values_only=True)]
    assert "the walk is closed" in told
    assert told[-1] == CAUTION


def test_a_record_that_is_not_whole_says_so():
    wrong = {"ok": False, "findings": ("entry 2: it was changed",), "trusted_up_to": 1}
    told = [row[0] for row in read(made(*WALK, **wrong))["record"].iter_rows(values_only=True)]
    assert "NOT WHOLE: rely on no entry after #1" in told
    assert "entry 2: it was changed" in told


# OWASP "CSV Injection" names the signs; in a workbook the type of the cell decides.
@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "{=", "\t=", "http://", "internal:"])
def test_a_text_is_neither_formula_nor_link(sign):
    text = f"{sign}example.invalid!A1"
    data = made(started(), {**item(), "name": text, "reason": text}, reading(text, True))
    book = read(data)
    for sheet in book:
        for cell in (cell for row in sheet.iter_rows() for cell in row if cell.value is not None):
            assert cell.data_type in "sn"
            assert cell.hyperlink is None
    assert rows(book["entries"])[0]["reason"] == text
    assert rows(book["entries"])[1]["value"] == text
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        assert all(b"<f>" not in parts.read(name) for name in parts.namelist())


@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cs"])))
def test_any_text_comes_back(text):
    """ISO/IEC 29500-1, 22.4.2.4: what XML cannot hold is written as _xHHHH_."""
    (row,) = rows(read(made(started(), {**item(), "reason": text}))["entries"])
    shown = openpyxl.utils.escape.unescape(row["reason"] or "")
    assert shown.replace("\r\n", "\n") == text.replace("\r\n", "\n")


@pytest.mark.parametrize("number", ["1234567890.12345678", "0.1234567890123456", "1e5", "٣"])
def test_a_number_that_would_lose_digits_stays_a_text(number):
    (row,) = rows(read(made(started(), reading(number, True)))["entries"])
    assert row["value"] == number


@pytest.mark.parametrize("number", ["0", "-2", "3000.5", "-0.25", "123456789012345"])
def test_a_number_is_a_number(number):
    (row,) = rows(read(made(started(), reading(number, True)))["entries"])
    assert row["value"] == float(number)


def test_a_text_that_no_cell_can_hold_is_cut_and_says_so():
    (row,) = rows(read(made(started(), {**item(), "reason": "x" * 40_000}))["entries"])
    assert len(row["reason"]) == 32_767
    assert row["reason"].endswith("[cut here; the JSON has all of it]")


def test_the_same_record_makes_the_same_bytes():
    assert made(*WALK) == made(*WALK)


def test_a_record_without_times_or_entries_is_a_workbook_too():
    assert rows(read(made())["entries"]) == []
