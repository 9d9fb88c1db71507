"""The microphone, driven as PortAudio's thread would: sound, overflow, loss and return."""

from dataclasses import replace
from itertools import islice

import numpy as np
import pytest
from audio_portaudio import SimulatedPortAudio, device

from voicewalk.audio import devices
from voicewalk.audio.driver import Gate
from voicewalk.audio.frames import (
    FRAME,
    RATE,
    Block,
    MicrophoneBack,
    MicrophoneLost,
    SamplesLost,
    Waiting,
)
from voicewalk.audio.microphone import Lag, MicrophoneSource
from voicewalk.audio.resample import resample
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings

S = replace(
    AudioSettings(), stalled_seconds=0.05, reopen_seconds=0.0, driver_seconds=10.0, open_seconds=0.5
)
HANGING = replace(S, driver_seconds=0.05)


@pytest.fixture
def portaudio(monkeypatch):
    simulated = SimulatedPortAudio(device("Headset", inputs=2, rate=48000.0))
    monkeypatch.setattr(devices, "portaudio", lambda: simulated)
    monkeypatch.setattr(devices, "gate", Gate())
    yield simulated
    simulated.settle()


def noise(count, seed=0):
    return (np.random.default_rng(seed).normal(size=count) * 0.1).astype(np.float32)


def take(blocks, count):
    """The next ones, without the moments in between."""
    told = (one for one in blocks if not isinstance(one, Waiting))
    return list(islice(told, count))


def test_sound_comes_through_as_it_is(portaudio):
    source = MicrophoneSource(settings=S)
    sound = noise(3 * FRAME)
    for at in range(0, len(sound), FRAME):
        portaudio.streams[-1].bring(sound[at : at + FRAME])
    assert source.position == len(sound)
    taken = take(source.blocks(), 3)
    assert [one.start for one in taken] == [0, FRAME, 2 * FRAME]
    assert np.array_equal(np.concatenate([one.samples for one in taken]), sound)


@pytest.mark.parametrize(
    ("formats", "opened"),
    [
        (set(), (RATE, 1)),
        ({(48000, 1), (48000, 2)}, (48000, 1)),
        ({(48000, 2)}, (48000, 2)),
    ],
    ids=["takes 16 kHz", "its own rate only", "two channels only"],
)
def test_a_device_is_opened_with_as_little_as_it_takes(portaudio, formats, opened):
    portaudio.formats = formats
    source = MicrophoneSource(settings=S)
    stream = portaudio.streams[-1]
    assert (stream.samplerate, stream.channels) == opened
    assert stream.blocksize / stream.samplerate == FRAME / RATE
    sound = noise(stream.blocksize * 20)
    for at in range(0, len(sound), stream.blocksize):
        stream.bring(sound[at : at + stream.blocksize])
    blocks = source.blocks()
    got = np.concatenate([one.samples for one in take(blocks, 10)])
    assert np.allclose(got, resample(sound, opened[0])[: len(got)], atol=1e-5)


def test_a_device_that_takes_nothing_is_refused(portaudio):
    portaudio.formats = {(11025, 1)}
    with pytest.raises(AudioError, match=r"'Headset' cannot be opened \(Invalid sample rate\)"):
        MicrophoneSource(settings=S)


def test_a_device_that_is_held_by_another_program_is_refused(portaudio):
    portaudio.refusals = 1
    with pytest.raises(AudioError, match=r"cannot be opened \(Device unavailable\)"):
        MicrophoneSource(settings=S)


def test_a_full_queue_costs_samples_and_that_is_told(portaudio):
    source = MicrophoneSource(settings=replace(S, queue_seconds=4 * FRAME / RATE))
    sound = noise(7 * FRAME)
    stream = portaudio.streams[-1]
    for at in range(0, 6 * FRAME, FRAME):
        stream.bring(sound[at : at + FRAME])
    blocks = source.blocks()
    assert [one.start for one in take(blocks, 4)] == [0, FRAME, 2 * FRAME, 3 * FRAME]
    stream.bring(sound[6 * FRAME :])
    lost, after = take(blocks, 2)
    assert lost == SamplesLost(start=6 * FRAME, count=2 * FRAME)
    assert after.start == 6 * FRAME
    assert np.array_equal(after.samples, sound[6 * FRAME :])
    assert source.position == after.end


def test_samples_that_the_driver_lost_are_told_too(portaudio):
    source = MicrophoneSource(settings=S)
    portaudio.streams[-1].bring(noise(FRAME))
    portaudio.streams[-1].bring(noise(FRAME), overflow=True)
    _, lost, after = take(source.blocks(), 3)
    assert lost == SamplesLost(start=FRAME, count=0)
    assert after.start == FRAME


