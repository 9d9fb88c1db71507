"""Which speech becomes a call, and with what sound; recorded speech, and ears told what to hear."""

import threading
from dataclasses import replace

import numpy as np
import pytest
from session_booth import Booth, Ears, Headset, Voice, command, heard, item

from voicewalk.audio.frames import (
    FRAME,
    RATE,
    Block,
    MicrophoneBack,
    MicrophoneLost,
    SamplesLost,
    Truncated,
    Waiting,
)
from voicewalk.card.model import GoBack
from voicewalk.hearing.heard import Verdict
from voicewalk.language.meaning import Act, Meaning
from voicewalk.record.clip import decode_clip
from voicewalk.session import sounds
from voicewalk.session.demo import FIXTURES, Caller, read_script, scripted
from voicewalk.session.events import CallHeard, Kept, Refused, RemarkHeard, Said, Trouble, Why
from voicewalk.session.sounds import listen
from voicewalk.settings import WalkSettings
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import Interrupted
from voicewalk.walk.replay import listened

CALLS = scripted(read_script()[:3], FIXTURES)


def source_of(count):
    return Caller(CALLS[:count], lambda samples, rate: None)


@pytest.fixture
def hear(booth):
    """Plays recorded calls to ears that hear what they are told."""

    def play(*told):
        ears = Ears(told)
        listen(booth.loop, source_of(len(told)), ears)
        assert not ears.to_hear
        return booth

    return play


def test_an_understood_call_is_kept_with_its_sound(hear):
    booth = hear(heard(), heard(item("rudder")))
    body, clip = booth.record.kept[2]
    assert body["input"]["heard"]["clip"] == clip.sha256
    assert clip.start > len(CALLS[0].samples)
    samples = decode_clip(clip.flac)
    assert len(CALLS[1].samples) <= len(samples) <= len(CALLS[1].samples) + RATE


def test_what_is_heard_is_what_is_kept(booth):
    ears = Ears([heard()])
    listen(booth.loop, source_of(1), ears)
    assert np.array_equal(ears.clips[0], decode_clip(booth.record.kept[1][1].flac))


def test_the_level_of_the_sound_is_kept_with_it(hear):
    body, _ = hear(heard()).record.kept[1]
    sound = body["input"]["heard"]["sound"]
    assert set(sound) == {"level_dbfs", "snr_db", "speech_probability", "notes"}
    assert -40 < int(sound["level_dbfs"]) < 0
    assert sound["notes"] == []


def test_a_call_worth_asking_about_is_asked_back(hear):
    booth = hear(heard(verdict=Verdict.ASK), heard(command("affirm")))
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert booth.record.kept[2][0]["accepted"] == "confirmed"
    assert booth.onlooker.of(CallHeard)[0].verdict is Verdict.ASK


def test_a_call_that_is_not_understood_is_to_be_said_again(hear):
    booth = hear(heard(verdict=Verdict.UNCLEAR))
    assert booth.record.kept[1][0]["candidates"] == []
    assert booth.record.kept[1][1] is not None
    assert booth.prompts[-1] == "ask-again"


def test_speech_that_is_not_for_the_tool_leaves_no_trace(hear):
    booth = hear(heard(verdict=Verdict.OUTSIDE))
    assert booth.record.kinds == ["started"]
    assert booth.prompts == ["started"]
    assert [one.why for one in booth.onlooker.of(Refused)] == [Why.OUTSIDE]


def test_the_ears_are_told_what_the_walk_expects(booth):
    ears = Ears([heard(command("next")), heard()])
    listen(booth.loop, source_of(2), ears)
    assert [one.item for one in ears.expected] == ["", "aircraft-forms"]


def test_the_ears_are_told_that_an_identity_is_asked_for(card):
    booth = Booth(replace(card, after_interruption=GoBack.RESUME))
    booth.start()
    booth.loop.give(Interrupted(1000))
    ears = Ears([heard(Meaning(Act.IDENTITY, value=signs)) for signs in ("M06", "M07")] + [heard()])
    listen(booth.loop, source_of(3), ears)
    assert [one.identity for one in ears.expected] == [True, True, False]
    kept = [(body, clip) for body, clip in booth.record.kept if body["kind"] == "identity"]
    assert [(body["said"], body["matches"]) for body, _ in kept] == [("M06", False), ("M07", True)]
    assert all(body["input"]["heard"]["clip"] == clip.sha256 for body, clip in kept)
    again = Walk(booth.loop.walk.memory.card, WalkSettings())  # and whoever hears the record again
    bodies = [body for body, _ in booth.record.kept]
    told = listened(again, enumerate(bodies, 1))
    asked = [bodies[seq - 1]["kind"] for seq, listen in told if listen.expectation.identity]
    assert asked == ["identity", "identity"]


