"""Inputs as JSON and back."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.language.meaning import NO_CALL, Act, Meaning
from voicewalk.walk.codec import decode, encode
from voicewalk.walk.messages import (
    Appended,
    AppendFailed,
    Call,
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Input,
    Interrupted,
    RemarkSpoken,
    SoundLost,
    Spoken,
    Start,
    Tick,
    Unclear,
)

texts = st.text(max_size=8)
fields = {name: texts for name in Meaning.__dataclass_fields__ if name not in ("act", "corrects")}
meanings = st.builds(Meaning, act=st.sampled_from(Act), corrects=st.booleans(), **fields)
heard = st.dictionaries(texts, texts | st.lists(texts, max_size=2), max_size=3)
asked = meanings.filter(lambda one: one.act not in NO_CALL)
calls = st.lists(st.tuples(asked, texts), max_size=3).map(tuple)
whole = st.integers(-(2**53) + 1, 2**53 - 1)
recorded: st.SearchStrategy[Input] = st.one_of(
    st.builds(Start, texts, texts),
    st.builds(Call, meanings, texts, heard),
    st.builds(Unclear, calls, heard),
    st.builds(RemarkSpoken, texts, heard),
    st.builds(Tick, texts),
    st.builds(Interrupted, whole),
    st.builds(ClockStepped, whole),
    st.builds(DeviceLost, texts),
    st.builds(DeviceBack),
    st.builds(SoundLost, whole, whole),
)


@given(recorded)
def test_an_input_comes_back_from_its_json(one: Input):
    assert decode(json.loads(json.dumps(encode(one)))) == one


@pytest.mark.parametrize("act", NO_CALL)
def test_nobody_is_asked_about_what_is_no_call(act):
    """Neither by a listener nor by a record."""
    good, none = (Meaning(one, item="radome") for one in (Act.SATISFACTORY, act))
    with pytest.raises(ValueError, match="no call"):
        Unclear(((good, "radome good"), (none, "is the radome good")))
    candidates = [{"meaning": none.to_json(), "words": "is the radome good"}]
    data = {"type": "unclear", "candidates": candidates, "heard": {}}
    with pytest.raises(ValueError, match="no call"):
        decode(data)


@pytest.mark.parametrize("one", [Appended(1), AppendFailed("full"), Spoken("item")])
def test_answers_of_the_session_are_never_recorded(one: Input):
    with pytest.raises(RuntimeError, match="never recorded"):
        encode(one)


GOOD = {"type": "call", "meaning": {"act": "item", "item": "x"}, "words": "x", "heard": {}}
FAULTS: dict[str, Any] = {
    "no object": ["call"],
    "nothing": None,
    "no type": {"words": "x"},
    "type is no text": {**GOOD, "type": 7},
    "unknown type": {**GOOD, "type": "shout"},
    "a field missing": {k: v for k, v in GOOD.items() if k != "heard"},
    "a field too many": {**GOOD, "volume": "11"},
    "words are no text": {**GOOD, "words": 5},
    "meaning is no object": {**GOOD, "meaning": "x"},
    "unknown act": {**GOOD, "meaning": {"act": "guess"}},
    "unknown field of a meaning": {**GOOD, "meaning": {"act": "item", "mood": "x"}},
    "heard is no object": {**GOOD, "heard": []},
    "gap is a truth value": {"type": "interrupted", "gap_ms": True},
    "gap is a fraction": {"type": "interrupted", "gap_ms": 1.5},
    "candidates are no list": {"type": "unclear", "candidates": {}, "heard": {}},
    "a candidate without words": {
        "type": "unclear",
        "candidates": [{"meaning": {"act": "item"}}],
        "heard": {},
    },
}


@pytest.mark.parametrize("data", FAULTS.values(), ids=FAULTS)
def test_anything_else_is_refused(data: object):
    with pytest.raises(ValueError):
        decode(data)


def test_a_call_is_written_as_the_record_format_says():
    one = Call(Meaning(Act.READING, item="x", value="210", unit="psi"), "x two ten", {"how": "y"})
    assert encode(one) == {
        "type": "call",
        "meaning": {"act": "reading", "item": "x", "value": "210", "unit": "psi"},
        "words": "x two ten",
        "heard": {"how": "y"},
    }