class Sounding(SimulatedPortAudio):
    """Each stream sends a frame of noise as soon as it is open; the first ``silent`` none."""

    silent = 1

    def InputStream(self, **wanted):  # noqa: N802 - the module's own name
        stream = super().InputStream(**wanted)
        if len(self.streams) > self.silent:
            start = stream.start
            stream.start = lambda: (start(), stream.bring(noise(stream.blocksize, 1)))
        return stream


@pytest.fixture
def sounding(monkeypatch):
    simulated = Sounding(device("Headset", inputs=2, rate=48000.0))
    monkeypatch.setattr(devices, "portaudio", lambda: simulated)
    monkeypatch.setattr(devices, "gate", Gate())
    yield simulated
    simulated.settle()


@pytest.mark.parametrize("how", ["its stream ends", "it falls silent"])
def test_a_lost_microphone_is_told_and_comes_back(sounding, how):
    source = MicrophoneSource(settings=S)
    first = sounding.streams[-1]
    first.bring(noise(FRAME))
    if how == "its stream ends":
        first.end()
    blocks = source.blocks()
    _, lost = take(blocks, 2)
    assert lost == MicrophoneLost(FRAME, "Headset sends no sound")
    assert not first.closed  # it is told before anything is done
    sounding.refusals = 2  # still away when it is tried twice
    back, again = take(blocks, 2)
    assert back == MicrophoneBack(FRAME, "Headset", RATE)
    assert first.closed
    assert again.start == FRAME
    assert np.array_equal(again.samples, noise(FRAME, 1))


def test_it_is_back_only_when_sound_has_come(sounding):
    sounding.silent = 4
    source = MicrophoneSource(settings=S)
    sounding.streams[-1].end()
    lost, back = take(source.blocks(), 2)
    assert isinstance(lost, MicrophoneLost)
    assert isinstance(back, MicrophoneBack)
    assert len(sounding.streams) == 5  # opened and silent, three times


def test_while_it_is_away_whoever_hears_may_see_to_other_things(portaudio):
    source = MicrophoneSource(settings=HANGING)
    portaudio.hanging = {"close", "open", "list"}
    portaudio.streams[-1].end()
    blocks = source.blocks()
    assert isinstance(next(blocks), MicrophoneLost)
    assert {type(next(blocks)) for _ in range(40)} == {Waiting}


def test_while_nobody_speaks_into_a_stalled_one_neither(portaudio):
    source = MicrophoneSource(settings=replace(S, waiting_seconds=0.01))
    told = [type(one) for one in islice(source.blocks(), 5)]
    assert told == [Waiting] * 4 + [MicrophoneLost]


OTHERS = (device("Loudspeaker", outputs=2), device("Webcam", inputs=1))


@pytest.mark.parametrize("asked", ["", "Head", "0"])
def test_an_unplugged_one_is_found_under_another_number_and_rate(sounding, asked):
    """PortAudio lists devices only when it is initialised."""
    source = MicrophoneSource(asked, settings=S)
    sounding.devices = OTHERS[:1]
    sounding.streams[-1].end()
    blocks = source.blocks()
    assert isinstance(take(blocks, 1)[0], MicrophoneLost)
    assert {type(next(blocks)) for _ in range(5)} == {Waiting}
    sounding.devices = (*OTHERS, device("Headset", inputs=1, rate=44100.0))
    assert isinstance(take(blocks, 1)[0], MicrophoneBack)
    assert sounding.streams[-1].device == 2
    assert source.device == "Headset"


def test_a_number_is_not_another_devices(sounding):
    source = MicrophoneSource("0", settings=replace(S, tries_alone=100))
    sounding.devices = (OTHERS[1],)
    sounding.streams[-1].end()
    blocks = source.blocks()
    take(blocks, 1)
    assert {type(next(blocks)) for _ in range(9)} == {Waiting}


@pytest.mark.parametrize("what", ["open", "start", "list"])
def test_one_attempt_that_never_comes_back_holds_up_no_other(sounding, what):
    source = MicrophoneSource(settings=S)
    sounding.hanging = {what}
    sounding.streams[-1].end()
    blocks = source.blocks()
    take(blocks, 1)
    while not sounding.reached.acquire(blocking=False):
        assert isinstance(next(blocks), Waiting)
    if what == "list":  # there is one list for all
        sounding.let_go()
    sounding.hanging = set()
    assert isinstance(take(blocks, 1)[0], MicrophoneBack)


