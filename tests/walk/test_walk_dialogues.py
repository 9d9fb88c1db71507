"""The talk of a walk, line by line, as written in dialogues.txt and dialogues_second.txt."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
from walk_booth import SETTINGS, Booth, given, run
from walk_cards import CARDS

from voicewalk.card.model import Card
from voicewalk.walk.handlers import ignore
from voicewalk.walk.memory import WalkState
from voicewalk.walk.messages import Tick
from voicewalk.walk.prompts import PROMPTS
from voicewalk.walk.replay import replay
from voicewalk.walk.table import TABLE, Cue


class Dialogue(NamedTuple):
    title: str
    card: Card
    talk: str


def dialogues() -> list[Dialogue]:
    files = ("dialogues.txt", "dialogues_second.txt")
    texts = [Path(__file__).with_name(name).read_text(encoding="utf-8") for name in files]
    blocks = (block for t in texts for block in t[t.index("# ") :].strip().split("\n\n"))
    found = []
    for block in blocks:
        head, _, talk = block.partition("\n")
        title, _, card = head.removeprefix("# ").rstrip("]").partition(" [")
        found.append(Dialogue(title, CARDS[card or "trainer"], talk))
    return found


OF_THE_SESSION = {"sealed"}
"""Messages that the session says after the walk is closed."""

DIALOGUES = dialogues()
by_title = pytest.mark.parametrize(
    "dialogue", DIALOGUES, ids=[dialogue.title for dialogue in DIALOGUES]
)


@by_title
def test_the_talk_is_as_written(dialogue: Dialogue):
    assert "\n".join(run(dialogue.card, dialogue.talk).talk) == dialogue.talk


@by_title
def test_the_record_reproduces_the_walk(dialogue: Dialogue):
    booth = run(dialogue.card, dialogue.talk)
    again = replay(dialogue.card, booth.record, SETTINGS)
    assert again.memory == booth.walk.memory


def _moves() -> set[tuple[WalkState, Cue, WalkState]]:
    return set().union(*(run(one.card, one.talk).moves for one in DIALOGUES))


def test_every_way_of_the_table_is_gone_and_no_other():
    heeded = {
        (state, cue, to)
        for (state, cue), row in TABLE.items()
        if row.handler is not ignore
        for to in row.to
    }
    assert {
        (state, cue, to)
        for state, cue, to in _moves()
        if (state, cue) not in TABLE or TABLE[state, cue].handler is not ignore
    } == heeded


def test_every_message_of_the_catalogue_is_said():
    lines = [line for one in DIALOGUES for line in one.talk.splitlines()]
    said = {line.split()[1] for line in lines if line.startswith('"')}
    assert said == set(PROMPTS) - OF_THE_SESSION


CALLS = [
    "radome: defect cut", "radome:", "left", "? radome: satisfactory", "remark> hello", "affirm",
    "negative", "correction", "disregard", "say again", "stand by", "next", "where are we",
    "what is open", "remark", "walkaround complete", "stop",
]  # fmt: skip


@pytest.mark.parametrize("call", CALLS)
def test_standing_by_nothing_is_understood(call: str):
    booth = run(CARDS["trainer"], "> oxygen: reading 1600 psi\n> stand by")
    before, record, talk = booth.walk.memory, len(booth.record), len(booth.talk)
    booth.receive(given(call))
    assert (booth.walk.memory, len(booth.record), len(booth.talk)) == (before, record, talk)


@pytest.mark.parametrize("call", [*CALLS, "going on", "clock 5", "interrupted 9", "device lost"])
def test_closed_nothing_more_is_kept(call: str):
    booth = run(CARDS["pair"], "> radome: satisfactory\n> plug: state out\n> walkaround complete")
    assert booth.walk.receive(given(call)) == ()


@pytest.mark.parametrize("timer", ["question-2", "question-3", "question-2-again", "append", ""])
def test_a_timer_of_nothing_pending_does_nothing(timer: str):
    booth = run(CARDS["trainer"], "> @tyre: defect cut\n> left")
    assert booth.walk.receive(Tick(timer)) == ()


def test_a_timer_of_an_older_question_does_nothing():
    booth: Booth = run(CARDS["trainer"], "> @tyre: defect cut\n> left\n> @tyre: defect worn")
    assert booth.timer == "question-4"
    assert booth.walk.receive(Tick("question-2-again")) == ()
