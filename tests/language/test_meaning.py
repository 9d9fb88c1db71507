"""Meanings are written into the record and read from it without loss."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.language.meaning import Act, Command, Meaning, is_part, without_side

words = st.text(max_size=8)
meanings = st.builds(
    Meaning,
    act=st.sampled_from(Act),
    item=words,
    group=words,
    state=words,
    value=words,
    unit=words,
    defect=words,
    place=words,
    size=words,
    size_unit=words,
    reason=words,
    side=st.sampled_from(("", "left", "right")),
    choice=st.sampled_from(("", "first", "second")),
    command=st.sampled_from(("", *Command)),
    corrects=st.booleans(),
)


@given(meanings)
def test_a_meaning_survives_json(meaning):
    data = json.loads(json.dumps(meaning.to_json()))
    assert Meaning.from_json(data) == meaning
    assert all(data.values())


def test_only_what_is_said_is_written():
    assert Meaning(Act.READING, value="210").to_json() == {"act": "reading", "value": "210"}


@pytest.mark.parametrize(
    "data",
    [
        {"act": "reading", "valeu": "210"},
        {"act": "checked"},
        {"value": "210"},
        {},
    ],
    ids=["misspelled-field", "unknown-act", "no-act", "empty"],
)
def test_anything_else_is_refused(data):
    with pytest.raises(ValueError):
        Meaning.from_json(data)


# --- a call without its side -----------------------------------------------------------------


def test_a_call_of_one_side_is_said_of_its_group():
    for side in ("left", "right"):
        said = Meaning(Act.STATE, item=f"{side}-fuel-cap", state="secure")
        assert without_side(said, "fuel-cap") == Meaning(
            Act.STATE, group="fuel-cap", state="secure"
        )


@pytest.mark.parametrize(
    ("item", "group"),
    [
        ("left-fuel-cap", ""),
        ("left-", ""),
        ("left-fuel-cap", "oil-cap"),
        ("upper-fuel-cap", "fuel-cap"),
        ("", "fuel-cap"),
    ],
)
def test_what_is_no_side_of_the_group_has_none_to_lose(item, group):
    assert without_side(Meaning(Act.STATE, item=item, state="secure"), group) is None


@given(meanings, words)
def test_nothing_is_itself_without_its_side(meaning, group):
    """Else the likeliest call would be left out as its own like."""
    assert without_side(meaning, group) != meaning


# --- parts of a call -------------------------------------------------------------------------

CUT = Meaning(
    Act.DISCREPANCY, item="left-tyre", defect="cut", size="50", size_unit="mm", place="tread"
)
FIFTY = Meaning(Act.READING, item="left-tyre-pressure", value="50", unit="psi")
PINS = Meaning(Act.COUNT, item="gear-pins", value="50")
LATCHED = Meaning(Act.STATE, item="door", state="latched")
COVERED = Meaning(Act.NOT_INSPECTED, item="door", reason="covered")
NEXT = Meaning(Act.COMMAND, command="next")


@pytest.mark.parametrize(
    ("said", "whole"),
    [
        (Meaning(Act.READING, value="50"), FIFTY),
        (Meaning(Act.READING, value="50", unit="psi"), FIFTY),
        (Meaning(Act.READING, value="50", unit="psi/pound"), FIFTY),
        (Meaning(Act.READING, value="50"), PINS),
        (Meaning(Act.READING, value="50", unit="mm"), CUT),
        (Meaning(Act.READING, value="50"), CUT),
        (Meaning(Act.DISCREPANCY, defect="cut"), CUT),
        (Meaning(Act.DISCREPANCY, defect="cut", place="tread"), CUT),
        (Meaning(Act.ITEM, item="left-tyre"), CUT),
        (Meaning(Act.STATE, state="latched"), LATCHED),
        (Meaning(Act.NOT_INSPECTED), COVERED),
        (NEXT, NEXT),
    ],
)
def test_a_part_says_nothing_that_the_whole_does_not(said, whole):
    assert is_part(said, whole)


@pytest.mark.parametrize(
    ("said", "whole"),
    [
        (Meaning(Act.READING, value="15"), FIFTY),
        (Meaning(Act.READING, value="50", unit="bar"), FIFTY),
        (Meaning(Act.READING, value="50"), LATCHED),
        (Meaning(Act.READING, value="50", unit="inch"), CUT),
        (Meaning(Act.DISCREPANCY, defect="cut", place="sidewall"), CUT),
        (Meaning(Act.DISCREPANCY, defect="worn"), CUT),
        (Meaning(Act.ITEM, item="right-tyre"), CUT),
        (Meaning(Act.STATE, state="not latched"), LATCHED),
        (Meaning(Act.STATE, item="gate", state="latched"), LATCHED),
        (Meaning(Act.SATISFACTORY), LATCHED),
        (Meaning(Act.SIDE, side="left"), CUT),
        (Meaning(Act.CHOICE, choice="first"), CUT),
        (Meaning(Act.COMMAND, command="affirm"), NEXT),
    ],
)
def test_what_says_anything_else_is_no_part(said, whole):
    assert not is_part(said, whole)


@given(meanings)
def test_a_call_is_a_part_of_itself(meaning):
    assert is_part(meaning, meaning) or "/" in meaning.unit
