from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from record_samples import CAUTION, at, call, heard, item, reading, started

from voicewalk.card.model import Card, Item, Kind, Limit, Side, Station
from voicewalk.record.chain import Entry
from voicewalk.record.summary import open_items, summary
from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger
from voicewalk.walk.terms import Accepted, Result


def entries(*bodies):
    return [Entry(seq, 1, at(seq), body) for seq, body in enumerate(bodies, 1)]


def disregarded(entry, name="left main tyre"):
    body = {"kind": "disregarded", "input": call("disregard"), "entry": entry}
    return {**body, "item": name.replace(" ", "-")}


def fates(told):
    return {line.entry.seq: line.note for line in told.lines}


def test_nothing_kept_is_nothing_told():
    told = summary([])
    assert (told.lines, told.results, told.open_count) == ((), {}, 0)
    assert (told.begun, told.ended) == ("", "")


def test_plain_results_are_counted():
    told = summary(
        entries(
            started(items=6),
            item("left main tyre"),
            item("right main tyre", "discrepancy", discrepancy={"defect": "cut"}),
            item("nose gear", "not inspected", reason="no light"),
            item("tail skid", "not applicable"),
        )
    )
    counts = [
        told.count(one)
        for one in ("satisfactory", "discrepancy", "not inspected", "not applicable")
    ]
    assert counts == [1, 1, 1, 1]
    assert told.open_count == 2
    assert (told.begun, told.ended) == (at(1).wall, at(5).wall)
    assert [line.entry.seq for line in told.discrepancies] == [3]


def test_a_correction_takes_the_place_of_the_entry_and_both_stay_listed():
    told = summary(entries(item(), item(result="discrepancy", replaces=1)))
    assert told.results == {"left-main-tyre": "discrepancy"}
    assert fates(told) == {1: "replaced by #2", 2: ""}


def test_a_correction_takes_the_place_of_all_entries_from_there_on():
    told = summary(
        entries(
            item(result="discrepancy", discrepancy={"defect": "cut"}),
            item(result="discrepancy", discrepancy={"defect": "worn"}),
            item(replaces=1),
        )
    )
    assert told.results == {"left-main-tyre": "satisfactory"}
    assert fates(told) == {1: "replaced by #3", 2: "replaced by #3", 3: ""}


def test_two_discrepancies_of_an_item_stand_together_and_count_as_one_item():
    told = summary(
        entries(
            item(result="discrepancy", discrepancy={"defect": "cut"}),
            item(result="discrepancy", discrepancy={"defect": "worn"}),
        )
    )
    assert len(told.discrepancies) == 2
    assert told.count("discrepancy") == 1


def test_a_correction_leaves_the_other_side_alone():
    told = summary(entries(item("left tyre"), item("right tyre"), item("left tyre", replaces=1)))
    assert fates(told) == {1: "replaced by #3", 2: "", 3: ""}


def test_a_withdrawn_entry_leaves_its_item_open():
    told = summary(entries(started(items=1), item(), disregarded(2)))
    assert told.results == {}
    assert told.open_count == 1
    assert fates(told) == {2: "withdrawn by #3"}


def test_withdrawing_a_correction_does_not_bring_back_what_it_replaced():
    # Losing an entry must never turn bad into good: the item is open and is called again.
    told = summary(entries(item(), item(result="discrepancy", replaces=1), disregarded(2)))
    assert told.results == {}
    assert fates(told) == {1: "replaced by #2", 2: "withdrawn by #3"}


def test_withdrawing_one_of_two_discrepancies_keeps_the_other():
    told = summary(entries(item(result="discrepancy"), item(result="discrepancy"), disregarded(2)))
    assert told.results == {"left-main-tyre": "discrepancy"}


def test_withdrawing_what_is_not_there_changes_nothing():
    told = summary(entries(item(), disregarded(9)))
    assert told.results == {"left-main-tyre": "satisfactory"}


def test_an_item_opened_again_is_open_and_its_entry_says_so():
    told = summary(entries(started(items=2), item("panel"), item("oil cap", reopens=["panel"])))
    assert told.results == {"oil-cap": "satisfactory"}
    assert told.open_count == 1
    assert fates(told) == {2: "open again since #3", 3: ""}