def test_a_device_that_cannot_be_closed_is_opened_all_the_same(sounding):
    source = MicrophoneSource(settings=HANGING)
    sounding.hanging = {"close"}
    sounding.streams[-1].end()
    lost, back = take(source.blocks(), 2)
    assert isinstance(lost, MicrophoneLost)
    assert isinstance(back, MicrophoneBack)


@pytest.mark.parametrize("what", ["open", "start"])
def test_a_driver_that_never_opens_is_refused_at_the_start(portaudio, what):
    portaudio.hanging = {what}
    with pytest.raises(AudioError, match=r"the microphone does not answer within 0\.5 s"):
        MicrophoneSource(settings=S)


def test_nobody_waits_for_a_driver_that_never_closes(portaudio):
    source = MicrophoneSource(settings=HANGING)
    portaudio.hanging = {"close"}
    source.close()
    assert list(source.blocks()) == []


ZEROS = np.zeros(FRAME, np.float32)


def bring(stream, sounds):
    for sound in sounds:
        stream.bring(sound)


def test_zeros_are_a_lost_microphone_until_sound_comes(portaudio):
    source = MicrophoneSource(settings=S)
    stream = portaudio.streams[-1]
    bring(stream, [noise(FRAME), *[ZEROS] * 63, *[ZEROS] * 5, noise(FRAME)])  # 2.016 s; and more
    told = take(source.blocks(), 67)
    assert {type(one) for one in told[:64]} == {Block}
    assert told[64] == MicrophoneLost(64 * FRAME, "Headset sends only zeros")
    assert told[65] == MicrophoneBack(69 * FRAME, "Headset", RATE)
    assert (told[66].start, told[66].end) == (69 * FRAME, source.position)
    assert not stream.closed


def test_zeros_of_less_than_two_seconds_are_a_pause(portaudio):
    source = MicrophoneSource(settings=S)
    for _ in range(3):
        bring(portaudio.streams[-1], [*[ZEROS] * 62, noise(FRAME)])
    assert {type(one) for one in take(source.blocks(), 3 * 63)} == {Block}


def test_one_that_goes_on_with_zeros_is_opened_anew(sounding):
    source = MicrophoneSource(settings=replace(S, zeros_reopen_seconds=1.0))
    bring(sounding.streams[0], [ZEROS] * 100)
    told = take(source.blocks(), 66)
    assert [type(one) for one in told[-3:]] == [MicrophoneLost, MicrophoneBack, Block]
    assert len(sounding.streams) == 2


# --- sound that is missing, by the clock --------------------------------------------------------


def missing(frames):
    """What is missing of frames of 32 ms that come at such times, with ``told`` or without."""
    lag, captured, found = Lag(AudioSettings()), 0.0, []
    for now, told in frames:
        captured += 0.032
        more = lag.missing(captured, now, told=told)
        captured += more
        if more or told:
            found.append((round(now, 3), round(more, 3)))
    return found


def steady(since, count):
    return [(since + 0.032 * number, False) for number in range(1, count + 1)]


def test_what_comes_in_time_is_not_missing():
    assert missing(steady(0, 1000)) == []


def test_what_comes_late_and_all_at_once_is_not_missing():
    """A program that was stopped for 8 s, with a driver that kept everything."""
    assert missing([*steady(0, 200), *[(14.4, False)] * 250, *steady(14.4, 300)]) == []


def test_what_a_driver_left_out_without_a_word_is_found_within_two_windows():
    ((at, more),) = missing([*steady(0, 200), *steady(14.4, 300)])
    assert 14.4 + 2 <= at < 14.4 + 4.1
    assert more == 8.0


def test_what_a_driver_says_it_left_out_is_measured_at_once():
    found = missing([*steady(0, 200), (14.432, True), *steady(14.432, 300)])
    assert found == [(14.432, 8.0)]


def test_a_device_whose_clock_runs_slow_loses_nothing():
    frames = [(0.032 * number * 1.0002, False) for number in range(1, 300_000)]
    assert missing(frames) == []


def test_the_counter_goes_on_over_what_the_driver_lost(portaudio):
    clock = iter([*(0.032 * number for number in range(1, 201)), 14.4 + 0.032])
    source = MicrophoneSource(settings=S, seconds=lambda: next(clock))
    bring(portaudio.streams[-1], [noise(FRAME)] * 200)
    portaudio.streams[-1].bring(noise(FRAME), overflow=True)
    *_, lost, block = take(source.blocks(), 202)
    assert lost == SamplesLost(200 * FRAME + 8 * RATE, 8 * RATE)
    assert block.end == source.position == 201 * FRAME + 8 * RATE


