"""The tool speaks one prompt after the other, knows when it spoke, and falls silent at once."""

import pytest
from session_booth import Headset, Voice

from voicewalk.audio.playback import Played, SilentPlayer
from voicewalk.errors import VoicewalkError
from voicewalk.session.speaking import Speaker


class Position:
    """How many samples a source has captured; the test says."""

    def __init__(self) -> None:
        self.at = 0

    def __call__(self) -> int:
        return self.at


@pytest.fixture
def position():
    return Position()


@pytest.fixture
def headset():
    return Headset()


@pytest.fixture
def speaker(headset, position):
    speaker = Speaker(Voice(), headset, position=position, live=True)
    yield speaker
    speaker.close()


def begin(headset):
    assert headset.begun.acquire(timeout=10), "nothing was played"


def test_without_a_microphone_a_prompt_has_ended_when_it_was_said():
    voice = Voice()
    speaker = Speaker(voice, SilentPlayer())
    speaker.say("item", "radome")
    assert not speaker.speaking
    assert list(speaker.ended()) == [("item", "")]
    assert voice.texts == ["radome"]
    assert not speaker.spoke(0, 1_000_000)


def test_with_a_microphone_saying_does_not_wait(speaker, headset):
    speaker.say("item", "radome")
    begin(headset)
    assert speaker.speaking
    assert list(speaker.ended()) == []
    headset.may_end.release()
    speaker.finish()
    assert not speaker.speaking
    assert list(speaker.ended()) == [("item", "")]


def test_it_is_known_over_which_sound_the_tool_spoke(speaker, headset, position):
    position.at = 1000
    speaker.say("item", "radome")
    begin(headset)
    assert not speaker.spoke(0, 1000)  # before
    assert speaker.spoke(500, 1001)  # into its beginning
    assert speaker.spoke(1000, 5000)  # now
    position.at = 3000
    headset.may_end.release()
    speaker.finish()
    assert speaker.spoke(2999, 5000)  # into its end
    assert not speaker.spoke(3000, 5000)  # after
    assert not speaker.spoke(0, 1000)


def test_prompts_before_the_last_are_remembered_too(speaker, headset, position):
    for begun, ended in ((0, 100), (200, 300)):
        position.at = begun
        speaker.say("item", "radome")
        begin(headset)
        position.at = ended
        headset.may_end.release()
        speaker.finish()
    assert speaker.spoke(50, 60)
    assert not speaker.spoke(100, 200)
    assert speaker.spoke(250, 260)


def test_stop_ends_what_is_spoken_and_drops_what_waits(speaker, headset):
    for prompt in ("first", "second", "third"):
        speaker.say(prompt, prompt)
    begin(headset)
    speaker.stop()
    speaker.finish()
    assert [prompt for prompt, _ in speaker.ended()] == ["first", "second", "third"]
    assert not headset.begun.acquire(blocking=False)  # only the first was played


def test_it_speaks_again_after_a_stop(speaker, headset):
    speaker.say("first", "first")
    begin(headset)
    speaker.stop()
    speaker.finish()
    speaker.say("second", "second")
    begin(headset)
    headset.may_end.release()
    speaker.finish()


def test_after_a_hush_nothing_is_spoken_any_more(speaker, headset):
    speaker.say("first", "first")
    begin(headset)
    speaker.hush()
    speaker.say("second", "second")
    speaker.try_again()
    speaker.finish()
    assert headset.played == 1


def test_a_prompt_that_began_just_after_the_hush_is_stopped_too(position):
    """The hush came when the voice was done and the player had not begun."""

    class Deaf(Headset):
        def stop(self):
            self.stopped += 1
            if self.stopped > 2:
                self.may_end.release()

    headset = Deaf()
    speaker = Speaker(Voice(), headset, position=position, live=True)
    speaker.say("first", "first")
    begin(headset)
    speaker.hush()
    speaker.finish()
    assert headset.stopped > 2
    speaker.close()


def test_while_something_is_spoken_the_headset_is_not_tried(speaker, headset):
    speaker.say("first", "first")
    speaker.try_again()
    begin(headset)
    headset.may_end.release()
    speaker.finish()
    assert list(speaker.ended()) == [("first", "")]


def test_a_lost_headset_is_told(headset):
    headset.ends = Played.LOST
    headset.may_end.release()
    speaker = Speaker(Voice(), headset)
    speaker.say("item", "radome")
    assert list(speaker.ended()) == [("item", "the headset is gone")]


def test_a_failing_voice_is_told_and_nothing_is_played(headset):
    class Broken:
        def synthesise(self, text):
            raise VoicewalkError("the voice fails", "Install it again.")

    speaker = Speaker(Broken(), headset)
    speaker.say("item", "radome")
    assert list(speaker.ended()) == [("item", "the voice fails")]
    assert not headset.begun.acquire(blocking=False)
