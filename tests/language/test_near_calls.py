"""Speech near a call is never its result: opposites, questions, orders, futures, words behind.

Typed, on every card that comes with the program: what the graph has no path for is not taken.
"""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from language_cards import Laid, shipped

from voicewalk.card.model import Item, Kind
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.typed import read_typed
from voicewalk.language.draw import draw_call
from voicewalk.language.meaning import NO_CALL, Act, Meaning

CARDS = ("jet-trainer", "light-turboprop", "two-person-check", "vehicle-daily")
ENDLESS = 2000
"""Calls drawn of each card: every part of its graph comes up."""

DENYING = (
    *("is not", "isn't", "are not", "aren't", "has not been", "hasn't been", "have not been"),
    *("haven't been", "was not", "wasn't", "not", "not yet", "never", "isn't yet"),
)
PENDING = (
    *("should be", "must be", "will be", "going to be", "is going to be", "needs to be"),
    *("ought to be", "to be", "can't be", "cannot be", "almost", "is nearly", "half", "hardly"),
)
BEFORE = (
    *("is the", "are the", "was the", "has", "have", "did", "does", "who removed the", "why is"),
    *("when was", "where is the", "get the", "put the", "make sure", "check that", "check the"),
    *("tell him to get the", "can you get", "i think", "he said", "maybe"),
)
BEHIND = (
    *("no", "negative", "not", "except for", "tomorrow", "later", "soon", "i guess", "he said"),
    *("wait",),
)

ON_CARDS = pytest.mark.parametrize("on", [shipped(name) for name in CARDS], ids=CARDS)


def goods(one: Item, on: Laid) -> list[str]:
    """What closes an item as good, where that is a word and no number."""
    if one.kind is Kind.STATE:
        return [way for s in one.states if s.good for way in (s.name, *s.words)]
    return list(on.words.satisfactory.words) if one.kind is Kind.CONDITION else []


def is_good(on: Laid, meaning: Meaning) -> bool:
    """Whether it would be taken for a good result, or for a number."""
    one = on.card.by_id.get(meaning.item)
    if meaning.act is Act.STATE and one:
        return any(state.good and state.name == meaning.state for state in one.states)
    return meaning.act in (Act.SATISFACTORY, Act.READING, Act.COUNT, Act.NOT_APPLICABLE)


def taken(on: Laid, text: str) -> list[Meaning]:
    """What a typed line is taken for at once."""
    heard = read_typed(on.graph, text)
    found = [one.meaning for one in heard.candidates]
    return found if heard.verdict is Verdict.UNDERSTOOD else []


@st.composite
def calls(draw: st.DrawFn) -> tuple[Laid, Item, str]:
    on = shipped(draw(st.sampled_from(CARDS)))
    one = draw(st.sampled_from([item for item in on.card if goods(item, on)]))
    return on, one, draw(st.sampled_from(goods(one, on)))


@given(calls(), st.sampled_from(DENYING))
def test_what_is_denied_is_never_good(call, denying):
    on, one, good = call
    assert not [m for m in on.read(f"{one.name} {denying} {good}") if is_good(on, m)]


@given(calls(), st.sampled_from(PENDING))
def test_what_is_not_so_now_is_no_result(call, pending):
    on, one, good = call
    found = on.read(f"{one.name} {pending} {good}")
    assert found == [Meaning(Act.TALK, item=one.id)]


@given(calls(), st.sampled_from(BEFORE))
def test_a_question_or_an_order_is_no_result(call, before):
    on, one, good = call
    for text in (f"{before} {one.name} {good}", f"{before} the {one.name} is {good}"):
        assert [m.act for m in on.read(text) if m.act not in NO_CALL] == [], text


@given(calls(), st.sampled_from(BEHIND))
def test_what_takes_a_call_back_leaves_no_result(call, behind):
    on, one, good = call
    assert on.read(f"{one.name} {good} {behind}") == [Meaning(Act.MIXED, item=one.id)]


@given(calls(), calls())
def test_of_two_calls_in_one_breath_neither_is_taken(call, other):
    (on, one, good), (its, second, fine) = call, other
    if on is its:
        found = on.read(f"{one.name} {good} {second.name} {fine}")
        assert found == [Meaning(Act.MIXED, item=one.id)]


@given(calls())
def test_a_statement_is_the_plain_call(call):
    on, one, good = call
    plain = on.read(f"{one.name} {good}")
    verb = "are" if one.name.endswith("s") and not one.name.endswith("ss") else "is"
    assert on.read(f"the {one.name} {verb} {good}") == plain
    assert len(plain) == 1


@ON_CARDS
def test_plain_calls_keep_their_one_meaning(on):
    random = Random(7)
    drawn = [draw_call(on.card, on.words, random)[1] for _ in range(ENDLESS)]
    assert [text for text in drawn if any(m.act in NO_CALL for m in on.read(text))] == []


def test_opposites_are_the_bad_state_that_the_card_names():
    on = shipped("jet-trainer")
    said = {
        "front seat pin uninstalled": ("front-seat-pin", "removed"),
        "grounding cable disconnected": ("grounding-cable", "not connected"),
        "left fuel cap insecure": ("left-fuel-cap", "not secure"),
        "right fuel cap unsecured": ("right-fuel-cap", "not secure"),
        "landing gear handle isn't down": ("landing-gear-handle", "up"),
        "flight controls aren't free": ("flight-controls", "restricted"),
        "oxygen flow stopped flowing": ("oxygen-flow", "not flowing"),
    }
    calls = {t: Meaning(Act.STATE, item=i, state=s) for t, (i, s) in said.items()}
    assert on.misread(calls) == {}
    bad = Meaning(Act.DISCREPANCY, item="radome", defect="unserviceable")
    assert on.misread({"radome is not good": bad, "radome isn't serviceable": bad}) == {}
    assert on.read("left pitot heat isn't cold") == [Meaning(Act.TALK, item="left-pitot-heat")]


def test_a_typed_line_near_a_call_is_never_taken_for_it():
    on = shipped("jet-trainer")
    for line in (
        *("Tell Joe to get the left main gear pin removed.", "Left fuel cap secure, seal torn."),
        *("Who removed the left intake plug?", "Did anyone see the oil filler cap secure?"),
        *("Left main tyre satisfactory, cut.", "Left main tyre satisfactory except for a cut."),
        *("Gear pins two. Left fuel cap secure.", "Left intake plug isn't removed yet."),
        *("Control lock hasn't been removed.", "Right avionics door almost latched."),
    ):
        assert not [m for m in taken(on, line) if is_good(on, m)], line