def test_a_full_queue_is_one_long_gap_and_not_a_hole_in_every_word(portaudio):
    source = MicrophoneSource(settings=replace(S, queue_seconds=4 * FRAME / RATE))
    stream, blocks = portaudio.streams[-1], source.blocks()
    bring(stream, [noise(FRAME)] * 5)
    told = []
    for _ in range(4):  # each frame that is taken makes room for the next one
        told += take(blocks, 1)
        stream.bring(noise(FRAME))
    told += take(blocks, 4)
    assert [type(one) for one in told].count(SamplesLost) == 1


def test_closing_it_ends_the_blocks(portaudio):
    source = MicrophoneSource(settings=S)
    blocks = source.blocks()
    portaudio.streams[-1].bring(noise(FRAME))
    next(blocks)
    source.close()
    portaudio.streams[-1].end()
    assert list(blocks) == []
    assert portaudio.streams[-1].closed


def test_closing_it_while_it_is_lost_ends_the_blocks(portaudio):
    source = MicrophoneSource(settings=S)
    portaudio.streams[-1].end()
    blocks = source.blocks()
    assert isinstance(next(blocks), MicrophoneLost)
    source.close()
    assert [one for one in blocks if not isinstance(one, Waiting)] == []


# --- two channels, for two people --------------------------------------------------------------


@pytest.mark.parametrize(
    ("formats", "opened"),
    [(set(), (RATE, 2)), ({(48000, 2), (48000, 1)}, (48000, 2)), ({(RATE, 1)}, None)],
)
def test_both_channels_come_side_by_side(portaudio, formats, opened):
    portaudio.formats = formats
    if opened is None:
        with pytest.raises(AudioError, match="cannot be opened"):
            MicrophoneSource(settings=S, stereo=True)
        return
    source = MicrophoneSource(settings=S, stereo=True)
    stream = portaudio.streams[-1]
    assert (stream.samplerate, stream.channels) == opened
    for _ in range(4):
        stream.bring(noise(stream.blocksize))
    (block, *_) = take(source.blocks(), 2)
    assert block.samples.shape[1] == 2
    assert np.array_equal(block.samples[:, 0], block.samples[:, 1])


def test_a_device_with_one_channel_is_not_for_two(monkeypatch):
    simulated = SimulatedPortAudio(device("Headset", inputs=1, rate=48000.0))
    monkeypatch.setattr(devices, "portaudio", lambda: simulated)
    with pytest.raises(AudioError, match="two people need two"):
        MicrophoneSource(settings=S, stereo=True)


def test_a_headset_is_found_again_by_its_name(sounding):
    """Under another number, in its name too, and at another rate."""
    other = device("Built-in (hw:0,0)", inputs=1)
    sounding.devices = (other, device("Headset: Audio (hw:1,0)", inputs=1))
    assert devices.look_again()
    source = MicrophoneSource("1", settings=S)
    assert (source.device, source.rate) == ("Headset: Audio", RATE)
    sounding.devices = (device("Headset: Audio (hw:2,0)", inputs=2, rate=44100.0), other)
    sounding.formats = {(44100, 1)}
    sounding.streams[-1].end()
    lost, back = take(source.blocks(), 2)
    assert isinstance(lost, MicrophoneLost)
    assert back == MicrophoneBack(0, "Headset: Audio", 44100)
    assert sounding.streams[-1].samplerate == 44100


def test_another_device_is_taken_only_after_some_time_and_named(sounding):
    source = MicrophoneSource(settings=replace(S, tries_alone=3))
    sounding.devices = (device("Desk", inputs=1, rate=44100.0),)
    sounding.streams[-1].end()
    tries = []
    sounding.query_devices = lambda: tries.append(1) or list(sounding.devices)
    _, back = take(source.blocks(), 2)
    assert back == MicrophoneBack(0, "Desk", RATE)
    assert len(tries) >= 4
    del sounding.query_devices
    sounding.devices = (*sounding.devices, device("Headset", inputs=1))
    sounding.streams[-1].end()
    blocks = source.blocks()
    back = next(one for one in blocks if isinstance(one, MicrophoneBack))
    assert back.device == "Headset"


def test_of_two_of_one_name_the_one_with_its_number_is_the_same(portaudio):
    portaudio.devices = tuple(device("Headset", inputs=1) for _ in range(2))
    assert devices.look_again()
    known = devices.find_input("1")
    assert devices.again(known, "1", "input", another=False) == known
    with pytest.raises(AudioError, match="'Headset' is not there"):
        devices.again(known, "1", "output", another=False)
