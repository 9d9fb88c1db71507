"""Two voices on two channels: whose a segment is, by level; files and microphones with two."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.audio.frames import FRAME, RATE, Block, SamplesLost
from voicewalk.audio.source import FileSource
from voicewalk.audio.stereo import StereoSegmenter, Voiced, compare
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings

SETTINGS = AudioSettings()
LEFT, RIGHT = 0, 1
VOICED = 0.02
"""A test's frame with this mean amplitude or more is speech to the detector below."""


class Loudness:
    """A detector for sound without words: whatever is loud is speech."""

    def __call__(self, frame) -> float:
        return float(np.abs(frame).mean() > VOICED)

    def reset(self) -> None:
        pass


@pytest.fixture(autouse=True)
def detector(monkeypatch):
    import voicewalk.audio.stereo as module

    monkeypatch.setattr(module, "SpeechDetector", Loudness)


def db(value: float) -> float:
    return 10 ** (value / 20)


def talk(*spans: tuple[int, float, float], seconds: float = 4.0, noise: float = 0.0, seed: int = 1):
    """Two columns. Each span is (channel, from second, to second) of one voice, at full level."""
    random = np.random.default_rng(seed)
    sound = np.float32(noise) * random.standard_normal((round(seconds * RATE), 2))
    for channel, start, end in spans:
        at = slice(round(start * RATE), round(end * RATE))
        sound[at, channel] += 0.3 * random.standard_normal(at.stop - at.start)
    return sound.astype(np.float32)


def crossed(sound, leak_db: float):
    """Each voice in the other's microphone too, so much weaker."""
    return sound + np.float32(db(leak_db)) * sound[:, ::-1]


def voiced(sound) -> list[Voiced]:
    segmenter = StereoSegmenter(SETTINGS)
    found = []
    for at in range(0, len(sound), 320):
        found += segmenter.push(Block(sound[at : at + 320], at))
    return [*found, *segmenter.finish()]


def own(sound) -> list[int]:
    return [one.channel for one in voiced(sound) if one.own]


@pytest.mark.parametrize("leak", [-10, -20, -30])
@pytest.mark.parametrize("channel", [LEFT, RIGHT])
@pytest.mark.parametrize("noise", [0.0, 0.003, 0.03])
def test_a_voice_is_of_its_own_channel_alone(channel: int, leak: float, noise: float):
    sound = crossed(talk((channel, 1, 2)), leak) + talk(noise=noise, seed=2)
    assert own(sound) == [channel]


def test_a_leak_is_heard_and_is_nobodys():
    heard = voiced(crossed(talk((LEFT, 1, 2)), -10))
    assert {(one.channel, one.own) for one in heard} == {(LEFT, True), (RIGHT, False)}
    leads = {one.channel: one.lead_db for one in heard}
    assert leads[LEFT] == pytest.approx(10, abs=0.5)
    assert leads[RIGHT] == pytest.approx(-10, abs=0.5)


@pytest.mark.parametrize("leak", [-3, 0, 3])
def test_what_is_as_loud_on_both_is_nobodys(leak: float):
    assert own(crossed(talk((LEFT, 1, 2)), leak)) == []


def test_two_who_speak_at_once_are_not_taken():
    assert own(crossed(talk((LEFT, 1, 2), (RIGHT, 1, 2)), -20)) == []


def test_a_short_answer_over_a_long_call_is_not_taken():
    sound = crossed(talk((LEFT, 1, 3), (RIGHT, 1.8, 2.3)), -20)
    assert RIGHT not in own(sound)


def test_a_cough_over_the_others_words_is_no_answer():
    """Loud enough on the whole, and most of the sound is the other's voice."""
    sound = crossed(talk((LEFT, 1, 3)), -10)
    sound[round(1.5 * RATE) : round(1.8 * RATE), RIGHT] += (
        2.5 * talk((RIGHT, 0, 0.3), seconds=0.3)[:, RIGHT]
    )
    heard = [one for one in voiced(sound) if one.channel == RIGHT]
    assert [one.own for one in heard] == [False]
    assert heard[0].lead_db > -SETTINGS.own_lead_db