def test_a_remark_is_kept_as_sound_and_transcript(booth):
    ears = Ears([heard(command("remark")), heard()])
    listen(booth.loop, source_of(3), ears)
    assert booth.record.kinds == ["started", "command", "remark", "item"]
    body, clip = booth.record.kept[2]
    assert body["transcript"] == "free speech"
    assert body["input"]["heard"]["clip"] == clip.sha256
    assert [one.transcript for one in booth.onlooker.of(RemarkHeard)] == ["free speech"]


def test_nothing_is_heard_after_the_walk_is_closed(booth):
    booth.loop.finished = True
    listen(booth.loop, source_of(1), Ears([]))
    assert booth.record.kinds == ["started"]


class Stream:
    """A source that delivers what a test's generator yields."""

    def __init__(self) -> None:
        self.position = 0

    def call(self, number=0):
        """The blocks of one recorded call with silence around it."""
        quiet = np.zeros(RATE, np.float32)
        yield from self.sound(np.concatenate((quiet, CALLS[number].samples, quiet)))

    def sound(self, samples):
        for at in range(0, len(samples), FRAME):
            block = Block(samples[at : at + FRAME], self.position)
            self.position = block.end
            yield block

    def play(self, blocks):
        self.blocks = lambda: blocks
        return self


class Prompt(Ears):
    """Ears that tell when they begin to hear."""

    def __init__(self, told):
        super().__init__(told)
        self.begun = threading.Event()

    def hear(self, samples, sound, expectation):
        self.begun.set()
        return super().hear(samples, sound, expectation)


def pause(seconds):
    return np.zeros(round(seconds * RATE), np.float32)


def test_hearing_begins_before_the_silence_has_ended_the_call(booth):
    """The lead-out passes 0.32 s before the hangover: the ears have that much of a start."""
    ears, stream = Prompt([heard()]), Stream()

    def blocks():
        yield from stream.sound(np.concatenate((pause(1), CALLS[0].samples, pause(0.45))))
        assert ears.begun.wait(10)
        assert booth.record.kinds == ["started"]
        yield from stream.sound(pause(1))

    listen(booth.loop, stream.play(blocks()), ears)
    assert booth.record.kinds == ["started", "item"]
    assert len(ears.clips) == 1  # and it is the hearing


def test_where_the_caller_goes_on_what_was_begun_is_dropped(booth):
    ears, stream = Ears([heard(item("rudder")), heard()]), Stream()
    both = np.concatenate((pause(1), CALLS[0].samples, pause(0.4), CALLS[1].samples, pause(1)))
    listen(booth.loop, stream.play(stream.sound(both)), ears)
    assert [body["item"] for body, _ in booth.record.kept[1:]] == ["radome"]
    assert len(ears.clips[0]) < len(CALLS[0].samples) + RATE < len(ears.clips[1])


def test_a_hearing_begun_for_another_question_is_not_taken(booth):
    """A question that ran out in between changes what "two" would answer."""
    ears, stream = Ears([heard(item("rudder")), heard()]), Stream()

    def blocks():
        yield from stream.sound(np.concatenate((pause(1), CALLS[0].samples, pause(0.5))))
        expectation = replace(booth.loop.listen.expectation, item="rudder")
        booth.loop.listen = replace(booth.loop.listen, expectation=expectation)
        yield from stream.sound(pause(1))

    listen(booth.loop, stream.play(blocks()), ears)
    assert [body["item"] for body, _ in booth.record.kept[1:]] == ["radome"]
    assert [one.item for one in ears.expected] == ["", "rudder"]


