"""Where a call may begin: by a name always, and with an answer where one was asked for."""

from __future__ import annotations

import pytest

from voicewalk.hearing.ears import starts_of
from voicewalk.language.build import IDENTITY, SIDES
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.meaning import Act, Expectation, Meaning

DOOR = Meaning(Act.STATE, item="door", state="latched")
COVER = Meaning(Act.STATE, group="cover", state="removed")


@pytest.fixture(scope="module")
def graph() -> PhraseGraph:
    """Each entry is a state of its own."""
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    for name in ("door", "tyre", "cover", SIDES, IDENTITY):
        state = builder.state()
        builder.entry(name, state)
        builder.arc(0, state, "the")
        builder.arc(state, end, "good")
    return builder.freeze()


@pytest.mark.parametrize(
    ("expectation", "entered"),
    [
        (Expectation(), []),
        (Expectation(question=True), []),
        (Expectation(likely=("door", "tyre")), []),
        (Expectation(item="door"), ["door"]),
        (Expectation(item="door", question=True, likely=("tyre",)), ["door"]),
        (Expectation(side=True), [SIDES]),
        (Expectation(item="tyre", side=True), ["tyre", SIDES]),
        (Expectation(between=(DOOR,)), ["door"]),
        (Expectation(between=(DOOR, COVER)), ["door", "cover"]),
        (Expectation(item="tyre", between=(DOOR, COVER)), ["tyre", "door", "cover"]),
        (Expectation(item="door", between=(DOOR, DOOR)), ["door"]),
        (Expectation(between=(Meaning(Act.COMMAND, command="next"),)), []),
        (Expectation(item="gone"), []),
        (Expectation(identity=True), [IDENTITY]),
    ],
    ids=str,
)
def test_a_call_begins_by_a_name_or_with_what_answers_the_question(expectation, entered, graph):
    expected = sorted({0, *(graph.entries[name] for name in entered)})
    assert list(starts_of(graph, expectation)) == expected
