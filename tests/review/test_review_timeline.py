"""A walk along time: by the clock that never runs back, with each station as a span."""

import pytest

from voicewalk.clock import Instant
from voicewalk.record.chain import Entry
from voicewalk.review.needs import Grade
from voicewalk.review.timeline import WIDTH, elapsed_ms, timeline


def entry(seq, ms, *, run=1, wall="2031-04-02T06:00:00.000Z", **body):
    return Entry(seq, run, Instant(wall, ms), {"kind": "item", **body})


def test_time_within_a_run_is_that_of_the_counter():
    stepped = "2031-04-01T00:00:00.000Z"
    assert elapsed_ms([entry(1, 500), entry(2, 1500, wall=stepped), entry(3, 4500)]) == [
        *(0, 1000, 4000)
    ]


@pytest.mark.parametrize(
    ("wall", "later"),
    [
        ("2031-04-02T06:10:00.000Z", 600_000),
        ("2031-04-02T05:00:00.000Z", 0),  # set back between two runs
        ("no time", 0),
    ],
)
def test_time_between_two_runs_is_by_wall_and_never_back(wall, later):
    assert elapsed_ms([entry(1, 9000), entry(2, 100, run=2, wall=wall)])[-1] == later


def test_entries_are_marks_from_end_to_end_and_stations_spans():
    drawn = timeline(
        [
            entry(1, 0, station="nose"),
            entry(2, 60_000, station="nose"),
            entry(3, 120_000, station="tail", name="rudder", result="discrepancy"),
            entry(4, 240_000, station="nose"),
        ],
        {3: Grade.CRITICAL},
        {"nose": 1, "tail": 2},
    )
    assert [mark.x for mark in drawn.marks] == [0, WIDTH / 4, WIDTH / 2, WIDTH]
    assert [mark.grade for mark in drawn.marks] == [4, 4, 0, 4]
    assert [mark.said for mark in drawn.marks] == ["", "", "#3 06:00:00 rudder: discrepancy", ""]
    assert [(span.number, span.x, span.width) for span in drawn.spans] == [
        (1, 0, WIDTH / 4),
        (2, WIDTH / 2, 0),
        (1, WIDTH, 0),
    ]
    assert [span.label for span in drawn.spans] == ["1", "", ""]
    assert (drawn.minutes, [tick.minutes for tick in drawn.ticks]) == (4, [0, 1, 2, 3, 4])


def test_what_is_about_the_record_lies_on_no_line():
    later = Entry(2, 2, Instant("2032-01-01T00:00:00.000Z", 0), {"kind": "sent back"})
    assert [mark.seq for mark in timeline([entry(1, 0), later], {}, {}).marks] == [1]


@pytest.mark.parametrize("entries", [[], [entry(1, 5)]])
def test_hardly_a_walk_is_drawn_too(entries):
    assert len(timeline(entries, {}, {}).marks) == len(entries)


@pytest.mark.parametrize("minutes", [3, 45, 300, 3000, 100_000])
def test_there_is_room_for_the_ticks(minutes):
    drawn = timeline([entry(1, 0), entry(2, minutes * 60_000)], {}, {})
    assert 3 <= len(drawn.ticks) <= 61
    assert all(0 <= tick.x <= WIDTH for tick in drawn.ticks)
