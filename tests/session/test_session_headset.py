"""A walk with microphone and headset, through a stand-in for PortAudio."""

import threading
from dataclasses import replace
from functools import partial
from types import SimpleNamespace

import numpy as np
import pytest
from session_booth import Clock, Ears, heard

from voicewalk.audio import devices
from voicewalk.audio.driver import Gate
from voicewalk.audio.frames import FRAME, RATE
from voicewalk.audio.microphone import MicrophoneSource
from voicewalk.audio.playback import DevicePlayer
from voicewalk.record.file import RecordReader
from voicewalk.session import equipment
from voicewalk.session.demo import FIXTURES, read_script, scripted
from voicewalk.session.equipment import Calls
from voicewalk.session.events import CallHeard, Kept, Refused, Said
from voicewalk.session.walking import begin_walk
from voicewalk.settings import AudioSettings

CALL = scripted(read_script()[:1], FIXTURES)[0].samples
QUIET = np.zeros(RATE, np.float32)


class PortAudio:
    """One headset. It hears a call when the microphone is opened, or when a prompt was spoken."""

    PortAudioError = OSError

    def __init__(self, *, hears_when_opened: bool) -> None:
        self.default = SimpleNamespace(device=(0, 0))
        self.hears_when_opened = hears_when_opened
        self.spoken: list = []
        self.closed = False
        self.opened: dict = {}
        self.hanging: set[str] = set()
        self.let_go = threading.Event()

    def perhaps_hang(self, what):
        if what in self.hanging:
            self.let_go.wait()

    def _terminate(self):
        """Of a microphone that is silent until a prompt was spoken, on a slow machine."""

    def _initialize(self):
        """There is one list for ever."""

    def query_devices(self):
        return [
            {
                "name": "Headset",
                "max_input_channels": 1,
                "max_output_channels": 1,
                "default_samplerate": float(RATE),
            }
        ]

    def check_input_settings(self, **wanted):
        assert wanted["samplerate"] == RATE

    def InputStream(self, **wanted):  # noqa: N802 - the module's own name
        self.opened = wanted
        return SimpleNamespace(start=self.start, close=self.close)

    def start(self):
        if self.hears_when_opened:
            self.bring_call()

    def close(self, ignore_errors):
        self.closed = True  # it was tried
        self.perhaps_hang("close")

    def bring_call(self):
        sound = np.concatenate((QUIET, CALL, QUIET))
        for at in range(0, len(sound), FRAME):
            data = sound[at : at + FRAME].reshape(-1, 1)
            self.opened["callback"](data, len(data), None, SimpleNamespace(input_overflow=False))

    def OutputStream(self, **wanted):  # noqa: N802
        assert wanted["device"] == 0
        self.perhaps_hang("open output")
        return self

    def __enter__(self):
        return self

    def __exit__(self, *raised):
        if not self.hears_when_opened:
            self.bring_call()

    def write(self, chunk):
        self.perhaps_hang("write")
        self.spoken.append(chunk)

    def abort(self):
        pass


def walk(monkeypatch, tmp_path, sound, *, voice, until):
    """A walk that ends with Ctrl-C at the first event of a kind."""
    monkeypatch.setattr(devices, "portaudio", lambda: sound)
    monkeypatch.setattr(equipment, "open_ears", lambda card, vocabulary: Ears([heard()] * 9))
    seen = []

    def look(event):
        seen.append(event)
        if until(event):
            raise KeyboardInterrupt

    record = tmp_path / "a.walk"
    calls = Calls(device="head", voice=voice)
    outcome = begin_walk("jet-trainer", "M07", "", record, calls, [look], Clock())
    assert outcome.interrupted
    assert sound.closed
    return record


def test_a_call_into_the_microphone_is_kept(monkeypatch, tmp_path):
    record = walk(
        monkeypatch,
        tmp_path,
        PortAudio(hears_when_opened=True),
        voice=False,
        until=lambda event: isinstance(event, Kept) and event.body["kind"] == "item",
    )
    with RecordReader.open(record) as file:
        entries = file.entries()
        assert [entry.body["kind"] for entry in entries] == ["started", "item"]
        assert (entries[0].body["device"], entries[0].body["rate"]) == ("Headset", RATE)
        assert file.clip(entries[1].body["input"]["heard"]["clip"])


def test_the_greeting_is_spoken_into_the_headset(monkeypatch, tmp_path):
    sound = PortAudio(hears_when_opened=False)
    walk(
        monkeypatch,
        tmp_path,
        sound,
        voice=True,
        until=lambda event: isinstance(event, CallHeard | Refused),
    )
    spoken = np.concatenate(sound.spoken)
    assert len(spoken) > 5 * RATE
    assert np.abs(spoken).max() > 0.1


QUICK = replace(
    AudioSettings(),
    stalled_seconds=0.2,
    play_stalled_seconds=0.2,
    open_seconds=0.2,
    driver_seconds=0.05,
    reopen_seconds=0.05,
    waiting_seconds=0.05,
)


@pytest.fixture
def hung(monkeypatch):
    """A headset whose driver does not come back until the test has ended."""
    for name, device in (("MicrophoneSource", MicrophoneSource), ("DevicePlayer", DevicePlayer)):
        monkeypatch.setattr(equipment, name, partial(device, settings=QUICK))
    monkeypatch.setattr(devices, "gate", Gate())
    sound = PortAudio(hears_when_opened=False)
    yield sound
    sound.let_go.set()
    for thread in threading.enumerate():
        if thread.name == "driver":
            thread.join(10)


def kinds(record):
    with RecordReader.open(record) as file:
        return [(one.body["kind"], one.body.get("reason")) for one in file.entries()]


@pytest.mark.parametrize("what", ["write", "open output"])
def test_a_headset_that_takes_no_sound_is_told_and_a_walk_ends_all_the_same(
    monkeypatch, tmp_path, hung, what
):
    hung.hanging = {what, "close"}
    lost = []

    def both(event):
        """The microphone sends nothing either: two devices are lost, in any order."""
        lost.extend([event] if isinstance(event, Kept) and event.seq > 1 else [])
        return len(lost) == 2

    record = walk(monkeypatch, tmp_path, hung, voice=True, until=both)
    reasons = {("device lost", "the headset is gone"), ("device lost", "Headset sends no sound")}
    assert set(kinds(record)[1:]) == reasons


def test_ctrl_c_ends_a_walk_whose_drivers_hang(monkeypatch, tmp_path, hung):
    hung.hanging = {"write", "close"}
    spoken = []

    def first_prompt(event):
        spoken.append(event)
        return isinstance(event, Said)

    record = walk(monkeypatch, tmp_path, hung, voice=True, until=first_prompt)
    assert kinds(record) == [("started", None)]
