"""The report of a run: its tables, its groups for programs, and what the hearing took."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from bench_trials import CUT, GOOD, NOTHING, PRESSURE, near_trial, piece, trial

from voicewalk.bench.observe import Setting
from voicewalk.bench.report import KEYS, groups_as_json, listeners_of, report, table
from voicewalk.bench.score import EARS, Answer, Group, Outcome, interval
from voicewalk.language.talk import Near

SETTING = Setting("jet-trainer", Path("noise"))
TOOK = {"noise reduction": 0.2, "listening": 0.5, "pooling": 0.1}


def heard(one=None, other=None, seconds: float = 2.0):
    """A piece that two peers heard."""
    return piece(seconds=seconds, took=TOOK, peers={"one": one, "other": other})


TRIALS = [
    trial(GOOD, heard(GOOD, CUT), speaker="ann"),
    trial(CUT, heard(CUT), speaker="bob"),
    trial(GOOD, heard(CUT, GOOD), snr="10", speaker="ann"),
    trial(PRESSURE, heard(PRESSURE), snr="10", speaker="bob", source="theirs"),
    trial(None, heard(GOOD), snr="10", speaker="cleo", source="read aloud"),
]


def tables(text: str) -> dict[str, list[list[str]]]:
    """The rows of each table by its heading, without the head."""
    found: dict[str, list[list[str]]] = {}
    for line in text.splitlines():
        if ", by " in line:
            rows = found[line] = []
        elif line.startswith("|") and not line.startswith("| ---"):
            rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return {name: rows[1:] for name, rows in found.items()}


def test_each_listener_has_its_tables_and_only_the_ears_one_of_speakers():
    views = {"noise", "noise and source", "noise and kind"}
    expected = {f"{name}, by {view}" for name in (EARS, "one", "other") for view in views}
    assert tables(report(SETTING, TRIALS)).keys() == expected | {f"{EARS}, by speaker"}


def test_rows_are_groups_in_the_order_in_which_they_came():
    found = tables(report(SETTING, TRIALS))
    names = {view: [row[0] for row in found[f"one, by {view}"]] for view in
             ("noise", "noise and source", "noise and kind")}  # fmt: skip
    assert names == {
        "noise": ["clean", "10"],
        "noise and source": ["clean ours", "10 ours", "10 theirs", "10 read aloud"],
        "noise and kind": [
            "clean result", "clean discrepancy", "10 result", "10 reading", "10 outside",
        ],
    }  # fmt: skip
    assert [row[0] for row in found[f"{EARS}, by speaker"]] == ["ann", "bob", "cleo"]


def test_the_shares_of_a_listener_are_its_own():
    found = tables(report(SETTING, TRIALS))
    share = "100.0% (34.2% to 100.0%)"  # Wilson's interval of two of two
    none = "0.0% (0.0% to 65.8%)"
    assert found["one, by noise"][0] == ["clean", "2", share, none, none, none, none, "0", ""]
    clean, ten = found["other, by noise"]
    half = "50.0% (9.5% to 90.5%)"
    assert clean[1:7] == ["2", none, none, none, half, half]
    assert ten[1:] == [
        "2", half, none, none, half, none, "1", "0.0% (0.0% to 79.3%)",
    ]  # fmt: skip


NEAR = [
    near_trial(Near.QUESTION, [], heard(GOOD, None)),
    near_trial(Near.QUESTION, [], heard(None, CUT), snr="10"),
    near_trial(Near.OPPOSITE, [CUT], heard(CUT, GOOD)),
    near_trial(Near.TWO_CALLS, [GOOD, PRESSURE], heard(GOOD, GOOD), heard(PRESSURE, None)),
]


def test_near_calls_and_two_calls_have_tables_of_their_own():
    found = tables(report(SETTING, [*TRIALS, *NEAR]))
    plain = tables(report(SETTING, TRIALS))
    assert {name: found[name] for name in plain} == plain
    views = {
        f"{name}, {of}, by {view}"
        for name in (EARS, "one", "other")
        for of in ("near calls", "two calls in one breath")
        for view in ("kind", "noise", "source")
    }
    assert found.keys() - plain.keys() == views
    none, whole = "0.0% (0.0% to 79.3%)", "100.0% (20.7% to 100.0%)"
    half = "50.0% (9.5% to 90.5%)"
    assert found["one, near calls, by kind"] == [
        ["near: question", "2", half, "0.0% (0.0% to 65.8%)", "0.0% (0.0% to 65.8%)", half],
        ["near: opposite", "1", none, whole, none, none],
    ]
    assert [row[0] for row in found["one, near calls, by noise"]] == ["clean", "10"]
    assert found["one, two calls in one breath, by kind"] == [
        ["two calls", "1", whole, none, none, none, none]
    ]
    assert found["other, two calls in one breath, by noise"] == [
        ["clean", "1", none, none, none, whole, none]
    ]


def test_where_there_are_near_calls_alone_there_are_no_empty_tables_of_calls():
    found = tables(report(SETTING, NEAR[:1]))
    assert found.keys() == {
        f"{name}, near calls, by {view}"
        for name in (EARS, "one", "other")
        for view in ("kind", "noise", "source")
    }


def test_near_calls_are_groups_by_their_kind_for_programs():
    groups = [one for one in groups_as_json(SETTING, NEAR) if one["listener"] == "one"]
    assert [(one["kind"], one["snr"], one["near_n"], one["merged_n"]) for one in groups] == [
        ("near: question", "clean", 1, 0),
        ("near: question", "10", 1, 0),
        ("near: opposite", "clean", 1, 0),
        ("two calls", "clean", 0, 1),
    ]
    assert [one["near_recorded"] for one in groups] == [1, 0, 0, 0]
    assert [one["n"] + one["outside_n"] for one in groups] == [0, 0, 0, 0]


def test_with_many_speakers_their_table_is_left_out():
    many = [trial(GOOD, heard(GOOD), speaker=f"speaker {n}") for n in range(25)]
    assert f"{EARS}, by speaker" not in tables(report(SETTING, many))
    assert f"{EARS}, by speaker" in tables(report(SETTING, many[:24]))
    speakers = {group["speaker"] for group in groups_as_json(SETTING, many)}
    assert len(speakers) == 25


def test_a_table_is_markdown_with_as_many_cells_in_every_row():
    lines = table({("clean", "ours"): Group(), ("10",): Group()})
    assert len(lines) == 4
    assert {line.count("|") for line in lines} == {lines[0].count("|")}
    assert re.fullmatch(r"(\| --- )+\|", lines[1])


def test_a_share_is_told_with_its_interval():
    group = Group()
    for result in [Outcome.UNDERSTOOD] * 9 + [Outcome.WRONG_ENTRY]:
        group.add(trial(GOOD), result)
    low, high = interval(9, 10)
    assert f"| 90.0% ({low:.1%} to {high:.1%}) |" in table({("clean",): group})[2]


def test_what_the_hearing_took():
    text = report(SETTING, TRIALS)
    assert (
        "10 s of speech heard in 4 s: real-time factor 0.40 "
        "(noise reduction 0.10, listening 0.25, pooling 0.05)." in text
    )
    assert re.search(r"Peak memory of a process: [1-9]\d* MB\.", text)
    assert "of 3 s" not in text


def test_the_wait_after_a_call_of_three_seconds_is_told_in_the_median():
    """With 0.64 s around the speech."""
    took = [0.2, 0.5, 0.7]
    calls = [trial(GOOD, piece(seconds=3.64, took={"listening": each})) for each in took]
    calls.append(trial(GOOD, piece(seconds=9.0, took={"listening": 5.0})))
    assert (
        "Calls of 3 s are heard in 500 ms in the median. Hearing begins 320 ms before their end "
        "is found: the judge's word follows 180 ms after it." in report(SETTING, calls)
    )


@pytest.mark.parametrize("trials", [[], [trial(GOOD), trial(None)]], ids=["none", "silent"])
def test_where_no_speech_was_found_that_is_told(trials):
    assert report(SETTING, trials).endswith("No speech was found.")


def test_groups_for_programs_tell_level_source_kind_and_speaker():
    groups = groups_as_json(SETTING, TRIALS)
    assert {group["listener"] for group in groups} == {EARS, "one", "other"}
    for name in (EARS, "one", "other"):
        own = [group for group in groups if group["listener"] == name]
        assert [tuple(group[key] for key in KEYS) for group in own] == [
            ("clean", "ours", "result", "ann"),
            ("clean", "ours", "discrepancy", "bob"),
            ("10", "ours", "result", "ann"),
            ("10", "theirs", "reading", "bob"),
            ("10", "read aloud", "outside", "cleo"),
        ]
        assert [(group["n"], group["outside_n"]) for group in own] == [(1, 0)] * 4 + [(0, 1)]
    one = [group for group in groups if group["listener"] == "one"]
    assert [group["understood"] for group in one] == [1, 1, 0, 1, 0]
    assert [group["wrong_entry"] for group in one] == [0, 0, 1, 0, 0]
    assert [group["outside_accepted"] for group in one] == [0, 0, 0, 0, 1]


def test_the_ears_come_first_and_answer_by_the_shipped_calibration():
    """Where no meaning was pooled nothing is understood, whatever was learnt."""
    found = listeners_of(SETTING, TRIALS)
    assert list(found) == [EARS, "one", "other"]
    assert found[EARS](piece(), NOTHING) == Answer()
    assert list(listeners_of(SETTING, [])) == [EARS]
