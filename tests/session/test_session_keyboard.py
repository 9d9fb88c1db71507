"""Typed lines come one by one, waited for no longer than wanted, and become calls."""

import os
import threading
from dataclasses import replace

import pytest
from session_booth import Booth

from voicewalk.card.model import GoBack
from voicewalk.hearing.heard import Verdict
from voicewalk.language.build import phrase_graph
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.events import CallHeard, RemarkHeard, Trouble
from voicewalk.session.keyboard import MOST_LETTERS, Keyboard, type_calls
from voicewalk.settings import WalkSettings
from voicewalk.walk.messages import Interrupted


@pytest.fixture
def pipe():
    reading, writing = os.pipe()
    ends = {"reading": reading, "writing": writing}
    yield ends
    for end in ends.values():
        os.close(end)


def close_writing(pipe):
    os.close(pipe.pop("writing"))


def test_lines_come_one_by_one(pipe):
    keyboard = Keyboard(pipe["reading"])
    os.write(pipe["writing"], b"one\ntwo\n")
    assert [keyboard.read(0), keyboard.read(0)] == ["one", "two"]
    assert keyboard.read(0) is None


def test_half_a_line_is_waited_for(pipe):
    keyboard = Keyboard(pipe["reading"])
    os.write(pipe["writing"], b"rado")
    assert keyboard.read(0) is None
    os.write(pipe["writing"], b"me\n")
    assert keyboard.read(0) == "radome"


def test_the_last_line_needs_no_end(pipe):
    keyboard = Keyboard(pipe["reading"])
    os.write(pipe["writing"], b"one\ntwo")
    close_writing(pipe)
    assert [keyboard.read(None), keyboard.read(None)] == ["one", "two"]
    with pytest.raises(EOFError):
        keyboard.read(None)


def test_letters_beyond_ascii_and_broken_ones_are_read(pipe):
    keyboard = Keyboard(pipe["reading"])
    os.write(pipe["writing"], "tür\n".encode() + b"\xff\n")
    assert [keyboard.read(0), keyboard.read(0)] == ["tür", "\ufffd"]


def fed(pipe, data):
    """What comes of many bytes, written by somebody else meanwhile."""
    writer = threading.Thread(target=lambda: (os.write(pipe["writing"], data), close_writing(pipe)))
    writer.start()
    keyboard, found = Keyboard(pipe["reading"]), []
    try:
        while True:
            found.append(keyboard.read(None))
    except EOFError:
        writer.join()
        return [line for line in found if line is not None]


@pytest.mark.parametrize("end", [b"\n", b""], ids=["ended", "not ended"])
def test_of_a_line_that_is_too_long_only_its_beginning_comes(pipe, end):
    begins, *others = fed(pipe, b"one\n" + b"nose tyre " * 100_000 + end)[1:]
    assert begins.startswith("nose tyre nose")
    assert MOST_LETTERS < len(begins) < 200_000
    assert others == []


def test_the_line_behind_one_that_is_too_long_is_whole(pipe):
    lines = fed(pipe, "ü".encode() * 500_000 + b"\ntwo\nthree")
    assert [len(line) > MOST_LETTERS for line in lines] == [True, False, False]
    assert lines[1:] == ["two", "three"]


def test_a_line_without_end_stops_no_timer(pipe):
    keyboard = Keyboard(pipe["reading"])
    os.write(pipe["writing"], b"x" * 10_000)
    assert len(keyboard.read(0)) > MOST_LETTERS
    for _ in range(3):
        os.write(pipe["writing"], b"x" * 10_000)
        assert keyboard.read(None) is None  # and the loop looks after its timers
    os.write(pipe["writing"], b"x\nstop\n")
    assert keyboard.read(0) == "stop"


def test_the_prompt_is_shown_before_each_line(pipe):
    shown = []
    keyboard = Keyboard(pipe["reading"], lambda: shown.append("> "))
    os.write(pipe["writing"], b"one\n")
    keyboard.read(0)
    keyboard.read(0)
    assert shown == ["> ", "> "]


class Script:
    """Typed lines; a number is so many seconds without one."""

    def __init__(self, booth, *lines):
        self.booth, self.lines = booth, list(lines)

    def read(self, seconds):
        if not self.lines:
            raise EOFError
        line = self.lines.pop(0)
        if not isinstance(line, float):
            return line
        assert seconds is not None
        assert seconds <= line
        self.booth.clock.pass_seconds(line)
        return None


@pytest.fixture(scope="module")
def graph(card):
    return phrase_graph(card, vocabulary_of(card))


@pytest.fixture
def typed(card, graph):
    booth = Booth(card)
    booth.start()

    def type_lines(*lines):
        type_calls(booth.loop, graph, Script(booth, *lines))
        return booth

    return type_lines