def test_a_call_that_was_cut_is_never_understood(booth):
    """The missing part may be a "not"."""
    stream = Stream()

    def blocks():
        yield from stream.sound(CALLS[0].samples[: len(CALLS[0].samples) * 2 // 3])
        yield SamplesLost(stream.position + RATE, RATE)
        stream.position += RATE

    listen(booth.loop, stream.play(blocks()), Ears([heard()]))
    assert booth.record.kinds == ["started", "asked back", "sound lost"]
    assert booth.record.kept[1][0]["candidates"] == []
    assert booth.record.kept[1][0]["input"]["heard"]["sound"]["notes"] == ["cut"]
    (event,) = booth.onlooker.of(CallHeard)
    assert (event.verdict, event.notes) == (Verdict.UNCLEAR, ("cut",))
    assert "1.0 s of sound went missing" in booth.onlooker.of(Trouble)[0].text


def test_speech_not_for_the_tool_is_not_asked_back_when_it_was_cut(booth):
    stream = Stream()

    def blocks():
        yield from stream.sound(CALLS[0].samples[: len(CALLS[0].samples) * 2 // 3])
        yield SamplesLost(stream.position, 0)

    listen(booth.loop, stream.play(blocks()), Ears([heard(verdict=Verdict.OUTSIDE)]))
    assert booth.record.kinds == ["started", "sound lost"]


def test_lost_sound_is_an_entry_and_told(booth):
    stream = Stream()

    def blocks():
        yield from stream.sound(pause(1))
        stream.position += 8 * RATE
        yield SamplesLost(stream.position, 8 * RATE)

    listen(booth.loop, stream.play(blocks()), Ears([]))
    body, _ = booth.record.kept[1]
    given = {"type": "sound-lost", "lost_ms": 8000, "before": 9 * RATE}
    assert body == {"kind": "sound lost", "lost_ms": 8000, "before": 9 * RATE, "input": given}
    (*_, said) = booth.onlooker.of(Said)
    assert "eight seconds of sound were lost" in said.text


def test_sound_that_is_lost_all_the_time_is_not_told_all_the_time(booth):
    """By a machine that is too slow: 60 times in 30 s, and once more at the end."""
    stream = Stream()

    def blocks():
        for _ in range(60):
            yield from stream.sound(pause(0.4))
            stream.position += RATE // 10
            yield SamplesLost(stream.position, RATE // 10)

    listen(booth.loop, stream.play(blocks()), Ears([]))
    lost = [body["lost_ms"] for body, _ in booth.record.kept[1:]]
    assert lost == [100, 2000, 2000, 1900]


def test_after_ctrl_c_nobody_waits_for_a_call_that_is_being_heard(booth):
    stream, go_on = Stream(), threading.Event()

    class Slow(Prompt):
        def hear(self, samples, sound, expectation):
            heard = super().hear(samples, sound, expectation)
            go_on.wait()
            return heard

    ears = Slow([heard()])

    def blocks():
        yield from stream.sound(np.concatenate((pause(1), CALLS[0].samples, pause(0.45))))
        assert ears.begun.wait(10)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        listen(booth.loop, stream.play(blocks()), ears)
    go_on.set()
    assert booth.record.kinds == ["started"]


class Doubting:
    """A detector that takes whatever is loud for perhaps speech, and for no longer than a word."""

    def __init__(self) -> None:
        self.left = 10

    def __call__(self, frame) -> float:
        self.left -= int(loud := np.abs(frame).max() > 0.05)
        return 0.3 if loud and self.left >= 0 else 0.0

    def reset(self) -> None:
        self.left = 10


@pytest.fixture
def doubting(monkeypatch):
    monkeypatch.setattr(sounds, "SpeechDetector", Doubting)


def test_a_faint_call_that_is_understood_is_kept_and_says_so(booth, doubting):
    ears = Ears([heard()])
    listen(booth.loop, source_of(1), ears)
    assert booth.record.kinds == ["started", "item"]
    assert booth.record.kept[1][0]["input"]["heard"]["sound"]["notes"] == ["faint"]


def test_faint_sound_that_is_not_for_the_tool_is_not_even_counted(booth, doubting):
    """Nobody may have spoken."""
    listen(booth.loop, source_of(1), Ears([heard(verdict=Verdict.OUTSIDE)]))
    assert booth.record.kinds == ["started"]
    assert booth.onlooker.of(Refused) == []


def test_faint_sound_is_no_remark(booth, doubting):
    ears = Ears([heard(command("remark"))])
    listen(booth.loop, source_of(2), ears)
    assert booth.record.kinds == ["started", "command"]
    assert booth.onlooker.of(RemarkHeard) == []


def test_walks_are_seen_to_while_no_sound_comes(booth):
    """A microphone is away: the question that is pending is asked again all the same."""
    stream = Stream()

    def blocks():
        yield from stream.call()
        yield MicrophoneLost(stream.position, "gone")
        booth.clock.pass_seconds(booth.loop.seconds_left())
        yield Waiting(stream.position)

    listen(booth.loop, stream.play(blocks()), Ears([heard(verdict=Verdict.ASK)]))
    assert booth.prompts[1:] == ["ask-confirm", "device-lost", "ask-confirm"]


def test_a_moment_without_sound_parts_no_call(booth):
    stream = Stream()

    def blocks():
        for block in stream.call():
            yield block
            yield Waiting(stream.position)

    listen(booth.loop, stream.play(blocks()), Ears([heard()]))
    assert booth.record.kinds == ["started", "item"]
    assert not booth.onlooker.of(CallHeard)[0].notes


def test_a_call_out_of_a_backlog_has_the_time_at_which_it_was_said(booth):
    """The microphone's counter runs on while earlier calls are being heard."""
    stream = Stream()
    booth.clock.pass_seconds(100)

    def blocks():
        for block in stream.call():
            stream.position = 90 * RATE  # captured by now
            yield block
            stream.position = block.end

    listen(booth.loop, stream.play(blocks()), Ears([heard()]), live=True)
    said = booth.record.kept[1][1].start / RATE + 1
    (kept,) = booth.onlooker.of(Kept)[1:]
    assert booth.record.at[1] == kept.at
    assert 100_000 - 90_000 + said * 1000 <= kept.at.monotonic_ms - 1000 < 20_000
    assert kept.at.wall.startswith("2025-01-01T00:00:1")


def test_a_call_is_never_kept_before_the_entry_that_it_follows(booth):
    stream = Stream()
    booth.clock.pass_seconds(50)

    def blocks():
        yield MicrophoneBack(0)
        for block in stream.call():
            stream.position = 90 * RATE
            yield block
            stream.position = block.end

    listen(booth.loop, stream.play(blocks()), Ears([heard()]), live=True)
    assert booth.record.kinds == ["started", "device back", "item"]
    assert booth.record.at[1] == booth.record.at[2]


def test_a_recordings_calls_have_the_time_at_which_they_are_heard(booth):
    booth.clock.pass_seconds(50)
    listen(booth.loop, source_of(1), Ears([heard()]))
    assert booth.record.at[1] == booth.clock()


def test_a_clipped_call_is_noted(booth):
    stream = Stream()
    quiet = np.zeros(RATE, np.float32)
    loud = np.clip(CALLS[0].samples * 20, -1, 1)
    blocks = stream.sound(np.concatenate((quiet, loud, quiet)))
    listen(booth.loop, stream.play(blocks), Ears([heard()]))
    assert booth.record.kinds == ["started", "item"]
    assert booth.record.kept[1][0]["input"]["heard"]["sound"]["notes"] == ["clipped"]


def test_a_microphone_that_goes_and_comes_is_told(booth):
    stream = Stream()

    def blocks():
        yield MicrophoneLost(0, "the microphone sends no sound")
        yield MicrophoneBack(0)
        yield from stream.call()

    listen(booth.loop, stream.play(blocks()), Ears([heard()]))
    assert booth.record.kinds == ["started", "device lost", "device back", "item"]


def test_a_sound_file_that_breaks_off_is_told(booth):
    stream = Stream()

    def blocks():
        yield from stream.call()
        yield Truncated(stream.position, "it breaks off after 3.0 s")

    listen(booth.loop, stream.play(blocks()), Ears([heard()]))
    assert booth.record.kinds == ["started", "item"]
    assert "breaks off after 3.0 s" in booth.onlooker.of(Trouble)[0].text


def test_timers_run_while_nobody_speaks(booth):
    stream = Stream()

    def blocks():
        yield from stream.call()
        left = booth.loop.seconds_left()
        assert left
        booth.clock.pass_seconds(left)
        yield from stream.sound(np.zeros(FRAME, np.float32))

    listen(booth.loop, stream.play(blocks()), Ears([heard(verdict=Verdict.ASK)]))
    assert booth.prompts[1:] == ["ask-confirm", "ask-confirm"]


# --- half-duplex: a microphone hears the caller while the tool speaks --------------------------


@pytest.fixture
def live(card):
    """A booth with a headset, and the stream that its microphone hears."""
    stream, headset = Stream(), Headset()
    booth = Booth(card, voice=Voice(), player=headset, position=lambda: stream.position, live=True)
    booth.start()
    yield booth, stream, headset
    booth.speaker.close()


def begin(headset):
    assert headset.begun.acquire(timeout=10), "nothing was played"


def test_what_is_said_while_the_tool_speaks_is_no_call(live):
    booth, stream, headset = live

    def blocks():
        begin(headset)
        yield from stream.call(0)  # into the greeting
        headset.may_end.release()
        booth.speaker.finish()
        yield from stream.call(1)  # after it

    ears = Ears([heard(), heard(item("rudder"))])
    listen(booth.loop, stream.play(blocks()), ears)
    assert [body.get("item") for body, _ in booth.record.kept] == [None, "rudder"]
    assert [one.why for one in booth.onlooker.of(Refused)] == [Why.SPOKEN_OVER]


def test_a_call_that_begins_under_the_tools_last_word_is_no_call(live):
    booth, stream, headset = live

    def blocks():
        begin(headset)
        call = list(stream.call(0))
        middle = len(call) // 2
        stream.position = call[middle].start
        yield from call[:middle]
        headset.may_end.release()
        booth.speaker.finish()
        stream.position = call[-1].end
        yield from call[middle:]

    listen(booth.loop, stream.play(blocks()), Ears([heard()]))
    assert booth.record.kinds == ["started"]


def test_a_call_right_after_the_tools_last_word_is_a_call(live):
    """Its lead-in lies under the tool's voice, its speech does not."""
    booth, stream, headset = live

    def blocks():
        begin(headset)
        yield from stream.sound(np.zeros(RATE, np.float32))
        headset.may_end.release()
        booth.speaker.finish()
        yield from stream.sound(CALLS[0].samples)
        yield from stream.sound(np.zeros(RATE, np.float32))

    listen(booth.loop, stream.play(blocks()), Ears([heard()]))
    assert booth.record.kinds == ["started", "item"]


def test_stop_is_heard_while_the_tool_speaks(live):
    booth, stream, headset = live

    def blocks():
        begin(headset)
        yield from stream.call(0)

    listen(booth.loop, stream.play(blocks()), Ears([heard(command("stop"))]))
    assert headset.stopped == 1
    booth.speaker.finish()
    assert booth.record.kinds == ["started"]


def test_a_stop_that_is_not_sure_stops_nothing(live):
    booth, stream, headset = live

    def blocks():
        begin(headset)
        yield from stream.call(0)
        headset.may_end.release()

    ears = Ears([heard(command("stop"), Verdict.ASK)])
    listen(booth.loop, stream.play(blocks()), ears)
    assert headset.stopped == 0


def test_the_tool_listens_on_while_it_speaks(live):
    """A second call, said after the readback of the first has begun, waits for nothing."""
    booth, stream, headset = live

    def blocks():
        begin(headset)
        headset.may_end.release()
        booth.speaker.finish()
        yield from stream.call(0)
        begin(headset)  # the readback is being spoken
        yield from stream.call(1)
        headset.may_end.release()

    listen(booth.loop, stream.play(blocks()), Ears([heard(), heard(item("rudder"))]))
    assert booth.record.kinds == ["started", "item"]
    assert [one.why for one in booth.onlooker.of(Refused)] == [Why.SPOKEN_OVER]


def test_the_microphone_that_came_back_is_kept_with_its_name_and_rate(booth):
    stream = Stream()

    def blocks():
        yield MicrophoneLost(0, "the microphone sends no sound")
        yield MicrophoneBack(0, "Desk", 44100)
        yield from stream.call()

    listen(booth.loop, stream.play(blocks()), Ears([heard()]))
    body, _ = booth.record.kept[2]
    assert (body["kind"], body["device"], body["rate"]) == ("device back", "Desk", 44100)
