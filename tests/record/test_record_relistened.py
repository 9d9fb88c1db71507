"""The file beside a record: whatever lies in it, only what is of this record is read."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from voicewalk.record.relistened import (
    Finding,
    Relistened,
    Relistening,
    Writer,
    path_beside,
    read_relistened,
    worst_first,
)
from voicewalk.record.verify import examine

VERSIONS = {"letters": "1", "search": "3"}


@pytest.fixture
def lines(kept):
    return tuple(
        Relistened(entry.seq, entry.hash, Finding.AGREES, now=("x",), probability="0.9")
        for entry in examine(kept).entries[1:]
    )


def written(kept, lines, root=None):
    root = root or examine(kept).report.root
    writer = Writer(kept, root, Relistening(VERSIONS, lines[:1]))
    for line in lines[1:]:
        writer.append(line)
    return path_beside(kept)


def test_what_was_written_is_read(kept, lines):
    file = written(kept, lines)
    assert file.name == "one.walk.relistened.jsonl"
    assert read_relistened(kept, examine(kept)) == Relistening(VERSIONS, lines)


def test_each_line_tells_how_worrying_it_is(kept, lines):
    line = replace(lines[0], finding=Finding.OTHER, result="satisfactory", critical=True)
    file = written(kept, (line,))
    assert json.loads(file.read_text().splitlines()[1])["worry"] == line.worry == 57


def test_nothing_was_heard_again(kept):
    assert read_relistened(kept, examine(kept)) is None


def test_lines_of_another_record_or_of_entries_that_changed_are_not_read(kept, lines):
    written(kept, lines, root="ab" * 32)
    assert read_relistened(kept, examine(kept)) is None
    written(kept, (lines[0], replace(lines[1], hash="ab" * 32), replace(lines[2], seq=99)))
    assert read_relistened(kept, examine(kept)).lines == lines[:1]


@pytest.mark.parametrize(
    "change",
    [
        {"seq": True},
        {"seq": "2"},
        {"now": "x"},
        {"now": [1]},
        {"finding": "nonsense"},
        {"critical": 1},
        {"name": None},
    ],
)
def test_a_line_of_another_shape_is_not_read(kept, lines, change):
    file = written(kept, lines)
    head, first, *rest = file.read_text().splitlines()
    file.write_text("\n".join([head, json.dumps({**json.loads(first), **change}), *rest]) + "\n")
    assert read_relistened(kept, examine(kept)).lines == lines[1:]


@given(junk=st.one_of(st.binary(), st.text().map(str.encode)))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
def test_whatever_lies_there_is_read_without_a_fault(kept, lines, junk):
    file = written(kept, lines)
    file.write_bytes(file.read_bytes() + junk + b"\n")
    assert read_relistened(kept, examine(kept)).lines[:3] == lines
    file.write_bytes(junk)
    assert read_relistened(kept, examine(kept)) is None


def test_the_order_of_worry():
    """Worse findings first; among the like, what stands as good, then what is critical."""
    plain = [Relistened(n, "", found) for n, found in enumerate(Finding)]
    assert [line.finding for line in worst_first(reversed(plain))] == [
        Finding.OTHER,
        Finding.OUTSIDE,
        Finding.UNCLEAR,
        Finding.ASKED,
        Finding.LESS_SURE,
    ]
    other = Relistened(1, "", Finding.OTHER)
    good, critical = replace(other, seq=2, result="satisfactory"), replace(other, critical=True)
    assert worst_first([other, critical, good]) == [good, critical, other]
    outside = Relistened(3, "", Finding.OUTSIDE, result="satisfactory", critical=True)
    assert worst_first([outside, other]) == [other, outside]