def test_a_discrepancy_at_an_item_opened_again_is_still_told():
    told = summary(entries(item("panel", "discrepancy"), item("oil cap", reopens=["panel"])))
    assert [line.entry.seq for line in told.discrepancies] == [1]
    assert told.count("discrepancy") == 0  # the item is open and counts as such


def test_an_item_called_again_after_it_was_opened_is_closed():
    told = summary(
        entries(item("panel"), item("oil cap", reopens=["panel"]), item("panel", replaces=1))
    )
    assert set(told.results) == {"panel", "oil-cap"}
    assert fates(told) == {1: "replaced by #3", 2: "", 3: ""}


def test_a_dropped_question_opens_the_item_it_was_about():
    dropped = {"kind": "question dropped", "input": {}, "entry": 2, "reopens": ["left-main-tyre"]}
    told = summary(entries(item(), {"kind": "question"}, dropped))
    assert told.results == {}
    assert fates(told) == {1: "open again since #3"}


def test_readings_that_stand_are_listed():
    told = summary(entries(reading("178", True), reading("160", False, replaces=1), item()))
    assert [line.entry.seq for line in told.readings] == [2]


def test_calls_asked_back_and_remarks_are_listed():
    asked = {"kind": "asked back", "input": {"type": "unclear", "heard": heard()}}
    remark = {"kind": "remark", "item": "", "transcript": "oil on the floor"}
    told = summary(entries(started(), asked, remark, asked))
    assert [entry.seq for entry in told.asked_back] == [2, 4]
    assert [entry.seq for entry in told.remarks] == [3]


def test_start_and_end_are_found():
    told = summary(entries(started(), {"kind": "closed", "caution": CAUTION}))
    assert told.started["identity"] == "VW 012"
    assert told.closed["caution"] == CAUTION


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"kind": 5},
        {"kind": "item"},
        {"kind": "item", "item": None, "result": [], "replaces": "1", "reopens": "panel"},
        {"kind": "disregarded", "entry": "1"},
        {"kind": "started", "items": "many", "card": 3},
        {"kind": "item", "item": "a", "reopens": [1, None], "reading": "x"},
    ],
    ids=str,
)
def test_a_body_of_another_shape_is_no_crash(body):
    told = summary(entries(body, item()))
    assert told.results["left-main-tyre"] == "satisfactory"


def card_of(*ids):
    limit = Limit(Decimal(1), None, "psi", "sample")
    items = tuple(
        Item(one, one, "gear", one, (), (), Side.NONE, Kind.CONDITION, limit=limit) for one in ids
    )
    return Card(
        "sample", "Sample", "1", "aircraft", CAUTION, (), (Station("gear", "gear", "", items),)
    )


def test_open_items_come_in_walking_order():
    told = summary(entries(item("b"), item("d", "not applicable")))
    assert [one.id for one in open_items(card_of("a", "b", "c", "d"), told)] == ["a", "c"]


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["item", "item", "item", "disregarded", "question dropped"]),
        st.sampled_from("abc"),
        st.sampled_from(list(Result)),
        st.integers(0, 12),
        st.sets(st.sampled_from("abc"), max_size=2),
    ),
    max_size=12,
)


@given(STEPS)
def test_the_walk_itself_comes_to_the_same_results(steps):
    # The walk's own ledger is the oracle: it decides what is open while the walk goes on.
    ledger, kept = Ledger(card_of("a", "b", "c")), []
    for seq, (kind, one, result, other, reopens) in enumerate(steps, 1):
        reopens -= {one}
        if kind == "item":
            entered = Entered(
                one, one, "gear", result, Accepted.TYPED, replaces=other, reopens=tuple(reopens)
            )
            ledger = ledger.enter(seq, entered)
            kept.append({"kind": "item", **entered.fields()})
        elif kind == "disregarded":
            ledger = ledger.withdraw(other)
            kept.append(disregarded(other, one))
        else:
            ledger = ledger.reopen(reopens)
            kept.append({"kind": kind, "reopens": sorted(reopens)})
    told = summary(entries(*kept))
    results = {one: ledger.result(one) for one in "abc" if not ledger.is_open(one)}
    assert told.results == results
    standing = {one.seq for item in "abc" for one in ledger.of(item)}
    assert {line.entry.seq for line in told.lines if not line.struck} == standing
