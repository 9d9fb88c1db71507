import csv
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from record_samples import at, item, reading, started, tone

from voicewalk.record.chain import Entry
from voicewalk.record.summary import summary
from voicewalk.record.table import COLUMNS, csv_table, decimal, safe


def rows(*bodies):
    told = summary([Entry(seq, 1, at(seq), body) for seq, body in enumerate(bodies, 1)])
    return list(csv.DictReader(StringIO(csv_table(told), newline="")))


def test_one_row_for_each_item_entry_and_remark_in_order():
    remark = {"kind": "remark", "item": "left-main-tyre", "transcript": "oil below"}
    found = rows(started(), item(), remark, {"kind": "command"}, item(replaces=2))
    assert [(row["seq"], row["kind"]) for row in found] == [
        ("2", "item"),
        ("3", "remark"),
        ("5", "item"),
    ]
    assert found[0]["fate"] == "replaced by"
    assert found[0]["fate_by"] == "5"
    assert found[1]["transcript"] == "oil below"
    assert (found[2]["fate"], found[2]["fate_by"]) == ("", "")


def test_a_step_of_the_clock_stands_where_it_was():
    """Times before and after it do not compare."""
    found = rows(started(), item(), {"kind": "clock stepped", "by_ms": -3_600_000}, item())
    assert [(row["seq"], row["kind"], row["clock_by_ms"]) for row in found] == [
        ("2", "item", ""),
        ("3", "clock stepped", "-3600000"),
        ("4", "item", ""),
    ]


def test_a_reading_with_its_limit_and_evidence():
    clip = tone().sha256
    (row,) = rows(reading("-2.5", False, clip=clip, discrepancy={"defect": "below limit"}))
    assert row["value"] == "-2.5"
    assert (row["unit"], row["within"]) == ("psi", "no")
    assert (row["limit_low"], row["limit_high"], row["limit_unit"]) == ("174", "184", "psi")
    assert row["limit_reference"] == "sample card, tyres"
    assert row["defect"] == "below limit"
    assert (row["how"], row["clip"], row["probability"]) == ("sound", clip, "0.9871")


def test_counts_states_and_sizes():
    (count, cut) = rows(
        item(count={"seen": "2", "expected": "3"}),
        item(
            discrepancy={"defect": "cut", "place": "outboard", "size": "0.5", "size_unit": "inch"}
        ),
    )
    assert (count["seen"], count["expected"]) == ("2", "3")
    assert (cut["place"], cut["size"], cut["size_unit"]) == ("outboard", "0.5", "inch")


# OWASP ASVS 5.0, 1.2.10, and OWASP "CSV Injection": first signs that make a cell a formula.
@pytest.mark.parametrize(
    "sign", ["=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠"]
)
@pytest.mark.parametrize("field", ["name", "reason", "state", "station"])
def test_a_text_is_never_a_formula(sign, field):
    (row,) = rows({**item(), field: f"{sign}1+1"})
    assert row[field] == f"'{sign}1+1"


def test_a_formula_in_a_column_of_numbers_is_no_number():
    (row,) = rows(reading('=HYPERLINK("http://example.invalid")', True))
    assert row["value"].startswith("'=")


@pytest.mark.parametrize("number", ["0", "7", "-2", "3000.5", "-0.25"])
def test_our_own_decimals_stay_numbers(number):
    assert decimal(number) == number


@pytest.mark.parametrize("text", ["-", "+1", "-1-1", "=1", "-1e5", "-٣", "-1\n", "--1", "-.5"])
def test_what_is_not_our_own_decimal_is_a_text(text):
    assert decimal(text) == f"'{text}"


SIGNS = st.text(st.sampled_from("=+-@＝ ;|\t\n\"'ab1"), max_size=12)


@given(st.one_of(st.text(), SIGNS))
def test_only_apostrophes_are_ever_added(text):
    assert safe(text).replace("'", "") == text.replace("'", "")
    assert not safe(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n", "\0"))


# OWASP "CSV Injection": it is not enough to look at a text's first sign, as the sign between
# cells, and quotes, may be taken in another way than they were meant.
@given(SIGNS)
def test_no_cell_is_a_formula_whatever_is_taken_for_what_parts_cells(text):
    table = csv_table(summary([Entry(1, 1, at(1), {**item(), "reason": text})]))
    for sign in (";", "|", "\t"):
        for line in table.splitlines():
            for cell in line.split(sign):
                assert not cell.lstrip(' "').startswith(("=", "+", "-", "@", "＝"))


@given(st.text(st.characters(codec="utf-8", exclude_characters="\0")))
def test_any_text_comes_back_through_rfc4180_quoting(text):
    (row,) = rows(item(reason=text))
    assert row["reason"] == safe(text)


def test_lines_end_as_rfc4180_has_it():
    table = csv_table(summary([]))
    assert table == ",".join(COLUMNS) + "\r\n"


def test_a_body_of_another_shape_is_an_empty_row():
    (row,) = rows({"kind": "item", "reading": [], "count": 3, "input": "x"})
    assert {name for name, cell in row.items() if cell} == {"seq", "wall", "kind"}
