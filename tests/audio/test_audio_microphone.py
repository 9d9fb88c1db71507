"""The microphone, driven as PortAudio's thread would: sound, overflow, loss and return."""

from dataclasses import replace

import numpy as np
import pytest
from audio_portaudio import SimulatedPortAudio, device

from voicewalk.audio import devices
from voicewalk.audio.frames import FRAME, RATE, MicrophoneBack, MicrophoneLost, SamplesLost
from voicewalk.audio.microphone import MicrophoneSource
from voicewalk.audio.resample import resample
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings

S = replace(AudioSettings(), stalled_seconds=0.05, reopen_seconds=0.0)


@pytest.fixture
def portaudio(monkeypatch):
    simulated = SimulatedPortAudio(device("Headset", inputs=2, rate=48000.0))
    monkeypatch.setattr(devices, "portaudio", lambda: simulated)
    return simulated


def noise(count, seed=0):
    return (np.random.default_rng(seed).normal(size=count) * 0.1).astype(np.float32)


def take(blocks, count):
    return [next(blocks) for _ in range(count)]


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


@pytest.mark.parametrize("how", ["its stream ends", "it falls silent"])
def test_a_lost_microphone_is_told_and_comes_back(portaudio, how):
    source = MicrophoneSource(settings=S)
    first = portaudio.streams[-1]
    first.bring(noise(FRAME))
    if how == "its stream ends":
        first.end()
    portaudio.refusals = 2  # still away when it is tried twice
    blocks = source.blocks()
    _, lost, back = take(blocks, 3)
    assert lost == MicrophoneLost(FRAME, "Headset sends no sound")
    assert back == MicrophoneBack(FRAME, "Headset", RATE)
    assert first.closed
    portaudio.streams[-1].bring(noise(FRAME, 1))
    again = next(blocks)
    assert again.start == FRAME
    assert np.array_equal(again.samples, noise(FRAME, 1))


def test_a_microphone_that_is_unplugged_comes_back_when_it_is_there(portaudio):
    source = MicrophoneSource(settings=S)
    there = portaudio.devices
    portaudio.devices = ()
    portaudio.streams[-1].end()
    blocks = source.blocks()
    assert isinstance(next(blocks), MicrophoneLost)
    portaudio.devices = there
    assert isinstance(next(blocks), MicrophoneBack)


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
    assert list(blocks) == []


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


def test_a_headset_is_found_again_by_its_name(portaudio):
    """Under another number, in its name too, and at another rate."""
    other = device("Built-in (hw:0,0)", inputs=1)
    portaudio.devices = (other, device("Headset: Audio (hw:1,0)", inputs=1))
    source = MicrophoneSource("1", settings=S)
    assert (source.device, source.rate) == ("Headset: Audio", RATE)
    portaudio.devices = (device("Headset: Audio (hw:2,0)", inputs=2, rate=44100.0), other)
    portaudio.formats = {(44100, 1)}
    portaudio.streams[-1].end()
    lost, back = take(source.blocks(), 2)
    assert isinstance(lost, MicrophoneLost)
    assert back == MicrophoneBack(0, "Headset: Audio", 44100)
    assert portaudio.streams[-1].samplerate == 44100


def test_another_device_is_taken_only_after_some_time_and_named(portaudio):
    source = MicrophoneSource(settings=replace(S, tries_alone=3))
    portaudio.devices = (device("Desk", inputs=1, rate=44100.0),)
    portaudio.streams[-1].end()
    tries = []
    portaudio.query_devices = lambda: tries.append(1) or list(portaudio.devices)
    _, back = take(source.blocks(), 2)
    assert back == MicrophoneBack(0, "Desk", RATE)
    assert len(tries) >= 4
    portaudio.devices = (*portaudio.devices, device("Headset", inputs=1))
    portaudio.streams[-1].end()
    _, back = take(source.blocks(), 2)
    assert back.device == "Headset"


def test_of_two_of_one_name_the_one_with_its_number_is_the_same(portaudio):
    portaudio.devices = tuple(device("Headset", inputs=1) for _ in range(2))
    known = devices.find_input("1")
    assert devices.same_input(known) == known
    assert devices.same_output(known) is None
