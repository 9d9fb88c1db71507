"""The loop carries out what the walk wishes, in order, and takes failures as inputs."""

from dataclasses import replace

import pytest
from session_booth import SATISFACTORY, Booth, Headset, Voice, command, item

from voicewalk.audio.playback import Played
from voicewalk.card.model import Readback
from voicewalk.errors import VoicewalkError
from voicewalk.language.meaning import Act, Meaning
from voicewalk.record.clip import Clip
from voicewalk.session.events import Kept, NotKept, Said
from voicewalk.session.speaking import Speaker
from voicewalk.settings import SessionSettings, WalkSettings
from voicewalk.walk.messages import Call, DeviceLost, RemarkSpoken, Unclear

STEP_MS = round(SessionSettings().clock_step_seconds * 1000)
WALK = WalkSettings()


def call(meaning=SATISFACTORY, clip=""):
    return Call(meaning, "words", {"how": "sound", "clip": clip})


def test_recorded_is_said_after_the_entry_is_kept(booth):
    booth.loop.give(call())
    told = [(type(one), getattr(one, "prompt", "")) for one in booth.onlooker.events]
    assert told == [
        (Kept, ""),
        (Said, "started"),
        (Kept, ""),
        (Said, "recorded-satisfactory"),
    ]


def test_the_count_of_items_goes_with_each_entry(booth, card):
    booth.loop.give(call())
    booth.loop.give(call(item("rudder")))
    counts = [(one.seq, one.closed, one.still_open) for one in booth.onlooker.of(Kept)]
    total = len(card)
    assert counts == [(1, 0, total), (2, 1, total - 1), (3, 2, total - 2)]


def test_what_is_listened_for_is_what_the_walk_would_understand(booth):
    booth.loop.give(call(command("next")))
    assert booth.loop.listen.expectation.item == "aircraft-forms"
    booth.loop.give(call(command("remark")))
    assert booth.loop.listen.remark
    booth.loop.give(RemarkSpoken("free speech", {}))
    assert not booth.loop.listen.remark


def test_the_sound_of_a_call_goes_with_its_entry(booth):
    clip = Clip(b"sound", 3)
    booth.loop.give(call(clip=clip.sha256), clip)
    assert [kept for _, kept in booth.record.kept] == [None, clip]


def test_a_sound_that_no_entry_names_is_forgotten(booth):
    clip = Clip(b"sound", 3)
    booth.loop.give(call(command("where are we"), clip.sha256), clip)
    booth.loop.give(call(clip=clip.sha256))  # the same name again, without the sound
    assert [kept for _, kept in booth.record.kept] == [None, None]


def test_a_call_with_two_entries_brings_its_sound_to_both(booth):
    booth.loop.give(call())
    clip = Clip(b"sound", 3)
    booth.loop.give(call(replace(item("rudder"), corrects=True), clip.sha256), clip)
    assert booth.record.kinds == ["started", "item", "disregarded", "item"]
    assert [kept for _, kept in booth.record.kept][2:] == [clip, clip]


def test_a_full_disk_is_told_once_and_the_entry_is_kept_when_there_is_space(booth):
    clip = Clip(b"sound", 3)
    booth.record.full = True
    booth.loop.give(call(clip=clip.sha256), clip)
    assert booth.record.kinds == ["started"]
    assert [one.reason for one in booth.onlooker.of(NotKept)] == ["the disk is full"]
    assert booth.prompts[1:] == ["not-recorded"]

    booth.clock.pass_seconds(WALK.append_seconds)
    booth.loop.pass_time()  # tried again, and told no more
    assert booth.prompts[1:] == ["not-recorded"]

    booth.record.full = False
    booth.clock.pass_seconds(WALK.append_seconds)
    booth.loop.pass_time()
    assert booth.record.kinds == ["started", "item"]
    assert [kept for _, kept in booth.record.kept] == [None, clip]
    assert booth.prompts[2:] == ["recording-again", "recorded-satisfactory"]


def test_calls_behind_a_full_disk_wait_with_their_sound(booth):
    first, second = Clip(b"first", 3), Clip(b"second", 3)
    booth.record.full = True
    booth.loop.give(call(clip=first.sha256), first)
    booth.loop.give(call(item("rudder"), second.sha256), second)
    booth.record.full = False
    booth.clock.pass_seconds(WALK.append_seconds)
    booth.loop.pass_time()
    assert [(body.get("item"), kept) for body, kept in booth.record.kept[1:]] == [
        ("radome", first),
        ("rudder", second),
    ]


def test_at_the_end_it_is_tried_once_more(booth):
    booth.record.full = True
    booth.loop.give(call())
    booth.loop.give(call(item("rudder")))
    assert booth.loop.end() == 2
    booth.record.full = False
    assert booth.loop.end() == 0
    assert booth.record.kinds == ["started", "item", "item"]


