"""A record played into a fresh machine."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from walk_booth import SETTINGS, run
from walk_cards import PAIR, TRAINER

from voicewalk.errors import RecordError
from voicewalk.walk.memory import WalkState
from voicewalk.walk.messages import Append, Interrupted, Json
from voicewalk.walk.replay import ReplayMismatch, replay

TALK = """
> left-tyre-pressure: reading 140 psi
> correction, right-tyre-pressure: reading 140 psi
> @tyre: defect cut
> left
"""
Record = list[tuple[int, Json]]


def record() -> Record:
    return copy.deepcopy(run(TRAINER, TALK).record)


def test_an_empty_record_is_a_walk_that_has_not_begun():
    assert replay(TRAINER, [], SETTINGS).view().state is WalkState.NEW


@pytest.mark.parametrize("kept", range(1, 7))
def test_every_beginning_of_a_record_is_reproduced(kept: int):
    walk = replay(TRAINER, record()[:kept], SETTINGS)
    assert walk.memory.seq == kept


def test_entry_numbers_may_have_gaps():
    once = [(seq * 10, body) for seq, body in run(TRAINER, "> radome: satisfactory").record]
    assert replay(TRAINER, once, SETTINGS).memory.seq == 20


def test_the_second_entry_of_an_input_is_handed_out_when_the_walk_goes_on():
    entries = record()
    assert entries[2][1]["kind"] == "disregarded"
    walk = replay(TRAINER, entries[:3], SETTINGS)
    assert walk.receive(Interrupted(5)) == (Append(entries[3][1]),)


def _set(*path: object) -> Callable[[Record], None]:
    *where, key, value = path

    def change(entries: Record) -> None:
        target: Any = entries
        for step in where:
            target = target[step]
        target[key] = value

    return change


def _drop(at: int) -> Callable[[Record], None]:
    return lambda entries: entries.pop(at) and None


def _swap(entries: Record) -> None:
    entries[4], entries[5] = (entries[4][0], entries[5][1]), (entries[5][0], entries[4][1])


# what was done to the record, the entry that must be named, what must be said of it
FAULTS: dict[str, tuple[Callable[[Record], None], int, str]] = {
    "a result made good": (_set(1, 1, "result", "satisfactory"), 2, "different in result"),
    "a reading changed": (_set(1, 1, "reading", "value", "210"), 2, "different in reading"),
    "an input changed": (_set(1, 1, "input", "meaning", "value", "210"), 2, "different in"),
    "another input": (_set(1, 1, "input", {"type": "device-back"}), 2, "different in"),
    "a field added": (_set(1, 1, "note", "fine"), 2, "different in note"),
    "a truth value as a number": (_set(1, 1, "reading", "within", 0), 2, "different in reading"),
    "a number as a fraction": (_set(2, 1, "entry", 2.0), 3, "different in entry"),
    "an input without entry": (
        _set(1, 1, "input", "meaning", {"act": "command", "command": "stop"}),
        2,
        "its input leads to no entry",
    ),
    "an unknown item": (_set(1, 1, "input", "meaning", "item", "wing"), 2, "no item 'wing'"),
    "an unknown group": (_set(4, 1, "input", "meaning", "group", "wing"), 5, "no group 'wing'"),
    "a value that is no number": (
        _set(1, 1, "input", "meaning", "value", "many"),
        2,
        "a value is no number",
    ),
    "an input of no known type": (_set(1, 1, "input", {"type": "shout"}), 2, "unknown type"),
    "no input": (_set(1, 1, "input", None), 2, "no object"),
    "the first entry lost": (_drop(0), 2, "wrong order of calls"),
    "an entry lost": (_drop(1), 3, "different in"),
    "an entry of a pair lost": (_drop(2), 4, "different in"),
    "two entries swapped": (_swap, 5, "leads to no entry"),
    "a number that runs back": (_set(2, (2, {})), 2, "no object"),
}


@pytest.mark.parametrize(("change", "seq", "said"), FAULTS.values(), ids=FAULTS)
def test_a_record_that_was_changed_is_refused_at_its_entry(
    change: Callable[[Record], None], seq: int, said: str
):
    entries = record()
    change(entries)
    with pytest.raises(ReplayMismatch, match=said) as caught:
        replay(TRAINER, entries, SETTINGS)
    assert caught.value.seq == seq
    assert f"entry {seq} is not reproduced" in str(caught.value)
    assert isinstance(caught.value, RecordError)
    assert caught.value.what_to_do


@pytest.mark.parametrize(
    "card", [PAIR, replace(TRAINER, digest="other"), replace(TRAINER, version="2")]
)
def test_a_record_of_another_card_is_refused_at_its_first_entry(card):
    with pytest.raises(ReplayMismatch) as caught:
        replay(card, record(), SETTINGS)
    assert caught.value.seq == 1