def test_a_typed_call_is_marked_as_typed(typed):
    booth = typed("  Radome satisfactory ")
    body, clip = booth.record.kept[1]
    assert body["accepted"] == "typed"
    assert body["input"]["heard"] == {"how": "typed", "text": "Radome satisfactory"}
    assert clip is None


def test_an_empty_line_is_nothing(typed):
    assert typed("", "   ").record.kinds == ["started"]


def test_a_slip_is_asked_back(typed):
    booth = typed("rudder satisfactry", "affirm")
    assert [one.verdict for one in booth.onlooker.of(CallHeard)] == [
        Verdict.ASK,
        Verdict.UNDERSTOOD,
    ]
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert booth.record.kept[2][0]["accepted"] == "confirmed"


def test_what_is_no_call_is_to_be_said_again(typed):
    booth = typed("???")
    assert booth.record.kept[1][0]["candidates"] == []
    assert booth.prompts[-1] == "ask-again"


@pytest.mark.parametrize(
    "line",
    [
        "radome satisfactory".ljust(MOST_LETTERS + 1),
        "second: affirm".ljust(MOST_LETTERS + 1),
        "radome " + "not " * 300 + "satisfactory",
    ],
    ids=["blanks", "the second's", "words"],
)
def test_a_line_that_is_too_long_is_refused_whole(typed, line):
    booth = typed(line, "radome satisfactory")
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert len(booth.record.kept[1][0]["input"]["heard"]["text"]) < 100
    (told,) = booth.onlooker.of(Trouble)
    assert "nothing of it is taken" in told.text


def test_a_remark_that_is_too_long_is_asked_for_again(typed):
    booth = typed("remark", "Cart left " * 101, "Cart left under the wing")
    assert [one.transcript for one in booth.onlooker.of(RemarkHeard)] == [
        "Cart left under the wing"
    ]
    assert booth.record.kinds[-1] == "remark"


def test_an_identity_that_is_too_long_is_none(card, graph):
    booth = Booth(replace(card, after_interruption=GoBack.RESUME))
    booth.start()
    booth.loop.give(Interrupted(1000))
    type_calls(booth.loop, graph, Script(booth, "9" * 900, "M" * 41, "m 07"))
    kept = [body for body, _ in booth.record.kept if body["kind"] == "identity"]
    assert [(one["said"], one["matches"]) for one in kept] == [("m 07", True)]


def test_a_remark_is_kept_as_it_was_typed(typed):
    booth = typed("remark", "Cart left under the wing", "radome satisfactory")
    assert booth.record.kinds == ["started", "command", "remark", "item"]
    assert booth.record.kept[2][0]["transcript"] == "Cart left under the wing"
    assert [one.transcript for one in booth.onlooker.of(RemarkHeard)] == [
        "Cart left under the wing"
    ]


def test_silence_confirms_nothing(typed):
    wait = WalkSettings().question_seconds
    booth = typed("oxygen pressure one eight zero zero psi", wait, wait, "affirm")
    assert booth.record.kinds == ["started", "question", "question dropped"]
    assert booth.prompts[-1] == "nothing-to-answer"


def test_no_line_is_taken_after_the_walk_is_closed(typed, card):
    lines = [
        line
        for item in card
        for line in (f"{item.name} not applicable", "affirm" if item.readback == "confirm" else "")
    ]
    booth = typed(*lines, "walkaround complete", "where are we")
    assert booth.record.kinds[-1] == "closed"
    assert booth.prompts[-1] == "closed"


def test_after_an_interruption_a_line_is_an_identity_unless_it_is_a_command(card, graph):
    """Also one that is a call elsewhere: a number alone is a reading."""
    booth = Booth(replace(card, after_interruption=GoBack.RESUME))
    booth.start()
    booth.loop.give(Interrupted(1000))
    type_calls(booth.loop, graph, Script(booth, "going on", "12", "m 07", "radome satisfactory"))
    kept = [body for body, _ in booth.record.kept]
    said = [(one["said"], one["matches"]) for one in kept if one["kind"] == "identity"]
    assert said == [("12", False), ("m 07", True)]
    assert kept[-1]["item"] == "radome"


def test_an_identity_may_be_typed_as_it_would_be_said(card):
    asking = replace(card, after_interruption=GoBack.RESUME, vocabularies=("english", "spelling"))
    booth = Booth(asking)
    booth.start()
    booth.loop.give(Interrupted(1000))
    graph = phrase_graph(asking, vocabulary_of(asking))
    lines = ("mike zero six", "mike oh seven", "going on", "mike zero seven")
    type_calls(booth.loop, graph, Script(booth, *lines))
    kept = [body for body, _ in booth.record.kept if body["kind"] == "identity"]
    said = [(one["said"], one["matches"]) for one in kept]
    assert said == [("M06", False), ("mike oh seven", False), ("M07", True)]
