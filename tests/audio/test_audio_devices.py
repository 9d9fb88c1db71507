"""Finding devices: what a person is told where there is none."""

import importlib
import subprocess
import sys

import pytest
from audio_portaudio import SimulatedPortAudio, device

from voicewalk.audio import devices
from voicewalk.audio.microphone import MicrophoneSource
from voicewalk.audio.playback import DevicePlayer
from voicewalk.errors import AudioError

HEADSET = device("Headset: USB", inputs=1, outputs=2)
LAPTOP = device("Laptop microphone", inputs=2)
SPEAKER = device("Laptop speaker", outputs=2)


@pytest.fixture
def portaudio(monkeypatch):
    def simulate(*found, default=(-1, -1)):
        simulated = SimulatedPortAudio(*found, default=default)
        monkeypatch.setattr(devices, "portaudio", lambda: simulated)
        return simulated

    return simulate


@pytest.mark.parametrize("use", [devices.find_input, MicrophoneSource, DevicePlayer])
def test_without_portaudio_the_package_and_the_command_are_named(monkeypatch, use):
    def no_library(name):
        assert name == "sounddevice"
        raise OSError("PortAudio library not found")  # as sounddevice 0.5 says it

    monkeypatch.setattr(importlib, "import_module", no_library)
    with pytest.raises(AudioError) as refused:
        use("")
    assert "sudo apt-get install libportaudio2" in refused.value.what_to_do


def test_importing_the_room_does_not_load_portaudio():
    """In a fresh interpreter: files and the keyboard must work without the library."""
    code = (
        "import sys, voicewalk.audio.microphone, voicewalk.audio.playback;"
        "sys.exit('sounddevice' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_no_device_at_all(portaudio):
    portaudio()
    with pytest.raises(AudioError, match=r"no sound input device \(devices found: none\)"):
        devices.find_input()


def test_no_input_among_the_devices(portaudio):
    portaudio(SPEAKER)
    with pytest.raises(AudioError, match="devices found: 0 Laptop speaker"):
        devices.find_input()
    assert devices.find_output().name == "Laptop speaker"


@pytest.mark.parametrize(
    ("name", "index"), [("", 1), ("usb", 0), ("Laptop", 1), ("1", 1), ("Headset: USB", 0)]
)
def test_an_input_by_default_by_name_or_by_number(portaudio, name, index):
    portaudio(HEADSET, LAPTOP, SPEAKER, default=(1, 2))
    assert devices.find_input(name).index == index


def test_without_a_default_the_first_is_taken(portaudio):
    portaudio(SPEAKER, LAPTOP, HEADSET)
    assert devices.find_input().name == "Laptop microphone"


@pytest.mark.parametrize(
    ("name", "says"), [("bluetooth", "no sound input devices"), ("e", "2 sound input devices")]
)
def test_a_name_that_is_not_one_device_lists_them(portaudio, name, says):
    portaudio(HEADSET, LAPTOP, SPEAKER)
    with pytest.raises(AudioError, match=says) as refused:
        devices.find_input(name)
    assert "0 Headset: USB; 1 Laptop microphone" in refused.value.what_to_do
    assert "speaker" not in refused.value.what_to_do


def test_this_machine():
    """The real PortAudio: a device, or an error that says what to do."""
    try:
        found = devices.find_input()
    except AudioError as error:
        assert error.what_to_do
    else:
        assert found.inputs > 0
