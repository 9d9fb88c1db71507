"""Speech near a call, drawn from cards: near enough, varied, and never a call."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from language_cards import item, laid, shipped

from voicewalk.card.model import Kind, State
from voicewalk.errors import VoicewalkError
from voicewalk.hearing.ears import starts_of
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.language.near import (
    draw_near,
    enters,
    items_in,
    near_call_of,
    near_calls,
)
from voicewalk.language.talk import Near

CARDS = ("jet-trainer", "vehicle-daily", "light-turboprop", "two-person-check")
ON_ALL = pytest.mark.parametrize("on", [shipped(name) for name in CARDS], ids=CARDS)
JET = shipped("jet-trainer")


def meant(on, kind: Near, text: str):
    return near_call_of(on.card, on.words, on.graph, kind, text)


@ON_ALL
@given(seed=st.integers(0, 2**32), kind=st.sampled_from(Near))
def test_what_is_drawn_is_near_an_item_and_enters_nothing(on, seed, kind):
    """Whether nothing was asked or that very item; an opposite may enter what it truly says."""
    drawn, text = draw_near(on.card, on.words, Random(seed), graph=on.graph, kind=kind)
    near = meant(on, kind, text)
    assert drawn == kind
    assert near.item
    assert text == text.lower() == " ".join(text.split())
    right = near.meanings if kind is Near.OPPOSITE else ()
    for expectation in (Expectation(), Expectation(item=near.item)):
        for meaning in on.read(text) + on.answers(text, starts_of(on.graph, expectation)):
            assert meaning in right or not enters(meaning)


@ON_ALL
@given(seed=st.integers(0, 2**32))
@example(seed=486190268)  # of both sides of an item, each named without its side
def test_two_calls_are_two_calls(on, seed):
    _, text = draw_near(on.card, on.words, Random(seed), graph=on.graph, kind=Near.TWO_CALLS)
    one, other = meant(on, Near.TWO_CALLS, text).meanings
    assert all((m.item or m.group) and enters(m) for m in (one, other))
    bad = {s.name for it in on.card for s in it.states if not (s.good or s.stays_open)}
    good = {s.name for it in on.card for s in it.states if s.good}
    assert {m.state for m in (one, other) if m.act is Act.STATE} <= good | (good & bad)


@pytest.mark.parametrize("kind", Near)
def test_every_kind_has_many_texts(kind):
    random = Random(3)
    texts = {draw_near(JET.card, JET.words, random, graph=JET.graph, kind=kind) for _ in range(400)}
    assert len(texts) >= 200


@ON_ALL
def test_every_kind_and_every_item_comes_up(on):
    random = Random(4)
    drawn = [draw_near(on.card, on.words, random, graph=on.graph) for _ in range(3000)]
    assert {kind for kind, _ in drawn} == set(Near)
    about = {one.id for kind, text in drawn for one in items_in(on.card, text)}
    assert about == set(on.card.by_id)


def test_the_same_generator_draws_the_same():
    def drawn(seed: int) -> list[tuple[str, str]]:
        random = Random(seed)
        return [draw_near(JET.card, JET.words, random, graph=JET.graph) for _ in range(20)]

    assert drawn(7) == drawn(7)
    assert drawn(7) != drawn(8)


def test_near_calls_are_drawn_with_what_they_mean():
    drawn = near_calls(JET.card, JET.words, Random(5))
    for _ in range(100):
        near = next(drawn)
        assert near == meant(JET, near.kind, near.text)
        told = near.to_json()
        assert ("meanings" in told) is bool(near.meanings)


def test_an_opposite_in_the_cards_own_words_is_a_call_and_never_drawn():
    shut = State("not shut", ("open", "unlatched"), good=False)
    on = laid(item("door", Kind.STATE, states=(State("shut", ("latched",), good=True), shut)))
    texts = {
        draw_near(on.card, on.words, Random(seed), graph=on.graph, kind=Near.OPPOSITE)[1]
        for seed in range(400)
    }
    assert "door isn't shut" in texts
    assert "door not latched" in texts  # which the card does not have
    assert texts.isdisjoint({"door not shut", "door open", "door unlatched"})


def test_a_card_that_understands_another_language_has_none():
    korean = shipped("tow-tractor-korean")
    with pytest.raises(VoicewalkError, match="'ko'"):
        draw_near(korean.card, korean.words, Random(1), graph=korean.graph)


# --- what it truly means -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "item", "meanings"),
    [
        (
            "left avionics door isn't latched",
            "left-avionics-door",
            [Meaning(Act.STATE, item="left-avionics-door", state="not latched")],
        ),
        (
            "throttle isn't cut off",  # and not "idle", which was not said
            "throttle",
            [Meaning(Act.STATE, item="throttle", state="not cut off")],
        ),
        (
            "flight controls aren't free",  # and not "reversed"
            "flight-controls",
            [Meaning(Act.STATE, item="flight-controls", state="restricted")],
        ),
        ("avionics door unlatched yet", "left-avionics-door",
         [Meaning(Act.STATE, group="avionics-door", state="not latched")]),
        ("radome isn't good", "radome", []),
        ("nothing is good", "", []),
    ],
)  # fmt: skip
def test_what_an_opposite_says(text, item, meanings):
    near = meant(JET, Near.OPPOSITE, text)
    assert near.item == item
    about = {"group": meanings[0].group} if meanings and meanings[0].group else {"item": item}
    poor = Meaning(Act.DISCREPANCY, defect="unserviceable", **about)
    assert list(near.meanings) == ([*meanings, poor] if item else [])


GOOD_LEFT = Meaning(Act.STATE, item="left-fuel-cap", state="secure")
GOOD_RIGHT = Meaning(Act.STATE, item="right-fuel-cap", state="secure")


@pytest.mark.parametrize(
    ("text", "meanings"),
    [
        ("left fuel cap secure right fuel cap secure", (GOOD_LEFT, GOOD_RIGHT)),
        ("right fuel cap secure and left fuel cap secure", (GOOD_RIGHT, GOOD_LEFT)),
        ("left fuel cap secure right fuel cap", ()),
        ("left fuel cap secure", ()),
        ("left fuel cap secure say again", ()),
        ("left fuel cap secure right fuel cap secure radome good", ()),
        ("", ()),
    ],
)
def test_what_two_calls_say(text, meanings):
    assert meant(JET, Near.TWO_CALLS, text).meanings == meanings


@pytest.mark.parametrize("kind", set(Near) - {Near.TWO_CALLS, Near.OPPOSITE})
def test_all_other_speech_may_enter_nothing(kind):
    assert meant(JET, kind, "left fuel cap secure right fuel cap secure").meanings == ()


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        ("is the left fuel cap secure", ["left-fuel-cap"]),
        ("is the fuel cap secure", ["left-fuel-cap", "right-fuel-cap"]),
        ("get the left main tyre pressure to two hundred psi", ["left-main-tyre-pressure"]),
        ("is the preflight former signed", []),
        ("", []),
    ],
)
def test_the_items_that_are_named(text, ids):
    assert [one.id for one in items_in(JET.card, text)] == ids


@pytest.mark.parametrize(
    ("meaning", "does"),
    [
        (GOOD_LEFT, True),
        (Meaning(Act.DISCREPANCY, item="radome", defect="cut"), True),
        (Meaning(Act.NOT_INSPECTED, item="radome"), True),
        (Meaning(Act.PROMISED, item="radome"), True),
        (Meaning(Act.IDENTITY, value="12"), True),
        (Meaning(Act.CHOICE, choice="first"), True),
        (Meaning(Act.COMMAND, command=Command.AFFIRM), True),
        (Meaning(Act.COMMAND, command=Command.DISREGARD), True),
        (Meaning(Act.COMMAND, command=Command.CLOSE), True),
        (Meaning(Act.COMMAND, command=Command.NEXT), False),
        (Meaning(Act.ITEM, item="radome"), False),
        (Meaning(Act.VAGUE, item="radome", state="done"), False),
    ],
)
def test_what_would_change_the_record(meaning, does):
    assert enters(meaning) is does
