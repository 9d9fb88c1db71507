"""The rules of an entry, one by one."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from walk_booth import meaning
from walk_cards import TRAINER, TRIO, item, limit

from voicewalk.card.model import Kind, Readback
from voicewalk.walk import rules
from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger, Standing
from voicewalk.walk.questions import Question
from voicewalk.walk.terms import Accepted, Ask, Result, Utterance


def entered(call: str) -> Entered:
    said = meaning(call)
    one = TRAINER.by_id[said.item]
    fitted = rules.fitted(one, said)
    assert rules.lacking(one, fitted) is None
    return rules.entered(one, Utterance(fitted, call), Accepted.UNDERSTOOD)


def standing(*calls: str) -> tuple[Standing, ...]:
    return tuple(Standing(seq, entered(call)) for seq, call in enumerate(calls, start=10))


# what an item of each kind lacks, by what is said of it; "" lacks nothing
LACKS = [
    ("radome", "satisfactory", ""),
    ("radome", "state locked", "value"),
    ("radome", "reading 3 psi", "value"),
    ("radome", "reading 3", "value"),
    ("radome", "count 3", "value"),
    ("door", "satisfactory", "value"),
    ("door", "state locked", ""),
    ("door", "state not locked", ""),
    ("door", "state removed", "value"),
    ("door", "reading 3 psi", "value"),
    ("door", "count 3", "value"),
    ("strut", "satisfactory", "value"),
    ("strut", "state locked", "value"),
    ("strut", "reading 3 inch", ""),
    ("strut", "reading 3", ""),
    ("strut", "count 3", ""),
    ("strut", "reading 3 psi", "unit"),
    ("strut", "reading 3 millimetre", "unit"),
    ("gear-pins", "satisfactory", "value"),
    ("gear-pins", "state removed", "value"),
    ("gear-pins", "count 5", ""),
    ("gear-pins", "reading 5", ""),
    ("gear-pins", "reading 5 psi", "value"),
    ("gear-pins", "count 4.5", "value"),
    *((name, "defect cut", "") for name in ("radome", "door", "strut", "gear-pins")),
    *((name, "not applicable", "") for name in ("radome", "door", "strut", "gear-pins")),
    *((name, "not inspected no stand", "") for name in ("radome", "door", "strut", "gear-pins")),
    *((name, "not inspected", "reason") for name in ("radome", "door", "strut", "gear-pins")),
]


@pytest.mark.parametrize(("name", "said", "lack"), LACKS)
def test_what_a_call_lacks(name: str, said: str, lack: str):
    one = TRAINER.by_id[name]
    found = rules.lacking(one, rules.fitted(one, meaning(f"{name}: {said}")))
    assert (found or "") == lack


@pytest.mark.parametrize(
    ("call", "result", "defect"),
    [
        ("radome: satisfactory", "satisfactory", ""),
        ("radome: defect cut", "discrepancy", "cut"),
        ("radome: not applicable", "not applicable", ""),
        ("radome: not inspected no stand", "not inspected", ""),
        ("door: state locked", "satisfactory", ""),
        ("door: state not locked", "discrepancy", "not locked"),
        ("left-tyre-pressure: reading 200 psi", "satisfactory", ""),
        ("left-tyre-pressure: reading 199.99 psi", "discrepancy", "below limit"),
        ("left-tyre-pressure: reading 220.01 psi", "discrepancy", "above limit"),
        ("brake-pin: reading 0 inch", "satisfactory", ""),
        ("gear-pins: count 5", "satisfactory", ""),
        ("gear-pins: count 05", "satisfactory", ""),
        ("gear-pins: count 6", "discrepancy", "wrong count"),
        ("gear-pins: count 0", "discrepancy", "wrong count"),
    ],
)
def test_the_result_of_a_call(call: str, result: str, defect: str):
    made = entered(call)
    assert made.result == result
    assert (made.discrepancy.defect if made.discrepancy else "") == defect


numbers = st.decimals(min_value=0, max_value=9999, places=2, allow_nan=False)


@given(value=numbers, low=st.none() | numbers, high=st.none() | numbers)
def test_limits_agree_with_exact_fractions(
    value: Decimal, low: Decimal | None, high: Decimal | None
):
    bounds = limit(low and str(low), high and str(high))
    bounds = replace(bounds, low=low, high=high)
    one = item("gauge", Kind.READING, unit="psi", limit=bounds)
    call = Utterance(meaning(f"gauge: reading {value} psi"), "as said")
    made = rules.entered(one, call, Accepted.UNDERSTOOD)
    too_low = low is not None and Fraction(value) < Fraction(low)
    too_high = high is not None and Fraction(value) > Fraction(high)
    assert (made.result is Result.SATISFACTORY) == (not too_low and not too_high)
    assert made.reading
    assert made.reading.within == (not too_low and not too_high)
    assert made.reading.value == str(value)
    assert (made.discrepancy is not None) == (too_low or too_high)
    if made.discrepancy:
        assert made.discrepancy.defect == ("below limit" if too_low else "above limit")


def test_a_limit_in_another_unit_judges_nothing():
    one = item("gauge", Kind.READING, unit="psi", limit=limit("1", "2", "bar"))
    call = Utterance(meaning("gauge: reading 1 psi"), "")
    made = rules.entered(one, call, Accepted.UNDERSTOOD)
    assert (made.result, made.discrepancy) == (Result.OPEN, None)
    assert made.reading
    assert made.reading.to_json()["why"] == "no limit in psi"


def test_a_count_with_nothing_expected_is_only_written_down():
    one = item("bags", Kind.COUNT)
    made = rules.entered(one, Utterance(meaning("bags: count 3"), ""), Accepted.UNDERSTOOD)
    assert made.result is Result.SATISFACTORY
    assert made.count
    assert made.count.to_json() == {"seen": "3"}


# what stands (entries 10, 11, ...), the new call, after "correction", replaces, lowers
REPLACES = [
    ((), "radome: satisfactory", False, 0, False),
    (("radome: satisfactory",), "radome: satisfactory", False, 10, False),
    (("radome: satisfactory",), "radome: defect cut", False, 10, False),
    (("radome: defect cut",), "radome: satisfactory", False, 10, True),
    (("radome: defect cut",), "radome: satisfactory", True, 10, False),
    (("radome: defect cut",), "radome: not applicable", False, 10, True),
    (("radome: defect cut",), "radome: not inspected no stand", False, 10, True),
    (("radome: defect cut",), "radome: defect cut", False, 10, False),
    (("radome: defect cut",), "radome: defect cut size 2 inch", False, 10, False),
    (("radome: defect cut",), "radome: defect cut outboard", False, 0, False),
    (("radome: defect cut",), "radome: defect worn", False, 0, False),
    (("radome: defect cut",), "radome: defect worn", True, 10, False),
    (("radome: defect cut", "radome: defect worn"), "radome: defect bulge", False, 0, False),
    (("radome: defect cut", "radome: defect worn"), "radome: defect bulge", True, 11, False),
    (("radome: defect cut", "radome: defect worn"), "radome: satisfactory", False, 10, True),
    (("radome: defect cut", "radome: defect worn"), "radome: satisfactory", True, 10, True),
    (("strut: reading 1 inch",), "strut: reading 2 inch", False, 10, False),
    (("strut: reading 1 inch",), "strut: reading 3 inch", False, 10, True),
    (("strut: reading 1 inch",), "strut: defect leaking", False, 0, False),
    (("strut: defect leaking",), "strut: reading 1 inch", False, 0, False),
    (("strut: reading 3 inch",), "strut: reading 1 inch", False, 10, False),
    (("door: state not locked",), "door: state not locked", False, 10, False),
    (("door: state not locked",), "door: defect bent", False, 0, False),
    (("gear-pins: count 3",), "gear-pins: count 4", False, 10, False),
    (("gear-pins: count 3",), "gear-pins: count 5", False, 10, True),
]


@pytest.mark.parametrize(("stands", "call", "corrects", "seq", "lowers"), REPLACES)
def test_what_a_result_replaces_and_whether_it_lowers(
    stands: tuple[str, ...], call: str, corrects: bool, seq: int, lowers: bool
):
    kept, new = standing(*stands), entered(call)
    assert rules.replaced(kept, new, corrects) == seq
    assert rules.lowers(kept, new, corrects) == lowers
    assert rules.must_confirm(TRAINER.by_id[new.item], kept, (), new, corrects) == lowers


@pytest.mark.parametrize("readback", Readback)
def test_only_the_policy_confirm_asks_before_each_entry(readback: Readback):
    one = replace(TRAINER.by_id["radome"], readback=readback)
    asks = rules.must_confirm(one, (), (), entered("radome: satisfactory"), False)
    assert asks == (readback == "confirm")


def ledger(*calls: str) -> Ledger:
    kept = Ledger(TRAINER)
    for seq, call in enumerate(calls, start=10):
        kept = kept.enter(seq, entered(call))
    return kept


@pytest.mark.parametrize(
    ("before", "call", "opens"),
    [
        ((), "engine-run: satisfactory", ()),
        (("bay-recheck: satisfactory",), "engine-run: satisfactory", ("bay-recheck",)),
        (("bay-recheck: defect cut",), "engine-run: defect cut", ("bay-recheck",)),
        (("bay-recheck: satisfactory",), "engine-run: not applicable", ()),
        (("bay-recheck: satisfactory",), "engine-run: not inspected no stand", ()),
        (("bay-recheck: satisfactory",), "radome: satisfactory", ()),
        (("bay-recheck: satisfactory",), "bay-recheck: satisfactory", ()),
    ],
)
def test_what_an_entry_opens_again(before: tuple[str, ...], call: str, opens: tuple[str, ...]):
    assert rules.reopened(TRAINER, ledger(*before), entered(call)) == opens


def test_an_item_does_not_open_itself_again():
    one = replace(TRIO.by_id["lamp"], reopened_by=("lamp",))
    card = replace(TRIO, stations=(replace(TRIO.stations[0], items=(one,)),))
    made = rules.entered(one, Utterance(meaning("lamp: satisfactory"), ""), Accepted.UNDERSTOOD)
    assert rules.reopened(card, Ledger(card).enter(2, made), made) == ()


@pytest.mark.parametrize(
    ("before", "open_needs"),
    [
        ((), ("left-cover",)),
        (("right-cover: state removed",), ("left-cover",)),
        (("left-cover: state removed",), ()),
        (("left-cover: state installed",), ()),  # closed, though with a discrepancy
    ],
)
def test_which_needs_are_open(before: tuple[str, ...], open_needs: tuple[str, ...]):
    assert rules.open_needs(TRAINER.by_id["left-probe"], ledger(*before)) == open_needs


@pytest.mark.parametrize(
    ("ask", "call", "opens"),
    [
        (Ask.WHICH_SIDE, "@tyre: defect cut", ("right-tyre",)),
        (Ask.CONFIRM, "right-tyre: satisfactory", ("right-tyre",)),
        (Ask.VALUE, "left-tyre: reading 3 psi", ()),  # a discrepancy stands
        (Ask.UNIT, "strut: reading 3 psi", ()),  # still open
        (Ask.WHICH_ITEM, ": defect cut", ()),
        (Ask.HEARD, "right-tyre: defect cut", ()),  # it was not understood
    ],
)
def test_what_a_dropped_question_opens_again(ask: Ask, call: str, opens: tuple[str, ...]):
    kept = ledger("left-tyre: defect cut", "right-tyre: satisfactory")
    asked = Question(20, ask, (Utterance(meaning(call), call),))
    assert rules.unsettled(TRAINER, kept, asked) == opens