def test_one_after_the_other_is_in_order():
    sound = talk((LEFT, 0.5, 1.5), (RIGHT, 2.3, 2.8), (LEFT, 3.6, 4.0), seconds=5)
    assert own(crossed(sound, -10)) == [LEFT, RIGHT, LEFT]


def test_an_answer_too_close_behind_a_call_is_not_taken_where_each_hears_the_other():
    """No silence parts them on either channel; said again, it is taken. Where the leak is too weak
    to be speech, each is a segment of its own."""
    sound = talk((LEFT, 0.5, 1.5), (RIGHT, 1.9, 2.9))
    assert own(crossed(sound, -10)) == []
    assert own(crossed(sound, -30)) == [LEFT, RIGHT]


def test_the_end_of_speech_is_what_orders():
    """The second person ends first, though both segments may be closed by the same block."""
    ends = [one.segment.speech_end for one in voiced(talk((LEFT, 0.5, 2.0), (RIGHT, 0.5, 1.9)))]
    assert ends == sorted(ends)


def test_lost_sound_ends_both_and_is_told_once():
    segmenter = StereoSegmenter(SETTINGS)
    sound = talk((LEFT, 0.2, 1.0), (RIGHT, 0.2, 1.0), seconds=1.0)
    assert list(segmenter.push(Block(sound, 0))) == []
    lost = SamplesLost(len(sound) + 100, 100)
    *segments, notice = segmenter.interrupt(lost)
    assert [one.segment.cut for one in segments] == [True, True]
    assert notice == lost
    after = talk((RIGHT, 1, 2))
    (one,) = segmenter.push(Block(after, lost.start))
    assert (one.channel, one.own) == (RIGHT, True)


def test_a_segment_foreseen_is_the_one_that_comes():
    sound = crossed(talk((RIGHT, 1, 2)), -20)
    segmenter, foreseen, found = StereoSegmenter(SETTINGS), [], []
    for at in range(0, len(sound), FRAME):
        found += segmenter.push(Block(sound[at : at + FRAME], at))
        foreseen += segmenter.foreseen()
    (mine,) = (one for one in found if one.own)
    assert [(one.channel, one.own) for one in foreseen] == [(LEFT, False), (RIGHT, True)]
    assert foreseen[1].segment.start_sample == mine.segment.start_sample


# The least power of a sound of 16 bits is 1e-10: what is subnormal is no sound, and no quotient.
powers = st.lists(st.floats(0, 1, allow_subnormal=False), min_size=1, max_size=8).map(np.array)


@given(one=powers)
def test_a_voice_alone_leads_as_far_as_is_told(one):
    lead, share = compare(one, np.zeros(len(one)), 60)
    assert lead == pytest.approx(60 if one.sum() else 0)
    assert share == 0


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=8))
def test_what_one_leads_the_other_lags(pairs):
    one, other = np.array(pairs).T
    assert compare(one, other, 60)[0] == pytest.approx(-compare(other, one, 60)[0])


# --- files and microphones ------------------------------------------------------------------


@pytest.mark.parametrize("rate", [RATE, 44_100])
def test_a_stereo_file_has_both_channels(tmp_path, rate: int):
    time = np.arange(rate) / rate
    sound = np.stack((0.5 * np.sin(600 * time), 0.25 * np.sin(900 * time), 0 * time), axis=1)
    soundfile.write(tmp_path / "two.wav", sound, rate)
    read = np.concatenate([b.samples for b in FileSource(tmp_path / "two.wav", "stereo").blocks()])
    assert read.shape == (RATE, 2)
    for column, channel in ((0, "left"), (1, "right")):
        alone = FileSource(tmp_path / "two.wav", channel).blocks()
        assert np.allclose(read[:, column], np.concatenate([b.samples for b in alone]), atol=1e-4)


def test_a_mono_file_is_no_stereo_file(tmp_path):
    soundfile.write(tmp_path / "one.wav", np.zeros(RATE), RATE)
    with pytest.raises(AudioError, match="no right one"):
        FileSource(tmp_path / "one.wav", "stereo")
