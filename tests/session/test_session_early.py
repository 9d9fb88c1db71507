"""No answer is taken that began before its question was told, whatever the order of things.

The voice is slow, or the machine: what the walk asks waits before it is put to the loudspeaker,
and calls wait before they are heard.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from session_booth import Booth, Clock, Ears, Headset, Notebook, Voice, command, heard, item
from test_session_sounds import CALLS, Stream

from voicewalk.audio.frames import RATE
from voicewalk.audio.playback import Played, SilentPlayer
from voicewalk.card.load import card_path, load_card
from voicewalk.hearing.heard import Verdict
from voicewalk.language.meaning import Act, Meaning
from voicewalk.session.loop import Loop
from voicewalk.session.sounds import listen
from voicewalk.session.speaking import Speaker
from voicewalk.settings import WalkSettings
from voicewalk.voice.wording import Wording
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import INSPECTOR, SECOND, Call, Json, Say, Start, Unclear
from voicewalk.walk.replay import replay

# --- in sound ----------------------------------------------------------------------------------


class Held(Voice):
    """A voice that speaks each prompt only when the test lets it, as on a busy machine."""

    def __init__(self) -> None:
        super().__init__()
        self.may_speak = threading.Semaphore(0)

    def synthesise(self, text):
        assert self.may_speak.acquire(timeout=10), "nobody let it speak"
        return super().synthesise(text)


@pytest.fixture
def slow(card):
    """A booth whose prompts wait, and the stream that its microphone hears."""
    stream, voice = Stream(), Held()
    booth = Booth(
        card, voice=voice, player=SilentPlayer(), position=lambda: stream.position, live=True
    )
    booth.start()
    voice.may_speak.release()
    booth.speaker.finish()
    yield booth, stream, voice
    voice.may_speak.release(100)
    booth.speaker.close()


ASK = heard(verdict=Verdict.ASK)
AFFIRM = heard(command("affirm"))


def test_affirm_before_the_question_was_told_confirms_nothing(slow):
    booth, stream, voice = slow

    def blocks():
        yield from stream.call(0)
        yield from stream.call(1)  # nothing was spoken yet
        voice.may_speak.release(100)
        booth.speaker.finish()
        yield from stream.call(1)

    listen(booth.loop, stream.play(blocks()), Ears([ASK, AFFIRM, AFFIRM]))
    assert booth.prompts[1:4] == ["ask-confirm", "asked-too-late", "ask-confirm"]
    assert booth.record.kinds == ["started", "asked back", "item"]
    confirmed, _ = booth.record.kept[2]
    assert confirmed["accepted"] == "confirmed"
    assert "early" not in confirmed["input"]["heard"]


def test_a_discrepancy_called_before_the_question_was_told_is_kept_as_such(slow):
    booth, stream, _ = slow
    cut = heard(Meaning(Act.DISCREPANCY, item="rudder", defect="cracked"))

    def blocks():
        yield from stream.call(0)
        yield from stream.call(1)

    listen(booth.loop, stream.play(blocks()), Ears([ASK, cut]))
    body, clip = booth.record.kept[2]
    assert (body["item"], body["result"]) == ("rudder", "discrepancy")
    assert body["input"]["heard"]["early"] is True
    assert body["input"]["heard"]["clip"] == clip.sha256
    bodies = [(seq, one) for seq, (one, _) in enumerate(booth.record.kept, 1)]
    assert replay(booth.loop.walk.memory.card, bodies, WalkSettings()).memory.asked


def test_a_remark_begun_before_it_was_asked_for_is_heard_as_a_call(slow):
    booth, stream, _ = slow

    def blocks():
        yield from stream.call(0)
        yield from stream.call(1)

    listen(booth.loop, stream.play(blocks()), Ears([heard(command("remark")), heard()]))
    assert booth.record.kinds == ["started", "command", "item"]


def test_an_answer_after_a_question_that_stop_dropped_is_none(slow):
    """It was never put, so it is put again."""
    booth, stream, voice = slow

    def blocks():
        yield from stream.call(0)
        booth.speaker.stop()
        voice.may_speak.release(100)
        booth.speaker.finish()
        yield from stream.call(1)
        booth.speaker.finish()
        yield from stream.call(1)

    listen(booth.loop, stream.play(blocks()), Ears([ASK, AFFIRM, AFFIRM]))
    assert booth.prompts[1:4] == ["ask-confirm", "asked-too-late", "ask-confirm"]
    assert booth.record.kinds == ["started", "asked back", "item"]


def test_a_question_in_a_headset_that_was_gone_was_not_told(card):
    stream, headset = Stream(), Headset(Played.LOST)
    booth = Booth(card, voice=Voice(), player=headset, position=lambda: stream.position)
    headset.may_end.release(100)
    booth.start()

    def blocks():
        yield from stream.call(0)
        yield from stream.call(1)

    listen(booth.loop, stream.play(blocks()), Ears([ASK, AFFIRM]))
    assert "item" not in booth.record.kinds


def test_what_is_only_shown_is_told_when_it_is_shown(booth):
    """Without a voice; an answer in the same breath as the call came before it."""
    stream = Stream()
    quiet = np.zeros(RATE, np.float32)

    def blocks():
        yield from stream.call(0)
        yield from stream.sound(np.concatenate((CALLS[1].samples, quiet)))

    listen(booth.loop, stream.play(blocks()), Ears([ASK, AFFIRM]))
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert booth.loop.told(INSPECTOR, 0) == 1


def test_it_is_known_when_the_last_messages_were_put_and_of_no_others():
    at = iter(range(1000))
    speaker = Speaker(position=lambda: next(at))
    tickets = [speaker.say("item", "text") for _ in range(200)]
    assert tickets == list(range(1, 201))
    assert [speaker.told(one) for one in tickets[-100:]] == list(range(100, 200))
    assert speaker.told(1) is None
    assert speaker.told(201) is None


# --- any order -----------------------------------------------------------------------------------


@dataclass
class SlowSpeaker:
    """Puts to the loudspeaker when it is told to."""

    last: int = 0
    put: dict[int, int] = field(default_factory=dict)
    waiting: list[int] = field(default_factory=list)

    def say(self, prompt: str, text: str) -> int:
        self.last += 1
        self.waiting.append(self.last)
        return self.last

    def told(self, ticket: int) -> int | None:
        return self.put.get(ticket)

    def ended(self):
        return ()


class Listening(Loop):
    """Remembers what was said."""

    def say(self, say: Say) -> None:
        super().say(say)
        self.spoken.append(say)


CARDS = {name: load_card(card_path(name)) for name in ("jet-trainer", "two-person-check")}
RADOME, RUDDER = item("radome"), item("rudder")
PSI = Meaning(Act.READING, item="left-tyre-pressure", value="95", unit="psi")
SAID: dict[str, list[Meaning]] = {
    "jet-trainer": [
        *map(command, ("affirm", "negative", "correction", "disregard", "next", "stand by")),
        *map(command, ("going on", "remark", "say again", "hand over")),
        *(Meaning(Act.CHOICE, choice=one) for one in ("first", "second")),
        *(Meaning(Act.SIDE, side=one) for one in ("left", "right")),
        *(Meaning(Act.IDENTITY, value=one) for one in ("M07", "K8")),
        RADOME,
        RUDDER,
        Meaning(Act.DISCREPANCY, item="rudder", defect="cracked"),
        Meaning(Act.NOT_INSPECTED, item="rudder"),
        Meaning(Act.SATISFACTORY),
        Meaning(Act.DISCREPANCY, defect="cracked"),
        Meaning(Act.NOT_INSPECTED, reason="no stand"),
        Meaning(Act.READING, value="95", unit="psi"),
        Meaning(Act.ITEM, item="rudder"),
    ],
    "two-person-check": [
        *map(command, ("affirm", "negative", "correction", "next")),
        PSI,
        Meaning(Act.READING, value="95", unit="psi"),
        Meaning(Act.READING, item="left-tyre-pressure", value="90", unit="psi"),
    ],
}


class Order:
    """A walk in which calls begin, are heard, and prompts are put, each when it likes."""

    def __init__(self, name: str) -> None:
        self.name, self.sample, self.card = name, 0, CARDS[name]
        self.record, self.clock, self.speaker = Notebook(), Clock(), SlowSpeaker()
        walk = Walk(self.card, WalkSettings())
        clock = {"now": self.clock, "seconds": self.clock.seconds}
        self.loop = Listening(walk, self.record, Wording("en"), self.speaker, **clock)
        self.loop.spoken = []
        self.begun: list[tuple[Call | Unclear, int]] = []
        self.loop.give(Start("M07", "one", second="other" if self.card.second else ""))

    def happens(self, what: str, number: int, more: int) -> None:
        self.sample += 10
        said = SAID[self.name]
        one, other = said[number % len(said)], said[more % len(said)]
        match what:
            case "call":
                self.begun.append((Call(one, "words", {"how": "sound"}), self.sample))
            case "unclear":
                both = tuple((each, "words") for each in dict.fromkeys((one, other)))
                self.begun.append((Unclear(both, {"how": "sound"}), self.sample))
            case "second" if self.card.second:
                self.begun.append((Call(one, "words", {"how": "sound"}, SECOND), self.sample))
            case "heard" if self.begun:
                self.hear(*self.begun.pop(0))
            case "put" if self.speaker.waiting:
                self.speaker.put[self.speaker.waiting.pop(0)] = self.sample
            case "stop":
                self.speaker.waiting.clear()
            case "timer":
                self.clock.pass_seconds(self.loop.seconds_left() or 0)
                self.loop.pass_time()
            case "disk":
                self.record.full = not self.record.full
                self.loop.pass_time()

    def hear(self, call: Call | Unclear, begun: int) -> None:
        kept, said = len(self.record.kept), len(self.loop.spoken)
        mark = {"at": str(begun)}
        asked = self.loop.told(call.by, begun)
        call = type(call)(*_content(call), {**call.heard, **mark}, call.by, asked)
        self.loop.give(call)
        for body, _ in self.record.kept[kept:]:
            self.check(body, said)

    def check(self, body: Json, said: int) -> None:
        """What the entry answers had been told by the time its call began."""
        at = body["input"].get("heard", {}).get("at")
        if at is None:
            return
        meaning = body["input"].get("meaning", {})
        bare = not meaning.get("item") and not meaning.get("group")
        if body.get("finding") == "confirmed":  # another value opens the item, asked for or not
            assert self.told("second-", int(at), said), body
        elif bare and (answers(body) or body["kind"] == "item"):
            assert self.told("ask-" if answers(body) else "item", int(at), said), body

    def told(self, kind: str, at: int, said: int) -> bool:
        """Whether the question said last, or the same one said before it, was put by then."""
        says = list(enumerate(self.loop.spoken[:said], 1))
        # What follows "that is one of two" asks the same in other words.
        again = {n + 1 for n, say in says if say.prompt == "affirmed-neither"}
        asked = [(say, n) for n, say in says if say.prompt.startswith(kind) and n not in again]
        run = [n for say, n in asked if say == asked[-1][0]] if asked else []
        return any(n in self.speaker.put and self.speaker.put[n] <= at for n in run)


def answers(body: Json) -> bool:
    """Whether an entry answers a question, by what the record says."""
    if body["kind"] in ("identity", "acknowledged", "handed over"):
        return True
    return bool(body.get("answers"))


def _content(call: Call | Unclear) -> tuple:
    return (call.meaning, call.words) if isinstance(call, Call) else (call.candidates,)


HAPPENS = "call call unclear second heard heard put put stop timer disk"  # the frequent ones twice
EVENTS = st.tuples(
    st.sampled_from(HAPPENS.split()),
    st.integers(0, 40),
    st.integers(0, 40),
)
QUICK = [("unclear", 16, 16), ("heard", 0, 0), ("call", 0, 0), ("put", 0, 0), ("put", 0, 0)]


@pytest.mark.parametrize("name", SAID)
@settings(max_examples=200, deadline=None)
@given(events=st.lists(EVENTS, max_size=40))
@example(events=[*QUICK, ("heard", 0, 0)])
def test_no_answer_is_taken_that_began_before_its_question_was_told(name, events):
    order = Order(name)
    for event in events:
        order.happens(*event)
    bodies = [(seq, body) for seq, (body, _) in enumerate(order.record.kept, 1)]
    replay(order.card, bodies, WalkSettings())  # and the record is played again as it was


def test_what_waited_for_a_full_disk_is_no_answer_to_what_is_asked_after_it():
    order = Order("jet-trainer")
    order.record.full = True
    affirm, unclear = 0, SAID["jet-trainer"].index(RADOME)
    order.happens("unclear", unclear, unclear)
    order.happens("heard", 0, 0)
    order.happens("call", affirm, 0)
    order.happens("heard", 0, 0)
    order.record.full = False
    order.clock.pass_seconds(WalkSettings().append_seconds)
    order.loop.pass_time()
    assert order.record.kinds == ["started", "asked back"]
    assert [say.prompt for say in order.loop.spoken][-3:] == [
        "ask-confirm",
        "asked-too-late",
        "ask-confirm",
    ]
