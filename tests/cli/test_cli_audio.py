"""A walk from a sound file, through the program itself, with the real listeners."""

import numpy as np
import pytest
import soundfile
import soxr
from cli_program import run

from voicewalk.record.clip import decode_clip
from voicewalk.record.file import RecordReader
from voicewalk.record.verify import verify
from voicewalk.session.demo import FIXTURES, read_script

pytestmark = pytest.mark.models

RATE = 44_100
SCRIPT = [call for call in read_script() if call.words.startswith("nose tyre")]


def talk():
    """The first calls on a nose tyre, with a second of silence around each, at 44.1 kHz."""
    quiet = np.zeros(RATE, np.float32)
    parts = [quiet]
    for call in SCRIPT:
        samples, rate = soundfile.read(FIXTURES / call.file, dtype="float32")
        parts += [soxr.resample(samples, rate, RATE), quiet]
    return np.concatenate(parts)


def test_calls_of_one_channel_of_a_stereo_file(tmp_path):
    calls = talk()
    other = np.random.default_rng(3).normal(0, 0.2, len(calls)).astype(np.float32)
    soundfile.write(tmp_path / "talk.flac", np.stack([calls, other], axis=1), RATE)
    code, output = run(
        *("walk", "jet-trainer", "--aircraft", "M07", "--record", "a.walk"),
        *("--audio", "talk.flac", "--channel", "left"),
        cwd=tmp_path,
    )
    assert code == 0, output
    assert [call.words for call in SCRIPT] == ["nose tyre good", "nose tyre pressure nine two psi"]
    assert "nose tyre, satisfactory, recorded." in output
    assert "nose tyre pressure, niner two p s i, recorded." in output
    assert verify(tmp_path / "a.walk").ok
    with RecordReader.open(tmp_path / "a.walk") as record:
        entries = record.entries()
        clips = [record.clip(one.body["input"]["heard"]["clip"]) for one in entries[1:]]
    assert [one.body["kind"] for one in entries] == ["started", "item", "item"]
    for entry, clip in zip(entries[1:], clips, strict=True):
        samples = decode_clip(clip)
        assert 0.5 < len(samples) / 16_000 < 4
        assert entry.start > 0


def test_a_file_without_speech_records_nothing(tmp_path):
    soundfile.write(tmp_path / "hum.wav", 0.1 * np.sin(np.arange(5 * RATE) * 0.01), RATE)
    code, output = run(
        *("walk", "jet-trainer", "--aircraft", "M07", "--record", "a.walk", "--audio", "hum.wav"),
        cwd=tmp_path,
    )
    assert code == 0, output
    with RecordReader.open(tmp_path / "a.walk") as record:
        assert [entry.body["kind"] for entry in record.entries()] == ["started"]
    assert "Go on with: voicewalk walk --resume a.walk" in output
