"""Meanings are written into the record and read from it without loss."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.language.meaning import Act, Command, Meaning

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