def test_a_question_is_asked_again_when_its_time_is_out_and_then_dropped(booth):
    booth.loop.give(Unclear(((SATISFACTORY, "radome"),), {}))
    assert booth.loop.seconds_left() == WALK.question_seconds
    booth.clock.pass_seconds(WALK.question_seconds - 0.001)
    booth.loop.pass_time()
    assert booth.prompts[1:] == ["ask-confirm"]
    booth.clock.pass_seconds(0.001)
    booth.loop.pass_time()
    assert booth.prompts[1:] == ["ask-confirm", "ask-confirm"]
    booth.clock.pass_seconds(WALK.question_seconds)
    booth.loop.pass_time()
    assert booth.record.kinds == ["started", "asked back", "question dropped"]
    assert booth.loop.seconds_left() is None


@pytest.mark.parametrize("step", [STEP_MS + 1, -STEP_MS - 1])
def test_a_clock_that_was_set_is_an_entry_before_the_call(booth, step):
    booth.clock.wall_ms += 60_000  # a wall clock that runs on
    booth.clock.monotonic_ms += 60_000
    booth.clock.wall_ms += step
    booth.loop.give(call())
    booth.loop.give(call(item("rudder")))
    assert booth.record.kinds == ["started", "clock stepped", "item", "item"]
    assert booth.record.kept[1][0]["by_ms"] == step


@pytest.mark.parametrize("drift", [STEP_MS, -STEP_MS])
def test_clocks_may_drift_a_little(booth, drift):
    booth.clock.wall_ms += 60_000 + drift
    booth.clock.monotonic_ms += 60_000
    booth.loop.give(call())
    assert booth.record.kinds == ["started", "item"]


def test_a_step_is_told_once_while_the_record_fails(booth):
    booth.record.full = True
    booth.clock.wall_ms += 60_000
    booth.loop.give(call())
    booth.loop.give(call(item("rudder")))
    booth.record.full = False
    assert booth.loop.end() == 0
    assert booth.record.kinds == ["started", "clock stepped", "item", "item"]


def test_the_walk_is_over_when_it_is_closed(booth, card):
    for each in card:
        booth.loop.give(call(Meaning(Act.NOT_APPLICABLE, item=each.id)))
        if each.readback is Readback.CONFIRM:
            booth.loop.give(call(command("affirm")))
    assert not booth.loop.finished
    booth.loop.give(call(command("walkaround complete")))
    assert booth.loop.finished
    assert booth.record.kinds[-1] == "closed"


class _BrokenVoice:
    """Fails as long as ``works`` is not set."""

    works = False

    def synthesise(self, text):
        if not self.works:
            raise VoicewalkError("the voice fails: no data", "Install it again.")
        return Voice().synthesise(text)


def test_a_voice_that_fails_is_an_entry_once_and_again_when_it_is_back(card):
    voice = _BrokenVoice()
    booth = Booth(card, voice=voice)
    booth.start()
    booth.loop.give(call())
    assert booth.record.kinds == ["started", "device lost", "item"]
    assert booth.record.kept[1][0]["reason"] == "the voice fails: no data"
    voice.works = True
    booth.loop.give(call(item("rudder")))
    assert booth.record.kinds == ["started", "device lost", "item", "item", "device back"]


def test_a_headset_that_is_gone_is_an_entry(card):
    headset = Headset(Played.LOST)
    headset.may_end.release(100)
    booth = Booth(card, voice=Voice(), player=headset)
    booth.start()
    assert booth.record.kinds == ["started", "device lost"]
    headset.ends = Played.ENDED
    booth.loop.give(call())
    assert booth.record.kinds == ["started", "device lost", "item", "device back"]


def test_a_headset_that_was_gone_is_tried_until_it_is_back(card):
    """Nobody need say anything: it is told as soon as it can be."""
    headset = Headset(Played.LOST)
    headset.may_end.release(100)
    booth = Booth(card, voice=Voice(), player=headset, live=True)
    booth.start()

    def hear():
        booth.loop.pass_time()
        booth.speaker.finish()
        booth.loop.pass_time()

    hear()
    hear()
    assert booth.record.kinds == ["started", "device lost"]
    played = headset.played
    hear()  # not yet again
    assert headset.played == played
    headset.ends = Played.ENDED
    booth.clock.pass_seconds(SessionSettings().mute_seconds)
    hear()
    assert booth.record.kinds == ["started", "device lost", "device back"]
    hear()
    assert booth.prompts[-1] == "device-back"
    booth.speaker.close()


def test_a_lost_microphone_is_an_entry(booth):
    booth.loop.give(DeviceLost("the microphone sends no sound"))
    assert booth.record.kinds == ["started", "device lost"]
    assert booth.prompts[-1] == "device-lost"


def test_a_tool_without_a_voice_has_said_everything_at_once():
    speaker = Speaker()
    speaker.say("item", "radome")
    assert list(speaker.ended()) == [("item", "")]
