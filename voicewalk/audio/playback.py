"""Plays prompts: into a headset, into a WAV file of the whole talk, or nowhere.

What is said and how it sounds is ``voice``'s.
"""

from __future__ import annotations

import threading
from enum import StrEnum
from pathlib import Path
from typing import Protocol

import soundfile

from voicewalk.audio import devices
from voicewalk.audio.frames import RATE, Samples
from voicewalk.audio.resample import resample
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings


class Played(StrEnum):
    """How a prompt ended."""

    ENDED = "ended"
    STOPPED = "stopped"
    LOST = "lost"  # the device is gone: the prompt was not, or not wholly, heard


class Player(Protocol):
    """Somewhere to play sound."""

    def play(self, samples: Samples, rate: int) -> Played:
        """Play mono sound of ``rate`` Hz to its end, or until ``stop``. Returns then."""

    def stop(self) -> None:
        """Fall silent; for another thread. Without effect while nothing plays."""

    def close(self) -> None:
        """Give the device or file back."""


class DevicePlayer:
    """The headset.

    Args:
        device: part of its name or its number; "" is the default one.

    Raises:
        AudioError: there is no such device.
    """

    def __init__(self, device: str = "", settings: AudioSettings | None = None) -> None:
        self._device = devices.find_output(device)
        self._settings = settings or AudioSettings()
        self._stop = threading.Event()

    def play(self, samples: Samples, rate: int) -> Played:
        """As ``Player.play``. The device is opened for each prompt, so it may come back."""
        self._stop.clear()
        sound = devices.portaudio()
        self._device = devices.same_output(self._device) or self._device
        own_rate = int(self._device.rate)
        ready = resample(samples, rate, own_rate)
        size = round(self._settings.play_chunk_seconds * own_rate)
        try:
            with sound.OutputStream(
                device=self._device.index, samplerate=own_rate, channels=1, dtype="float32"
            ) as stream:
                for at in range(0, len(ready), size):
                    if self._stop.is_set():
                        stream.abort()
                        return Played.STOPPED
                    stream.write(ready[at : at + size].reshape(-1, 1))
        except sound.PortAudioError:
            return Played.LOST
        return Played.ENDED

    def stop(self) -> None:
        """As ``Player.stop``; takes effect within ``play_chunk_seconds``."""
        self._stop.set()

    def close(self) -> None:
        """Nothing is held between prompts."""


class SilentPlayer:
    """Plays nothing; each prompt has ended at once."""

    def play(self, samples: Samples, rate: int) -> Played:
        """As ``Player.play``."""
        return Played.ENDED

    def stop(self) -> None:
        """Nothing plays."""

    def close(self) -> None:
        """Nothing is held."""


class FilePlayer:
    """Writes the whole talk into one WAV file at ``RATE``, prompts and, by ``add``, calls.

    Raises:
        AudioError: the file cannot be written.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            self._file = soundfile.SoundFile(
                path, "w", samplerate=RATE, channels=1, format="WAV", subtype="PCM_16"
            )
        except soundfile.LibsndfileError as error:
            raise AudioError(
                f"{path}: cannot be written ({error.error_string})",
                "Choose a folder that exists and may be written to.",
            ) from error

    def add(self, samples: Samples, rate: int) -> None:
        """Put other sound of the talk, such as the inspector's call, behind what is there.

        Raises:
            AudioError: the disk does not take it.
        """
        try:
            self._file.write(resample(samples, rate))
        except soundfile.LibsndfileError as error:
            raise AudioError(
                f"{self._path}: the disk does not take the sound ({error.error_string})",
                "Free some space on the disk, or choose another one.",
            ) from error

    def play(self, samples: Samples, rate: int) -> Played:
        """As ``Player.play``; takes no time."""
        self.add(samples, rate)
        return Played.ENDED

    def stop(self) -> None:
        """Nothing plays."""

    def close(self) -> None:
        """Finish the file."""
        self._file.close()
