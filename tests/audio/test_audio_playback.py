"""Playing prompts, and falling silent."""

from dataclasses import replace

import numpy as np
import pytest
import soundfile
from audio_portaudio import SimulatedPortAudio, device

from voicewalk.audio import devices
from voicewalk.audio.driver import Gate, Task
from voicewalk.audio.frames import RATE
from voicewalk.audio.playback import DevicePlayer, FilePlayer, Played, SilentPlayer
from voicewalk.audio.resample import resample
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings

S = replace(
    AudioSettings(),
    play_chunk_seconds=0.05,
    play_stalled_seconds=0.05,
    driver_seconds=10.0,
    open_seconds=0.1,
)
PROMPT = (np.sin(np.arange(22050) * 0.1) * 0.5).astype(np.float32)


@pytest.fixture
def portaudio(monkeypatch):
    simulated = SimulatedPortAudio(device("Headset", outputs=2, rate=48000.0))
    monkeypatch.setattr(devices, "portaudio", lambda: simulated)
    monkeypatch.setattr(devices, "gate", Gate())
    yield simulated
    simulated.settle()


def test_a_prompt_is_played_at_the_rate_of_the_device(portaudio):
    assert DevicePlayer(settings=S).play(PROMPT, 22050) is Played.ENDED
    assert portaudio.streams[-1].samplerate == 48000
    assert np.array_equal(np.concatenate(portaudio.chunks), resample(PROMPT, 22050, 48000))


def test_stop_silences_it_within_a_chunk(portaudio):
    player = DevicePlayer(settings=S)
    portaudio.on_write = lambda: len(portaudio.chunks) == 3 and player.stop()
    assert player.play(PROMPT, 22050) is Played.STOPPED
    assert sum(map(len, portaudio.chunks)) == 3 * 2400  # 50 ms each
    assert portaudio.streams[-1].aborted


def test_a_stop_holds_for_one_prompt(portaudio):
    player = DevicePlayer(settings=S)
    player.stop()
    assert player.play(PROMPT, 22050) is Played.ENDED


def test_a_headset_lost_while_it_plays_is_told_and_may_come_back(portaudio):
    player = DevicePlayer(settings=S)
    portaudio.write_failure_at = 2
    assert player.play(PROMPT, 22050) is Played.LOST
    portaudio.write_failure_at = -1
    assert player.play(PROMPT, 22050) is Played.ENDED


def test_a_headset_that_cannot_be_opened_is_lost(portaudio):
    player = DevicePlayer(settings=S)
    portaudio.refusals = 1
    assert player.play(PROMPT, 22050) is Played.LOST


@pytest.mark.parametrize("what", ["open", "write", "stop", "close"])
def test_a_headset_that_hangs_is_lost(portaudio, what):
    player = DevicePlayer(settings=S)
    portaudio.hanging = {what}
    assert player.play(PROMPT, 22050) is Played.LOST


def test_a_headset_that_hangs_gets_no_more_until_it_comes_back(portaudio):
    player = DevicePlayer(settings=S)
    portaudio.hanging = {"write"}
    assert [player.play(PROMPT, 22050) for _ in range(3)] == [Played.LOST] * 3
    assert len(portaudio.streams) == 1
    portaudio.let_go()
    assert player._prompt.ended.wait(10)
    assert portaudio.streams[0].aborted  # and the rest of the old prompt is not spoken
    assert player.play(PROMPT, 22050) is Played.ENDED


def test_stop_ends_a_prompt_that_hangs(portaudio):
    player = DevicePlayer(settings=replace(S, play_stalled_seconds=600.0, driver_seconds=0.05))
    portaudio.hanging = {"write"}
    prompt = Task(lambda: player.play(PROMPT, 22050))
    assert portaudio.reached.acquire(timeout=10)
    player.stop()
    assert prompt.ended(10)
    assert prompt.result() is Played.STOPPED


def test_after_a_stop_the_next_prompt_is_played(portaudio):
    player = DevicePlayer(settings=S)
    portaudio.on_write = lambda: len(portaudio.chunks) == 1 and player.stop()
    assert player.play(PROMPT, 22050) is Played.STOPPED
    assert player.play(PROMPT, 22050) is Played.ENDED


def test_a_driver_that_lists_no_devices_is_refused_at_the_start(portaudio, monkeypatch):
    portaudio.hanging = {"list"}
    monkeypatch.setattr(portaudio, "query_devices", portaudio._initialize)
    with pytest.raises(AudioError, match=r"the headset does not answer within 0\.1 s"):
        DevicePlayer(settings=S)


def test_a_headset_is_found_again_under_another_number_and_rate(portaudio):
    player = DevicePlayer("Head", settings=S)
    portaudio.devices = (device("Screen", outputs=2), device("Headset", outputs=1, rate=16000.0))
    assert devices.look_again()
    assert player.play(PROMPT, 22050) is Played.ENDED
    assert (portaudio.streams[-1].device, portaudio.streams[-1].samplerate) == (1, 16000)


def test_a_headset_that_is_not_there_is_lost(portaudio):
    player = DevicePlayer("Head", settings=S)
    portaudio.devices = (device("Screen", outputs=2),)
    assert devices.look_again()
    assert player.play(PROMPT, 22050) is Played.LOST


def test_devices_are_not_listed_anew_under_a_prompt(portaudio):
    """It would end the prompt's stream while its thread is inside of it."""
    player = DevicePlayer(settings=S)
    looked = []
    portaudio.on_write = lambda: looked.append(devices.look_again())
    assert player.play(PROMPT, 22050) is Played.ENDED
    assert set(looked) == {False}
    assert devices.look_again()


def test_the_talk_is_kept_in_one_file(tmp_path):
    player = FilePlayer(tmp_path / "talk.wav")
    call = np.full(RATE, 0.25, np.float32)
    assert player.play(PROMPT, 22050) is Played.ENDED
    player.add(call, RATE)
    player.close()
    talk, rate = soundfile.read(tmp_path / "talk.wav", dtype="float32")
    assert rate == RATE
    assert np.allclose(talk, np.concatenate([resample(PROMPT, 22050), call]), atol=1e-4)


def test_a_talk_that_cannot_be_written(tmp_path):
    with pytest.raises(AudioError, match=r"talk\.wav: cannot be written"):
        FilePlayer(tmp_path / "no-such-folder" / "talk.wav")


def test_the_silent_player_ends_at_once():
    assert SilentPlayer().play(PROMPT, 22050) is Played.ENDED
