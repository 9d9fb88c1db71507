"""Calls that are heard otherwise now come before other doubts, until the lead has heard them."""

from __future__ import annotations

import pytest
from review_walks import CLOSE, GOOD, LEAD, Clock, typed

from voicewalk.record import body as bodies
from voicewalk.record import review
from voicewalk.record.file import RecordFile
from voicewalk.record.relistened import Finding, Relistened, Relistening, Writer, path_beside
from voicewalk.record.verify import examine
from voicewalk.review.glance import look, stamp_of
from voicewalk.review.needs import Grade


@pytest.fixture
def walk(tmp_path):
    return typed(tmp_path / "a.walk", (*GOOD, CLOSE))


def heard_again(path, **findings):
    """Writes the file beside a record; findings by item, the hyphens of its id as underscores."""
    examined = examine(path)
    lines = [
        Relistened(
            entry.seq,
            entry.hash,
            findings[name],
            item=bodies.text(entry.body, "item"),
            result=bodies.text(entry.body, "result"),
            was="as called",
            now=("something else",),
            probability="0.910",
        )
        for entry in examined.entries
        if (name := bodies.text(entry.body, "item").replace("-", "_")) in findings
    ]
    Writer(path, examined.report.root, Relistening({}, tuple(lines)))


def found(path):
    return [(need.grade, need.what, need.about) for need in look(path).needs]


def test_another_call_at_a_critical_item_that_stands_as_good_comes_first(walk):
    heard_again(
        walk,
        nose_tyre=Finding.LESS_SURE,
        wheel_chocks=Finding.OTHER,
        left_fuel_cap=Finding.OTHER,
        upper_antenna=Finding.AGREES,
    )
    assert found(walk) == [
        (Grade.CRITICAL, "heard again: another call", "left fuel cap"),
        (Grade.IN_DOUBT, "heard again: another call", "wheel chocks"),
        (Grade.IN_DOUBT, "heard again: less sure", "nose tyre"),
    ]
    assert look(walk).needs[0].said == (
        'taken for "as called", heard again: "something else" (0.910)'
    )


def test_what_the_lead_has_heard_is_settled(walk):
    heard_again(walk, left_fuel_cap=Finding.OTHER)
    (need,) = look(walk).needs
    with RecordFile.open(walk) as record:
        review.agree(record, LEAD, [need.seq], Clock("09:00")())
    glance = look(walk)
    assert [(one.grade, one.settled) for one in glance.needs] == [(Grade.IN_DOUBT, True)]
    assert glance.grade is Grade.NOTHING


def test_a_call_that_was_replaced_since_is_no_doubt(tmp_path):
    calls = ("wheel chocks in place", "correction wheel chocks in place")
    walk = typed(tmp_path / "a.walk", calls)
    before = [need.what for need in look(walk).needs]
    heard_again(walk, wheel_chocks=Finding.OTHER)
    told = [need for need in look(walk).needs if need.what.startswith("heard again")]
    assert len(told) == 1
    assert len(look(walk).needs) == len(before) + 1


def test_the_folder_s_list_notices_a_new_hearing(walk):
    before = stamp_of(walk)
    heard_again(walk, left_fuel_cap=Finding.OTHER)
    assert stamp_of(walk) != before


def test_a_file_that_is_none_harms_no_page(walk):
    path_beside(walk).write_bytes(b"\xff{")
    assert found(walk) == []
    path_beside(walk).unlink()
    path_beside(walk).mkdir()
    assert found(walk) == []
