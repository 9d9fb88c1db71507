"""Two people in one session: who is named, whose sound is taken, whose line it is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from session_booth import Booth, Clock, Ears, Voice, heard

from voicewalk.audio import stereo
from voicewalk.audio.frames import RATE, Block
from voicewalk.card.load import card_path, load_card
from voicewalk.errors import VoicewalkError
from voicewalk.hearing.heard import Verdict
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.equipment import Calls, equip
from voicewalk.session.events import CallHeard, Refused, RemarkHeard, Trouble, Why
from voicewalk.session.keyboard import type_calls
from voicewalk.session.sounds import listen
from voicewalk.session.walking import begin_walk
from voicewalk.walk.messages import Start

CARD = load_card(card_path("two-person-check"))
TYRE = "left-tyre-pressure"
LEFT, RIGHT = 0, 1
NINE_FIVE = heard(Meaning(Act.READING, item=TYRE, value="95", unit="psi"))
AGAIN = heard(Meaning(Act.READING, value="95", unit="psi"))
AFFIRM = heard(Meaning(Act.COMMAND, command="affirm"))
REMARK = heard(Meaning(Act.COMMAND, command="remark"))
ROGER = heard(Meaning(Act.ACKNOWLEDGED, state="roger"))


class Loudness:
    """Whatever is loud is speech."""

    def __call__(self, frame) -> float:
        return float(np.abs(frame).mean() > 0.02)

    def reset(self) -> None:
        pass


class Source:
    """Two columns of bursts; ``meanwhile`` is called with the time at each block."""

    def __init__(self, *bursts: tuple[int, float, float], seconds: float = 8.0, leak: float = 0.05):
        random = np.random.default_rng(1)
        own = np.zeros((round(seconds * RATE), 2), np.float32)
        for channel, start, end in bursts:
            at = slice(round(start * RATE), round(end * RATE))
            own[at, channel] = 0.3 * random.standard_normal(at.stop - at.start)
        self.sound = (own + np.float32(leak) * own[:, ::-1]).astype(np.float32)
        self.position = 0

    def blocks(self):
        for at in range(0, len(self.sound), 512):
            block = Block(self.sound[at : at + 512], at)
            self.position = block.end
            yield block

    def close(self) -> None:
        pass


@pytest.fixture(autouse=True)
def detector(monkeypatch):
    monkeypatch.setattr(stereo, "SpeechDetector", Loudness)


def begun(**more) -> Booth:
    booth = Booth(CARD, **more)
    booth.loop.give(Start("EX-1", "inspector A", second="second B"))
    return booth


def hear(source: Source, *told, booth: Booth | None = None) -> tuple[Booth, Ears]:
    booth, ears = booth or begun(), Ears(told)
    listen(booth.loop, source, ears, stereo=True)
    assert not ears.to_hear
    return booth, ears


def test_each_channel_is_one_persons():
    booth, ears = hear(Source((LEFT, 0.5, 1.5), (RIGHT, 3, 4)), NINE_FIVE, AGAIN)
    assert booth.record.kinds == ["started", "item", "confirmation"]
    called, answered = (body["input"] for body, _ in booth.record.kept[1:])
    assert ("by" in called, answered["by"]) == (False, "second")
    assert called["heard"]["sound"]["channel"] == "left"
    assert answered["heard"]["sound"]["channel"] == "right"
    assert int(answered["heard"]["sound"]["lead_db"]) > 20
    assert all(clip is not None for _, clip in booth.record.kept[1:])
    assert [one.by for one in booth.onlooker.of(CallHeard)] == ["inspector", "second"]
    assert [(one.item, one.question) for one in ears.expected] == [("", False), (TYRE, True)]


def test_the_same_words_of_the_inspector_confirm_nothing():
    booth, _ = hear(Source((LEFT, 0.5, 1.5), (LEFT, 3, 4)), NINE_FIVE, AFFIRM)
    assert booth.record.kinds == ["started", "item"]
    assert booth.loop.walk.view().unconfirmed == (TYRE,)


@pytest.mark.parametrize("leak_db", [-10, -20, -30])
def test_the_inspectors_voice_in_the_other_microphone_is_not_heard_at_all(leak_db: int):
    source = Source((LEFT, 0.5, 1.5), (LEFT, 3, 4), leak=10 ** (leak_db / 20))
    booth, ears = hear(source, NINE_FIVE, NINE_FIVE)
    assert len(ears.clips) == 2
    assert booth.record.kinds == ["started", "item", "item"]
    assert booth.onlooker.of(Trouble) == []


def test_what_may_be_either_voice_is_dropped_and_told():
    source = Source((LEFT, 0.5, 1.5), (LEFT, 3, 4), (RIGHT, 3, 4))
    source.sound[: 2 * RATE, RIGHT] = 0
    booth, _ = hear(source, NINE_FIVE)
    assert booth.record.kinds == ["started", "item"]
    (told,) = {one.text for one in booth.onlooker.of(Trouble)}
    assert told.endswith("channel is dropped: it may be either voice")


def test_an_answer_begun_before_it_was_asked_for_is_none():
    """It follows the call so soon that nothing can have been read back."""
    booth, _ = hear(Source((LEFT, 0.5, 1.5), (RIGHT, 1.6, 2.6)), NINE_FIVE, AGAIN)
    assert booth.record.kinds == ["started", "item"]
    assert [(one.why, one.by) for one in booth.onlooker.of(Refused)] == [
        (Why.BEFORE_ASKED, "second")
    ]


def test_an_answer_over_the_question_is_none():
    """The tool speaks for as long as the source is at the same place: the prompt is over it all."""
    source = Source((LEFT, 0.5, 1.5), (RIGHT, 3, 4))
    booth = begun(voice=Voice(), position=lambda: source.position)
    booth.speaker._spans.append((round(2.5 * RATE), round(3.2 * RATE)))
    hear(source, NINE_FIVE, AGAIN, booth=booth)
    assert booth.record.kinds == ["started", "item"]
    assert [(one.why, one.by) for one in booth.onlooker.of(Refused)] == [
        (Why.SPOKEN_OVER, "second")
    ]


def test_the_second_person_is_heard_while_a_remark_is_waited_for():
    source = Source((LEFT, 0.5, 1.5), (LEFT, 2.5, 3.5), (RIGHT, 4.5, 5.5), (LEFT, 6.5, 7.5))
    booth, _ = hear(Source(), booth=begun())
    booth, _ = hear(source, NINE_FIVE, REMARK, AGAIN, booth=booth)
    assert booth.record.kinds == ["started", "item", "command", "confirmation", "remark"]
    assert len(booth.onlooker.of(RemarkHeard)) == 1


@pytest.mark.parametrize(
    ("answer", "kinds"),
    [
        (ROGER, ["confirmation"]),
        (replace(AGAIN, verdict=Verdict.ASK), ["confirmation"]),
        (heard(verdict=Verdict.UNCLEAR), ["confirmation"]),
        (heard(verdict=Verdict.OUTSIDE), []),
    ],
)
def test_what_is_not_surely_the_value_confirms_nothing(answer, kinds: list[str]):
    booth, _ = hear(Source((LEFT, 0.5, 1.5), (RIGHT, 3, 4)), NINE_FIVE, answer)
    assert booth.record.kinds == ["started", "item", *kinds]
    assert booth.loop.walk.view().unconfirmed == (TYRE,)


# --- the typed twin --------------------------------------------------------------------------


class Lines:
    def __init__(self, *lines: str) -> None:
        self.lines = list(lines)

    def read(self, seconds):
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)


def typed(*lines: str) -> Booth:
    booth = begun()
    type_calls(booth.loop, phrase_graph(CARD, vocabulary_of(CARD)), Lines(*lines))
    return booth


@pytest.mark.parametrize("prefix", ["second: ", "Second:", "SECOND:   "])
def test_a_line_is_the_second_persons_where_it_says_so(prefix: str):
    booth = typed("left tyre pressure nine five psi", f"{prefix}nine five")
    body = booth.record.kept[-1][0]
    assert (body["kind"], body["finding"]) == ("confirmation", "confirmed")
    assert body["input"]["by"] == "second"
    assert body["input"]["heard"] == {"how": "typed", "text": "nine five"}


def test_a_line_of_the_second_person_is_no_remark():
    booth = typed("left tyre pressure nine five psi", "remark", "second: nine five", "all dusty")
    assert booth.record.kinds == ["started", "item", "command", "confirmation", "remark"]


def test_second_without_a_colon_is_the_inspectors_word():
    booth = typed("left tyre pressure nine five psi", "second")
    assert "confirmation" not in booth.record.kinds


# --- who and what fits -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("card", "second", "wrong"),
    [
        ("two-person-check", "", "none is named"),
        ("two-person-check", "  ", "none is named"),
        ("two-person-check", "tamsin  orlo", "cannot be inspector and second person"),
        ("two-person-check", "Tamsin Orlo", "cannot be inspector and second person"),
        ("jet-trainer", "Ned Brandt", "nothing that a second person confirms"),
    ],
)
def test_the_second_person_is_another_and_only_where_one_is_wanted(tmp_path, card, second, wrong):
    calls = Calls(Lines())
    who = (card, "EX-1", "Tamsin Orlo", tmp_path / "a.walk", calls, (), Clock())
    with pytest.raises(VoicewalkError, match=wrong):
        begin_walk(*who, second=second)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("card", "channels", "wrong"),
    [
        ("two-person-check", "mix", "one channel holds one voice"),
        ("two-person-check", "left", "one channel holds one voice"),
        ("jet-trainer", "stereo", "whom stereo sound is for"),
    ],
)
def test_sound_for_two_is_stereo_and_for_one_is_not(tmp_path, card, channels, wrong):
    calls = Calls(audio=tmp_path / "talk.wav", channels=channels)
    chosen = load_card(card_path(card))
    with pytest.raises(VoicewalkError, match=wrong), equip(chosen, calls, Clock()):
        pass
