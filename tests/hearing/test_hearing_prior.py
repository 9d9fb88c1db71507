"""Calls that are seldom said weigh less before they are heard, and never by much."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.card.model import Card, Item, Kind, Limit, Side, Station
from voicewalk.hearing.prior import LEAST, NEAR_CALL, RARE, Prior, unasked
from voicewalk.language.meaning import NO_CALL, Act, Command, Expectation, Meaning

NOTHING = Expectation()


def item(name: str, kind: Kind, **more: object) -> Item:
    return Item(name, name, "nose", name, (), (), Side.NONE, kind, **more)


def limit(low: str | None, high: str | None, unit: str = "psi") -> Limit:
    ends = (None if end is None else Decimal(end) for end in (low, high))
    return Limit(*ends, unit, "invented")


ITEMS = (
    item("radome", Kind.CONDITION),
    item("door", Kind.STATE),
    item("tyre", Kind.READING, unit="psi", limit=limit("90", "100")),
    item("bottle", Kind.READING, unit="psi", limit=limit("500", None)),
    item("leak", Kind.READING, unit="drops per minute", limit=limit(None, "2", "drops per minute")),
    item("hours", Kind.READING, unit="hour"),
    item("lights", Kind.COUNT, expected=3),
    item("forms", Kind.COUNT),
    replace(item("left-pin", Kind.READING, unit="inch", limit=limit("0.5", "2", "inch")),
            group="pin"),
)  # fmt: skip
PRIOR = Prior(
    Card("c", "C", "1", "aircraft", "", (), (Station("nose", "nose", "power off", ITEMS),))
)


def reading(item: str, value: str, unit: str = "psi") -> Meaning:
    return Meaning(Act.READING, item=item, value=value, unit=unit)


def count(item: str, value: str) -> Meaning:
    return Meaning(Act.COUNT, item=item, value=value)


AFFIRM = Meaning(Act.COMMAND, command=Command.AFFIRM)
NEGATIVE = Meaning(Act.COMMAND, command=Command.NEGATIVE)
LEFT = Meaning(Act.SIDE, side="left")
FIRST = Meaning(Act.CHOICE, choice="first")
LATCHED = Meaning(Act.STATE, item="door", state="latched")
TYRE = reading("tyre", "95")


@pytest.mark.parametrize(
    "meaning",
    [
        Meaning(Act.SATISFACTORY, item="radome"),
        Meaning(Act.SATISFACTORY, group="pin"),
        LATCHED,
        TYRE,
        Meaning(Act.DISCREPANCY, item="radome", defect="crack"),
        Meaning(Act.NOT_INSPECTED, item="radome", reason="no access"),
        Meaning(Act.NOT_APPLICABLE, item="radome"),
        Meaning(Act.COMMAND, command=Command.NEXT),
        Meaning(Act.COMMAND, command=Command.STOP),
        Meaning(Act.SATISFACTORY, item="gone"),
    ],
)
def test_a_common_call_has_no_weight(meaning):
    assert PRIOR(meaning, NOTHING) == 0.0


@pytest.mark.parametrize(
    "meaning",
    [
        Meaning(Act.ITEM, item="radome"),
        reading("tyre", "95", ""),
        Meaning(Act.NOT_INSPECTED, item="radome"),
    ],
    ids=lambda meaning: meaning.act.value,
)
def test_a_call_with_something_left_out_is_rare(meaning):
    """Such words lie inside the whole call, so that they would always fit too."""
    assert PRIOR(meaning, NOTHING) == RARE


@pytest.mark.parametrize(
    ("meaning", "expecting"),
    [
        (reading("", "95"), Expectation(item="tyre")),
        (Meaning(Act.STATE, state="latched"), Expectation(item="door")),
        (LEFT, Expectation(side=True)),
        (FIRST, Expectation(between=(LATCHED, TYRE))),
        (Meaning(Act.STATE, state="latched"), Expectation(between=(LATCHED, TYRE))),
        (reading("", "95"), Expectation(between=(TYRE,))),
        (AFFIRM, Expectation(question=True)),
        (NEGATIVE, Expectation(question=True)),
    ],
)
def test_an_answer_is_rare_only_where_it_was_not_asked_for(meaning, expecting):
    assert unasked(meaning, NOTHING)
    assert not unasked(meaning, expecting)
    assert PRIOR(meaning, expecting) == 0.0
    assert PRIOR(meaning, NOTHING) == RARE


@pytest.mark.parametrize(
    ("meaning", "expecting"),
    [
        (LEFT, Expectation(item="tyre")),
        (reading("", "95"), Expectation(question=True, side=True)),
        (FIRST, Expectation(between=(LATCHED,))),
        (reading("", "95"), Expectation(between=(LATCHED,))),
        (AFFIRM, Expectation(item="tyre", side=True)),
    ],
)
def test_an_answer_to_another_question_was_not_asked_for(meaning, expecting):
    assert unasked(meaning, expecting)
    assert PRIOR(meaning, expecting) == RARE


@pytest.mark.parametrize(
    ("meaning", "odd"),
    [
        (reading("tyre", "45"), False),
        (reading("tyre", "44"), True),
        (reading("tyre", "200"), False),
        (reading("tyre", "201"), True),
        (reading("tyre", "0"), False),  # a gauge may be dead, a tyre flat
        (reading("tyre", "95.25"), False),
        (reading("tyre", "95.125"), True),
        (reading("bottle", "249"), True),
        (reading("bottle", "90000"), False),
        (reading("leak", "5", "drops per minute"), True),
        (reading("leak", "4", "drops per minute"), False),
        (reading("hours", "30000", "hour"), False),  # without a limit nothing is odd
        (reading("tyre", "7", "psi/psig"), True),
        (count("lights", "12"), False),
        (count("lights", "13"), True),
        (count("forms", "3"), False),
        (count("forms", "4"), True),
    ],
    ids=lambda given: f"{given.item}={given.value}" if isinstance(given, Meaning) else "",
)
def test_a_number_that_the_item_can_hardly_have_is_rare(meaning, odd):
    assert PRIOR(meaning, NOTHING) == (RARE if odd else 0.0)
    bare = replace(meaning, item="")
    assert PRIOR(bare, Expectation(item=meaning.item)) == (RARE if odd else 0.0)


@pytest.mark.parametrize(
    ("meaning", "strange"),
    [
        (reading("tyre", "95", "psi"), False),
        (reading("tyre", "95", "psi/psig"), False),  # one word for both: the item decides
        (reading("tyre", "7", "bar"), True),
        (reading("tyre", "7", "bar/inch"), True),
        (reading("hours", "7", "minute"), True),
        (reading("radome", "7", "psi"), False),  # what is not read has no unit of its own
        (reading("gone", "7", "psi"), False),
        (Meaning(Act.DISCREPANCY, item="tyre", defect="cut", size="2", size_unit="inch"), False),
    ],
    ids=lambda given: f"{given.item} {given.unit}" if isinstance(given, Meaning) else "",
)
def test_another_unit_than_the_items_is_rare(meaning, strange):
    assert PRIOR(meaning, NOTHING) == (RARE if strange else 0.0)


def test_what_is_odd_in_two_ways_is_rarer_and_no_more_than_twice():
    """The unit and the number of another gauge, and nobody asked."""
    two = reading("", "95.125", "psi")
    assert PRIOR(two, NOTHING) == LEAST == 2 * RARE
    assert PRIOR(reading("", "95.125", ""), NOTHING) == LEAST


def test_a_group_is_weighed_by_its_first_item():
    far = Meaning(Act.READING, group="pin", value="9", unit="inch")
    assert PRIOR(far, NOTHING) == RARE
    assert PRIOR(replace(far, value="1.5"), NOTHING) == 0.0


numbers = st.decimals(0, 99_999, places=3).map(lambda n: format(n.normalize(), "f"))
meanings = st.builds(
    Meaning,
    st.sampled_from(Act),
    item=st.sampled_from(["", "gone", *(one.id for one in ITEMS)]),
    value=numbers | st.just(""),
    unit=st.sampled_from(["", "psi", "bar", "psi/psig"]),
)
expectations = st.builds(
    Expectation,
    item=st.sampled_from(["", "gone", *(one.id for one in ITEMS)]),
    question=st.booleans(),
    side=st.booleans(),
)


@given(meanings, expectations)
def test_no_weight_is_more_than_the_bound_however_rare_a_call(meaning, expecting):
    """So that none overrules clear speech."""
    assert PRIOR(meaning, expecting) in (0.0, RARE, NEAR_CALL, LEAST)


@pytest.mark.parametrize("value", ["90", "95", "100"])
def test_what_lies_within_the_limits_is_never_odd(value):
    assert PRIOR(reading("tyre", value), NOTHING) == 0.0


@pytest.mark.parametrize("act", NO_CALL)
@pytest.mark.parametrize("expecting", [NOTHING, Expectation(item="door")])
def test_what_only_comes_near_a_call_is_rarer_than_any_odd_call(act, expecting):
    for near in (Meaning(act), Meaning(act, item="door")):
        assert PRIOR(near, expecting) == NEAR_CALL
    assert LEAST < NEAR_CALL < RARE < PRIOR(LATCHED, NOTHING)
