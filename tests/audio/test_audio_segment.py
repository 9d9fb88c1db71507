"""Cutting segments out of sound: with a detector that hears loudness, and with the real one."""

import csv
from dataclasses import replace

import numpy as np
import pytest

from voicewalk.audio.frames import (
    FRAME,
    RATE,
    Block,
    CallEnded,
    MicrophoneBack,
    MicrophoneLost,
    SamplesLost,
    Truncated,
)
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, Segmenter, segment
from voicewalk.settings import AudioSettings

S = AudioSettings()


class LoudnessDetector:
    """Speech is whatever is louder than -40 dBFS."""

    def __init__(self):
        self.resets = 0

    def __call__(self, frame):
        assert len(frame) == FRAME
        return 0.9 if np.abs(frame).max() > 0.01 else 0.01

    def reset(self):
        self.resets += 1


def quiet(seconds, level=0.0):
    sound = np.random.default_rng(0).choice([-1, 1], round(seconds * RATE)) * level
    return sound.astype(np.float32)


def tone(seconds, peak=0.5):
    at = np.arange(round(seconds * RATE))
    return (peak * np.sin(2 * np.pi * 440 * at / RATE)).astype(np.float32)


def run(*parts, settings=S, size=700):
    """Segments and notices of a stream of sounds and notices, in blocks of odd size."""
    segmenter, heard, at = Segmenter(LoudnessDetector(), settings), [], 0
    for part in parts:
        if isinstance(part, np.ndarray):
            for begin in range(0, len(part), size):
                heard += segmenter.push(Block(part[begin : begin + size], at + begin))
            at += len(part)
        else:
            at = part.start
            heard += segmenter.interrupt(part)
    return heard + list(segmenter.finish())


def test_a_segment_is_the_call_with_a_little_around_it():
    sound = np.concatenate([quiet(1), tone(0.5), quiet(1)])
    (found,) = run(sound)
    assert np.array_equal(found.samples, sound[found.start_sample : found.end_sample])
    before, after = RATE - found.start_sample, found.end_sample - round(1.5 * RATE)
    assert 0 <= before - S.preroll_frames * FRAME < FRAME
    assert 0 <= after - S.postroll_frames * FRAME < FRAME
    assert abs(found.speech_start - RATE) < FRAME
    assert abs(found.speech_end - 1.5 * RATE) < FRAME
    assert not found.cut
    assert not found.clipped
    assert found.speech_probability == pytest.approx(0.9)


@pytest.mark.parametrize("size", [1, 160, FRAME, 4000])
def test_the_size_of_the_blocks_makes_no_difference(size):
    sound = np.concatenate([quiet(0.5), tone(0.3), quiet(1), tone(0.3), quiet(0.2)])
    spans = [(one.start_sample, one.end_sample) for one in run(sound, size=size)]
    assert spans == [(one.start_sample, one.end_sample) for one in run(sound)]
    assert len(spans) == 2


@pytest.mark.parametrize("level", [0.0005, 0.002, 0.008])
def test_level_and_ratio(level):
    (found,) = run(np.concatenate([quiet(1, level), tone(0.512 * 4), quiet(1, level)]))
    assert found.level_dbfs == pytest.approx(10 * np.log10(0.125), abs=0.3)
    assert found.snr_db == pytest.approx(10 * np.log10(0.125 / level**2), abs=0.3)


def test_without_sound_before_the_call_the_quiet_within_it_is_the_noise():
    level = 0.002
    (found,) = run(np.concatenate([tone(1), quiet(1, level)]))
    assert found.snr_db == pytest.approx(10 * np.log10(0.125 / level**2), abs=0.3)
    assert found.cut  # it may have begun before the sound did


def test_a_driven_microphone_is_told():
    driven = np.clip(tone(0.5, 2.0), -1, 1)
    (found,) = run(np.concatenate([quiet(1), driven, quiet(1)]))
    assert found.clipped


def test_a_call_that_the_file_breaks_off_is_kept_and_flagged():
    (found,) = run(np.concatenate([quiet(1), tone(0.53)]))
    assert found.cut
    assert found.end_sample == round(1.53 * RATE)  # the last, unfilled frame included


def test_missing_samples_part_a_call_in_two_and_both_say_so():
    lost = SamplesLost(round(2.3 * RATE), 800)
    first, notice, second = run(np.concatenate([quiet(1), tone(0.5)]), lost, tone(0.5), quiet(1))
    assert notice is lost
    assert (first.cut, second.cut) == (True, True)
    assert first.end_sample <= round(1.5 * RATE)
    assert second.start_sample == lost.start


@pytest.mark.parametrize("kind", [MicrophoneLost, Truncated])
def test_a_notice_comes_behind_the_segment_that_was_open(kind):
    notice = kind(round(1.5 * RATE), "gone")
    heard = run(np.concatenate([quiet(1), tone(0.5)]), notice)
    assert [type(one) for one in heard] == [Segment, kind]


def test_a_call_long_after_a_lost_microphone_is_whole():
    parts = MicrophoneLost(0, "gone"), MicrophoneBack(0), quiet(1), tone(0.5), quiet(1)
    *_, found = run(*parts)
    assert not found.cut


