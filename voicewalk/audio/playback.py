"""Plays prompts: into a headset, into a WAV file of the whole talk, or nowhere.

Nobody waits for a headset that takes no sound: it is lost. What is said and how it sounds is
``voice``'s.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import Protocol

import soundfile

from voicewalk.audio import devices
from voicewalk.audio.driver import Task, call
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
        self._name = device
        self._settings = settings or AudioSettings()
        self._device = call(
            lambda: devices.find_output(device), self._settings.open_seconds, "the headset"
        )
        self._prompt: _Prompt | None = None
        self._stop = threading.Event()

    def play(self, samples: Samples, rate: int) -> Played:
        """As ``Player.play``. The device is found and opened for each prompt, so it may come
        back. A headset that takes nothing for ``play_stalled_seconds``, or does not open within
        ``open_seconds``, is lost, and stays so until it has let go of that prompt."""
        if self._prompt is not None and not self._prompt.ended.is_set():
            return Played.LOST
        self._stop.clear()
        self._prompt = _Prompt(samples, rate, self._find, self._settings, self._stop)
        return self._prompt.wait()

    def stop(self) -> None:
        """As ``Player.stop``; takes effect within ``play_chunk_seconds``, whatever the driver
        does."""
        self._stop.set()
        if (prompt := self._prompt) is not None:
            prompt.heed()

    def close(self) -> None:
        """Nothing is held between prompts."""

    def _find(self) -> devices.Device:
        another = not self._name.isdecimal()
        return devices.again(self._device, self._name, "output", another=another)


class _Prompt:
    """One prompt on its way into the headset, in a thread of the driver's.

    Attributes:
        ended: the driver has let go of it.
    """

    def __init__(
        self,
        samples: Samples,
        rate: int,
        find: Callable[[], devices.Device],
        settings: AudioSettings,
        stop: threading.Event,
    ) -> None:
        self.ended = threading.Event()
        self._samples = samples
        self._rate = rate
        self._find = find
        self._settings = settings
        self._stop = stop
        self._changed = threading.Condition()
        self._steps = 0
        self._opened = False
        self._given_up = False
        self._played: Played | None = None
        Task(self._run)

    def wait(self) -> Played:
        """How it ended; at the latest when the driver has not moved for too long."""
        with self._changed:
            while self._played is None and not self._stop.is_set():
                if not self._moves():
                    self._given_up = True
                    return Played.LOST
            played = self._played
        if played is None:
            self.ended.wait(self._settings.driver_seconds)  # so that the next one may begin
        return played or Played.STOPPED

    def _moves(self) -> bool:
        """Whether something happens before it has taken too long."""
        steps, settings = self._steps, self._settings
        return self._changed.wait_for(
            lambda: self._steps != steps or self._stop.is_set(),
            settings.play_stalled_seconds if self._opened else settings.open_seconds,
        )

    def heed(self) -> None:
        """Look whether it is to stop."""
        with self._changed:
            self._changed.notify_all()

    def _run(self) -> None:
        played = Played.LOST
        try:
            devices.gate.enter(self._settings.open_seconds)
            try:
                played = self._play()
            finally:
                devices.gate.leave()
        except (AudioError, devices.portaudio().PortAudioError):
            pass  # it is gone
        finally:
            self.ended.set()
            self._moved(played)

    def _play(self) -> Played:
        sound, device = devices.portaudio(), self._find()
        rate = int(device.rate)
        ready = resample(self._samples, self._rate, rate)
        size = round(self._settings.play_chunk_seconds * rate)
        with sound.OutputStream(
            device=device.index,
            samplerate=rate,
            channels=1,
            dtype="float32",
            latency=self._settings.output_latency_seconds,
        ) as stream:
            self._opened = True
            self._moved()
            for at in range(0, len(ready), size):
                if self._stop.is_set() or self._given_up:
                    stream.abort()
                    return Played.STOPPED
                stream.write(ready[at : at + size].reshape(-1, 1))
                self._moved()
        return Played.ENDED

    def _moved(self, played: Played | None = None) -> None:
        with self._changed:
            self._steps += 1
            self._played = self._played or played
            self._changed.notify_all()


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
