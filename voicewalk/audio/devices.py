"""Finds sound devices through PortAudio, which is loaded only when a device is wanted.

Opening a device is ``microphone``'s and ``playback``'s.
"""

from __future__ import annotations

import importlib
import re
from dataclasses import dataclass
from typing import Any

from voicewalk.errors import AudioError

NO_PORTAUDIO = (
    "Install it: on Debian and Ubuntu it is the package libportaudio2 "
    "(sudo apt-get install libportaudio2). Files and the keyboard work without it."
)


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
        return importlib.import_module("sounddevice")
    except OSError as error:  # what the module raises where it finds no library
        raise AudioError(
            "the PortAudio library is missing, which sound devices need", NO_PORTAUDIO
        ) from error


def list_devices() -> tuple[Device, ...]:
    """All sound devices.

    Raises:
        AudioError: PortAudio is missing.
    """
    return tuple(
        Device(
            number,
            str(each["name"]),
            int(each["max_input_channels"]),
            int(each["max_output_channels"]),
            float(each["default_samplerate"]),
        )
        for number, each in enumerate(portaudio().query_devices())
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


def same_input(known: Device) -> Device | None:
    """The input device of that name, whatever its number and rate are now; ``None`` where it is
    away. Of several, the one with its old number.

    Raises:
        AudioError: PortAudio is missing.
    """
    return _same(known, [device for device in list_devices() if device.inputs])


def same_output(known: Device) -> Device | None:
    """The output device of that name; as ``same_input``."""
    return _same(known, [device for device in list_devices() if device.outputs])


def _same(known: Device, usable: list[Device]) -> Device | None:
    named = [device for device in usable if plain(device.name) == plain(known.name)]
    return min(named, key=lambda device: device.index != known.index, default=None)


def _find(name: str, way: str, usable: list[Device]) -> Device:
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