def test_the_end_of_a_scripted_call_ends_its_segment_and_what_follows_stands_alone():
    ended = CallEnded(round(1.7 * RATE), 0)
    heard = run(np.concatenate([quiet(1), tone(0.5), quiet(0.2)]), ended, quiet(1), tone(0.5))
    assert [type(one) for one in heard] == [Segment, CallEnded, Segment]
    assert not heard[0].cut


def test_long_speech_is_cut_without_loss():
    settings = replace(S, most_frames=50)
    sound = np.concatenate([quiet(1), tone(5), quiet(1)])
    found = run(sound, settings=settings)
    assert len(found) == 4
    assert all(one.cut for one in found)
    edges = [edge for one in found for edge in (one.start_sample, one.end_sample)]
    assert edges[1:-1:2] == edges[2::2]  # each begins where the one before ended
    assert edges[0] <= RATE
    assert edges[-1] >= 6 * RATE


def test_silence_forever_keeps_no_sound():
    segmenter = Segmenter(LoudnessDetector(), S)
    for second in range(20):
        assert list(segmenter.push(Block(quiet(1), second * RATE))) == []
    assert len(segmenter._kept) <= S.preroll_frames + S.lead_frames


# --- the real detector ---------------------------------------------------------------------


def through(calls):
    source = ScriptedSource(calls)
    while source.next_call():
        pass
    found = [[]]
    for heard in segment(source):
        if isinstance(heard, Segment):
            found[-1].append(heard)
        else:
            found.append([])
    return found[:-1]


@pytest.mark.parametrize(
    "sound",
    [np.zeros(3 * RATE, np.float32), quiet(3, 0.2), tone(3), np.clip(quiet(3, 3), -1, 1)],
    ids=["silence", "white noise", "tone", "full-scale noise"],
)
def test_what_nobody_says_gives_no_segment(sound):
    assert through([ScriptedCall(sound)]) == [[]]


CALLS = ("nose wheel tyre, satisfactory", "left main tyre pressure, two one zero p s i", "affirm")


@pytest.mark.synth
@pytest.mark.parametrize("voice", ["flite:awb", "flite:rms", "espeak:en-gb", "espeak:en-us+f3"])
def test_each_synthetic_call_is_one_segment(synth, voice):
    found = through([ScriptedCall(synth(call, voice)) for call in CALLS])
    assert [len(segments) for segments in found] == [1, 1, 1]
    assert not any(one.cut or one.clipped for segments in found for one in segments)


@pytest.mark.synth
def test_the_same_call_gives_the_same_segment_whatever_came_before(synth):
    one, other = (ScriptedCall(synth(call, "flite:awb")) for call in CALLS[:2])
    (alone,), *_ = through([one])
    *_, (after,) = through([other, one])
    assert np.array_equal(alone.samples, after.samples)
    assert (alone.snr_db, alone.level_dbfs) == (after.snr_db, after.level_dbfs)


@pytest.fixture(scope="session")
def engine(recording):
    return recording("noise/motor_idle.flac")


@pytest.mark.synth
def test_engine_noise_leaves_each_call_one_segment_and_is_measured(synth, engine):
    sounds = [synth(call, "flite:rms") for call in CALLS]
    for snr in (10.0, 5.0):
        found = through([ScriptedCall(sound, engine, snr) for sound in sounds])
        assert [len(segments) for segments in found] == [1, 1, 1]
        # The call's pauses count in the ratio it was mixed at and not in the one measured.
        assert all(-1 < segments[0].snr_db - snr < 5 for segments in found)


@pytest.mark.slow
def test_human_speech_gives_one_segment_and_keeps_its_ends(speech_data, recording):
    """Every tenth recording; the whole of them is measured in docs/decisions/0004."""
    with (speech_data / "manifest.tsv").open() as lines:
        paths = [row["path"] for row in csv.DictReader(lines, delimiter="\t") if row["text"]]
    sounds = [recording(path) for path in paths[::10]]
    found = through([ScriptedCall(sound) for sound in sounds])
    assert sum(len(segments) == 1 for segments in found) >= 0.97 * len(sounds)
    begin, whole = 0, []
    for sound, segments in zip(sounds, found, strict=True):
        begin += round(S.silence_before * RATE)
        outside = np.ones(len(sound), bool)
        for one in segments:
            outside[max(0, one.start_sample - begin) : max(0, one.end_sample - begin)] = False
        whole.append(np.square(sound[outside]).sum() < 0.01 * np.square(sound).sum())
        begin += len(sound) + round(S.silence_after * RATE)
    assert np.mean(whole) > 0.95


@pytest.mark.slow
def test_noise_alone_gives_no_clear_segment_and_hardly_a_faint_one(speech_data, recording):
    """What is faint is for the letters to drop."""
    names = {path.stem for path in (speech_data / "noise").glob("*.flac")} - {"crowd_talk"}
    assert len(names) > 10
    noises = [recording(f"noise/{name}.flac") for name in sorted(names)]
    found = [one for some in through([ScriptedCall(noise) for noise in noises]) for one in some]
    assert all(one.faint for one in found)
    assert len(found) <= 1
