"""Answers to an unclear call: which call they tell, and how the talk about it ends."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from walk_booth import SETTINGS, Booth, meaning, run
from walk_cards import TRAINER

from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk.messages import Call, Input, Json, Start, Unclear
from voicewalk.walk.questions import narrow
from voicewalk.walk.replay import replay
from voicewalk.walk.terms import Utterance


def told(calls: str, said: str) -> str:
    """The words of the call that ``said`` tells, "" for none."""
    read = tuple(Utterance(meaning(text), text) for text in calls.split(" | "))
    found = narrow(TRAINER, read, meaning(said))
    return found.words if found else ""


SIDES = "left-tyre-pressure: reading 50 psi | right-tyre-pressure: reading 50 psi"
NUMBERS = "left-tyre-pressure: reading 15 psi | left-tyre-pressure: reading 50 psi"
STATES = "left-cover: state installed | left-cover: state removed"
ITEMS = "radome: defect cut | strut: defect cut"
PLACES = "left-tyre: defect cut outboard | left-tyre: defect cut inboard"
SIZES = "left-tyre: defect cut size 0.5 inch tread | left-tyre: defect cut size 5 inch tread"
NESTED = "left-tyre: defect cut | left-tyre: defect cut outboard"
MIXED = "left-tyre: defect worn | right-tyre: satisfactory"
ONE = "left-tyre: defect cut"


@pytest.mark.parametrize(
    ("calls", "said", "which"),
    [
        (SIDES, "first", 0),
        (SIDES, "second", 1),
        (SIDES, "left", 0),
        (SIDES, "right", 1),
        (SIDES, "right-tyre-pressure:", 1),
        (SIDES, "right-tyre-pressure: reading 50", 1),
        (NUMBERS, ": reading 50", 1),
        (NUMBERS, ": reading 15 psi", 0),
        (NUMBERS, "left-tyre-pressure: reading 15 psi", 0),
        (NUMBERS, "@tyre-pressure: reading 15", 0),
        (STATES, ": state installed", 0),
        (STATES, "left-cover: state removed", 1),
        (ITEMS, "strut:", 1),
        (ITEMS, "strut: defect cut", 1),
        (PLACES, ": defect cut inboard", 1),
        (SIZES, ": reading 5 inch", 1),
        (SIZES, ": reading 0.5", 0),
        (SIZES, ": defect cut size 5 inch", 1),
        (NESTED, "left-tyre: defect cut", 0),
        (NESTED, ": defect cut outboard", 1),
        (MIXED, ": defect worn", 0),
        (MIXED, ": satisfactory", 1),
        (MIXED, "right", 1),
        ("next | where are we", "where are we", 1),
        ("next", "next", 0),
    ],
)
def test_what_tells_which(calls: str, said: str, which: int):
    assert told(calls, said) == calls.split(" | ")[which]


@pytest.mark.parametrize(
    ("calls", "said"),
    [
        (SIDES, ": reading 50 psi"),
        (SIDES, "@tyre-pressure:"),
        (SIDES, ": reading 15 psi"),
        (SIDES, "left-tyre-pressure: reading 15 psi"),
        (NUMBERS, "left"),
        (NUMBERS, "right"),
        (NUMBERS, "left-tyre-pressure:"),
        (NUMBERS, ": reading 50 inch"),
        (NUMBERS, "correction, left-tyre-pressure: reading 50 psi"),
        (STATES, ": state not removed"),
        (STATES, ": satisfactory"),
        (NESTED, ": defect cut"),
        (ITEMS, ": defect cut"),
        (MIXED, "radome:"),
        (ONE, "first"),
        (ONE, "left"),
        (ONE, ": defect cut"),
        (ONE, "left-tyre:"),
        ("affirm", "affirm"),
        ("negative | next", "negative"),
        ("disregard", "disregard"),
        *((calls, answer) for calls in (SIDES, ONE) for answer in ("affirm", "negative", "next")),
    ],
)
def test_what_tells_nothing(calls: str, said: str):
    assert told(calls, said) == ""


# --- any two calls, and anything said --------------------------------------------------------

ITEM_IDS = ("left-tyre", "right-tyre", "left-cover", "right-cover", "radome")
some = st.sampled_from
results = st.one_of(
    st.just(Meaning(Act.SATISFACTORY)),
    st.builds(Meaning, st.just(Act.STATE), state=some(("removed", "not removed"))),
    st.builds(Meaning, st.just(Act.READING), value=some(("15", "50")), unit=some(("psi", ""))),
    st.builds(Meaning, st.just(Act.COUNT), value=some(("15", "50"))),
    st.builds(
        Meaning,
        st.just(Act.DISCREPANCY),
        defect=some(("cut", "worn")),
        place=some(("", "tread")),
        size=some(("", "50")),
    ),
    st.builds(Meaning, st.just(Act.NOT_INSPECTED), reason=some(("", "no stand"))),
)
named = st.builds(lambda said, item: replace(said, item=item), results, some(ITEM_IDS))
grouped = st.builds(
    lambda said, group: replace(said, group=group), results, some(("tyre", "cover"))
)
names = st.builds(Meaning, st.just(Act.ITEM), item=some(ITEM_IDS))
sides = st.builds(Meaning, st.just(Act.SIDE), side=some(("left", "right")))
choices = st.builds(Meaning, st.just(Act.CHOICE), choice=some(("first", "second")))
commands = st.builds(Meaning, st.just(Act.COMMAND), command=some([one.value for one in Command]))
answers = st.one_of(results, named, grouped, names, sides, choices, commands)
pairs = st.tuples(named, named).filter(lambda two: two[0] != two[1])


def facts(said: Meaning) -> set[tuple[str, str]]:
    """All that a call says, one by one; a number is one whatever it counts or measures."""
    found = {(name, getattr(said, name)) for name in ("state", "defect", "place", "reason")}
    found |= {("number", said.value or said.size), ("unit", said.unit or said.size_unit)}
    found |= {("item", said.item), ("group", said.group), ("side", said.side)}
    if said.item:
        item = TRAINER.by_id[said.item]
        found |= {("side", item.side.value), ("group", item.group)}
    if said.act not in (Act.READING, Act.COUNT, Act.ITEM, Act.SIDE):
        found.add(("act", said.act.value))
    return {fact for fact in found if fact[1]}


@given(pairs, answers)
def test_never_a_call_that_conflicts_with_what_was_said_nor_one_of_two_that_fit(
    two: tuple[Meaning, Meaning], said: Meaning
):
    calls = tuple(Utterance(one, str(at)) for at, one in enumerate(two))
    found = narrow(TRAINER, calls, said)
    if said.act is Act.CHOICE:
        assert found == calls[said.choice == "second"]
    elif said.act is Act.COMMAND:
        assert found is None
    else:
        fitting = [one for one in calls if facts(said) <= facts(one.meaning)]
        if said in two and said.act is not Act.ITEM:
            fitting = [one for one in calls if one.meaning == said]
        assert found == (fitting[0] if len(fitting) == 1 else None)


@given(named, answers)
def test_of_one_call_no_part_tells_anything(one: Meaning, said: Meaning):
    assert narrow(TRAINER, (Utterance(one, "words"),), said) is None


@given(pairs, answers)
def test_the_order_of_the_calls_matters_to_first_and_second_only(
    two: tuple[Meaning, Meaning], said: Meaning
):
    calls = tuple(Utterance(one, str(at)) for at, one in enumerate(two))
    forth, back = narrow(TRAINER, calls, said), narrow(TRAINER, calls[::-1], said)
    assert (forth == back) is (said.act is not Act.CHOICE)


# --- the talk about one call -----------------------------------------------------------------

SOUND: Json = {"how": "sound", "clip": "ab"}


def _unclear(calls: list[Meaning]) -> Input:
    return Unclear(tuple((one, "words") for one in calls), SOUND)


said_again = st.lists(st.one_of(named, named, results, sides, choices), max_size=3).map(_unclear)
spoken = st.builds(
    lambda said, words: Call(said, words, SOUND),
    st.one_of(named, results, sides, choices, names),
    some(("five zero", "fifty")),
)
negative = st.just(Call(Meaning(Act.COMMAND, command="negative"), "negative", SOUND))
talks = st.lists(st.one_of(said_again, said_again, spoken, negative), min_size=1, max_size=20)


def one_call(record: list[tuple[int, Json]]) -> list[list[Json]]:
    """The entries of each unclear call: those in a row that ask it back, and what ended it."""
    found: list[list[Json]] = []
    for _, body in record:
        goes_on = body["kind"] == "asked back" and ("failures" in body or "offered" in body)
        if goes_on or (found and found[-1][-1]["kind"] == "asked back"):
            if body["kind"] == "asked back" and not goes_on:
                found.append([body])
            else:
                found[-1].append(body)
        elif body["kind"] == "asked back":
            found.append([body])
    return found


def meanings(body: Json, key: str = "candidates") -> list[Meaning]:
    return [Meaning.from_json(one["meaning"]) for one in body.get(key, [])]


@given(talks)
@settings(max_examples=300, deadline=None)
def test_whatever_is_answered_there_is_no_third_guess_and_an_end(talk: list[Input]):
    booth = run(TRAINER, "")
    for one in talk:
        booth.receive(one)
    for entries in one_call(booth.record):
        asked = [body for body in entries if body["kind"] == "asked back"]
        guesses = {one for body in asked for one in meanings(body)}
        assert len(guesses) <= 2
        failures = [body.get("failures", 0) for body in asked]
        assert failures == sorted(failures)
        assert failures[-1] <= 2
        assert len(asked) <= 9
        for body in asked:
            assert not {*meanings(body)} & {*meanings(body, "denied")}
        check_end(entries[-1], asked[-1], guesses)
    again = replay(TRAINER, booth.record, SETTINGS)
    assert again.memory == booth.walk.memory


def check_end(end: Json, last: Json, guesses: set[Meaning]) -> None:
    if end["kind"] == "question dropped":
        assert end["failures"] == 3
    if end["kind"] == "item":
        assert end["accepted"] in ("understood", "chosen", "repeated")
        if end["accepted"] != "understood":
            items = [one.item for one in guesses]
            assert end["item"] in items
        if end["accepted"] == "repeated":
            assert last["candidates"]
            assert not end.get("reading")


@given(talks)
@settings(max_examples=200, deadline=None)
def test_what_was_denied_is_never_the_result(talk: list[Input]):
    """Of the same call; after another call it may be said again."""
    booth = run(TRAINER, "")
    for one in talk:
        before = booth.walk.memory
        booth.receive(one)
        tried = before.asked if before.asked and before.asked.offered else before.tried
        entered = [
            body for seq, body in booth.record if seq > before.seq and body["kind"] == "item"
        ]
        if tried and entered and isinstance(one, Call):
            result = replace(one.meaning, item=entered[-1]["item"], group="")
            assert result not in [said.meaning for said in tried.denied]


@pytest.mark.parametrize("way", ["first or second", "digit by digit", "what is due"])
def test_silence_is_no_failure(way: str):
    calls = {
        "first or second": NUMBERS,
        "digit by digit": NUMBERS.split(" | ")[0],
        "what is due": ONE,
    }[way]
    booth = run(TRAINER, f"> ? {calls}\n> ?\n> ?")
    assert booth.record[-1][1]["way"] == way
    booth.hear("silence")
    assert booth.walk.memory.asked
    assert booth.walk.memory.asked.failures == 2
    booth.hear("silence")
    body = booth.record[-1][1]
    assert (body["kind"], "failures" in body) == ("question dropped", False)


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        ("two one five", True),
        ("two one five psi", True),
        ("left tyre pressure two one five", True),
        ("2 1 5", True),
        ("two fifteen", False),
        ("two hundred fifteen psi", False),
        ("two hundred and fifteen", False),
    ],
)
@pytest.mark.parametrize("typed", ["", "typed "])
def test_a_number_to_be_spelt_is_taken_in_digits_only(words: str, kept: bool, typed: str):
    booth = run(TRAINER, "> ? left-tyre-pressure: reading 50 psi\n> ?\n> ?")
    call = Call(meaning(": reading 215"), words, {"how": "typed" if typed else "sound"})
    before = len(booth.record)
    booth.receive(call)
    assert (len(booth.record) > before) is kept
    if not kept:
        assert booth.talk[-1] == '" ask-digits | left tyre pressure'


def test_critical_items_are_not_taken_from_two_unclear_hearings():
    critical = replace(
        TRAINER,
        stations=tuple(
            replace(one, items=tuple(replace(item, critical=True) for item in one.items))
            for one in TRAINER.stations
        ),
    )
    twice = "> ? radome: satisfactory\n> ? radome: satisfactory"
    assert run(TRAINER, twice).record[-1][1]["kind"] == "item"
    assert run(critical, twice).record[-1][1]["kind"] == "asked back"


def test_two_clips_that_agree_are_both_named_in_the_record():
    booth: Booth = run(TRAINER, "> ? radome: defect cut\n> ? radome: defect cut")
    _, entered = booth.record[-1]
    assert entered["accepted"] == "repeated"
    assert entered["input"]["type"] == "unclear"
    assert entered["answers"] == [2]


@pytest.mark.parametrize(("listeners", "kept"), [(2, "item"), (1, "asked back")])
def test_one_listener_alone_is_not_believed_because_it_says_so_twice(listeners: int, kept: str):
    heard: Json = {"how": "sound", "listeners": [{"name": str(n)} for n in range(listeners)]}
    unclear = Unclear(((meaning("radome: defect cut"), "radome cut"),), heard)
    booth = Booth(TRAINER)
    for each in (Start("EX-1", "inspector A"), unclear, unclear):
        booth.receive(each)
    assert booth.record[-1][1]["kind"] == kept
