"""Finds sound devices through PortAudio, which is loaded only when a device is wanted.

Opening a device is ``microphone``'s and ``playback``'s.
"""

from __future__ import annotations

import atexit
import contextlib
import importlib
import re
from dataclasses import dataclass
from typing import Any, Literal

from voicewalk.audio.driver import Gate
from voicewalk.errors import AudioError

NO_PORTAUDIO = (
    "Install it: on Debian and Ubuntu it is the package libportaudio2 "
    "(sudo apt-get install libportaudio2). Files and the keyboard work without it."
)

Way = Literal["input", "output"]


@dataclass(frozen=True, slots=True)
class Device:
    """A sound device as PortAudio lists it; ``rate`` is its own, in Hz."""

    index: int
    name: str
    inputs: int
    outputs: int
    rate: float


def portaudio() -> Any:  # noqa: ANN401 - the module carries no types
    """The module ``sounddevice``.

    Raises:
        AudioError: the PortAudio library is not installed.
    """
    try:
        module = importlib.import_module("sounddevice")
    except OSError as error:  # what the module raises where it finds no library
        raise AudioError(
            "the PortAudio library is missing, which sound devices need", NO_PORTAUDIO
        ) from error
    # At its end the program would wait for a driver that hangs. Streams are closed by whoever
    # opened them, and the rest the operating system takes back.
    atexit.unregister(module._exit_handler)
    return module


gate = Gate()
"""Whoever has a stream is in it; see ``look_again``."""


def look_again() -> bool:
    """Have PortAudio list the devices that are there now, and not those at its start. It may take
    seconds, and longer where a driver hangs.

    Returns:
        Whether it has: not while somebody has a stream, which would be ended.

    Raises:
        AudioError: PortAudio is missing, or does not start again.
    """
    sound = portaudio()
    with gate.alone() as free:
        if free:
            try:
                with contextlib.suppress(sound.PortAudioError):  # it failed to start before
                    sound._terminate()
                sound._initialize()
            except sound.PortAudioError as error:
                raise AudioError(
                    f"the sound system does not start again ({error})", "Start the walk anew."
                ) from error
        return free


def list_devices() -> tuple[Device, ...]:
    """All sound devices.

    Raises:
        AudioError: PortAudio is missing, or did not start.
    """
    sound = portaudio()
    try:
        listed = sound.query_devices()
    except sound.PortAudioError as error:
        raise AudioError(
            f"the sound devices cannot be listed ({error})", "See that the sound system runs."
        ) from error
    return tuple(
        Device(
            number,
            str(each["name"]),
            int(each["max_input_channels"]),
            int(each["max_output_channels"]),
            float(each["default_samplerate"]),
        )
        for number, each in enumerate(listed)
    )


def find_input(name: str = "") -> Device:
    """The input device called so, or the default one.

    Args:
        name: any part of its name, or its number; "" is the default.

    Raises:
        AudioError: there is none, or more than one, or PortAudio is missing.
    """
    return _find(name, "input", [device for device in list_devices() if device.inputs])


def find_output(name: str = "") -> Device:
    """The output device called so, or the default one; as ``find_input``."""
    return _find(name, "output", [device for device in list_devices() if device.outputs])


def plain(name: str) -> str:
    """A device's name without the number in it, which may be another one once it was unplugged:
    PortAudio writes "Headset: Audio (hw:1,0)" on ALSA."""
    return re.sub(r"\s*\(hw:\d+,\d+\)$", "", name)


def again(known: Device, named: str, way: Way, *, another: bool) -> Device:
    """``known`` by its name as it is listed now, perhaps with another number or rate. Of several,
    the one with its old number.

    Args:
        named: as in ``find_input``, what was asked for at the start.
        another: where it is away, what ``named`` finds now is taken in its place; the default one
            for a number, which may be another device's by now.

    Raises:
        AudioError: it is not there.
    """
    usable = [device for device in list_devices() if _channels(device, way)]
    alike = [device for device in usable if plain(device.name) == plain(known.name)]
    if alike:
        return min(alike, key=lambda device: device.index != known.index)
    if not another:
        raise AudioError(
            f"the sound device '{known.name}' is not there", "Plug it in, or see that it is on."
        )
    return _find("" if named.isdecimal() else named, way, usable)


def _channels(device: Device, way: Way) -> int:
    return device.inputs if way == "input" else device.outputs


def _find(name: str, way: Way, usable: list[Device]) -> Device:
    if not usable:
        raise AudioError(
            f"there is no sound {way} device (devices found: {_names(list_devices())})",
            "Plug in a headset and see that the system lists it; "
            "or use a sound file or the keyboard.",
        )
    if not name:
        default = portaudio().default.device[0 if way == "input" else 1]
        return next((device for device in usable if device.index == default), usable[0])
    matching = [
        device
        for device in usable
        if name == str(device.index) or name.casefold() in device.name.casefold()
    ]
    exact = [device for device in matching if name in (str(device.index), device.name)]
    if len(found := exact or matching) != 1:
        raise AudioError(
            f"{len(found) or 'no'} sound {way} devices are called '{name}'",
            f"Choose one of these by its number: {_names(usable)}.",
        )
    return found[0]


def _names(devices: tuple[Device, ...] | list[Device]) -> str:
    return "; ".join(f"{device.index} {device.name}" for device in devices) or "none"
