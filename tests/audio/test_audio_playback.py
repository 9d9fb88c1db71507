"""Playing prompts, and falling silent."""

from dataclasses import replace

import numpy as np
import pytest
import soundfile
from audio_portaudio import SimulatedPortAudio, device

from voicewalk.audio import devices
from voicewalk.audio.frames import RATE
from voicewalk.audio.playback import DevicePlayer, FilePlayer, Played, SilentPlayer
from voicewalk.audio.resample import resample
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings

S = replace(AudioSettings(), play_chunk_seconds=0.05)
PROMPT = (np.sin(np.arange(22050) * 0.1) * 0.5).astype(np.float32)


@pytest.fixture
def portaudio(monkeypatch):
    simulated = SimulatedPortAudio(device("Headset", outputs=2, rate=48000.0))
    monkeypatch.setattr(devices, "portaudio", lambda: simulated)
    return simulated


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
