"""Sound out of a microphone, through PortAudio, with a bounded queue.

What goes wrong after the start is told as a notice among the blocks, never raised: a lost
microphone is an input of the walk. Which device it is, is ``devices``' to find.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from voicewalk.audio import devices
from voicewalk.audio.frames import (
    FRAME,
    RATE,
    Block,
    MicrophoneBack,
    MicrophoneLost,
    Notice,
    Samples,
    SamplesLost,
)
from voicewalk.audio.resample import Resampler
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings


@dataclass(frozen=True, slots=True)
class _Chunk:
    """What one callback brought. ``lost``: samples missing before it, ``None`` for no gap."""

    samples: Samples
    lost: int | None


class MicrophoneSource:
    """The microphone as source, at ``RATE`` or resampled from its own rate.

    Args:
        device: part of its name or its number; "" is the default one.
        stereo: its first two channels side by side, and not the mean of all.

    Raises:
        AudioError: there is no such device, it has too few channels, or it cannot be opened.
    """

    def __init__(
        self, device: str = "", settings: AudioSettings | None = None, *, stereo: bool = False
    ) -> None:
        self._settings = settings or AudioSettings()
        self._columns = 2 if stereo else 1
        self._name = device
        self._delivered = 0
        self._closed = threading.Event()
        self._device: devices.Device | None = None  # the one begun with
        self._tries = 0  # in vain, since it was lost
        self._open()

    @property
    def position(self) -> int:
        """Samples captured so far, those still waiting in the queue included."""
        return self._base + self._capture.captured * RATE // self._rate

    @property
    def device(self) -> str:
        """The name of the device, without its number."""
        return devices.plain(self._capture.name)

    @property
    def rate(self) -> int:
        """Hz, at which the device is open."""
        return self._rate

    def close(self) -> None:
        """Give the device back; ``blocks`` ends."""
        self._closed.set()
        self._capture.close()

    def blocks(self) -> Iterator[Block | Notice]:
        """The sound as it comes; waits for it."""
        while not self._closed.is_set():
            chunk = self._capture.take(self._settings.stalled_seconds)
            if chunk is not None:
                yield from self._deliver(chunk)
            elif not self._closed.is_set():
                self._capture.close()
                yield MicrophoneLost(self._delivered, f"{self._capture.name} sends no sound")
                yield from self._reopen()

    def _open(self) -> None:
        device = self._found()
        self._rate, channels = _format(device, self._columns)
        self._base = self._delivered
        self._resampler = Resampler(self._rate, self._columns)
        seconds = self._settings.queue_seconds
        self._capture = _Capture(device, self._rate, channels, seconds, self._columns)

    def _found(self) -> devices.Device:
        """The device begun with, by its name; where it stays away, the one that is configured."""
        if self._device is None:
            self._device = devices.find_input(self._name)
            return self._device
        if found := devices.same_input(self._device):
            return found
        if self._tries < self._settings.tries_alone:
            raise AudioError("the microphone is away", "Plug it in again.")
        # A number is another device's by now, or nobody's.
        return devices.find_input("" if self._name.isdecimal() else self._name)

    def _reopen(self) -> Iterator[Notice]:
        self._tries = 0
        while not self._closed.wait(self._settings.reopen_seconds):
            try:
                self._open()
            except AudioError:
                self._tries += 1
                continue  # still away; the loss has been told
            yield MicrophoneBack(self._delivered, self.device, self.rate)
            return

    def _deliver(self, chunk: _Chunk) -> Iterator[Block | Notice]:
        if chunk.lost is not None:
            lost = chunk.lost * RATE // self._rate
            self._delivered += lost
            self._resampler = Resampler(self._rate, self._columns)
            yield SamplesLost(self._delivered, lost)
        samples = self._resampler.push(chunk.samples)
        if len(samples):
            block = Block(samples, self._delivered)
            self._delivered = block.end
            yield block


def _format(device: devices.Device, least: int) -> tuple[int, int]:
    """Rate and channels to open ``device`` with: as little as it takes, at ``least`` so many
    channels."""
    if device.inputs < least:
        raise AudioError(
            f"the microphone '{device.name}' has one channel, and two people need two",
            "Use a device with two channels: the inspector on the left, the second person on the "
            "right.",
        )
    sound = devices.portaudio()
    reason = ""
    own = int(device.rate)
    for rate, channels in ((RATE, least), (own, least), (own, device.inputs)):
        try:
            sound.check_input_settings(
                device=device.index, channels=channels, dtype="float32", samplerate=rate
            )
        except sound.PortAudioError as error:
            reason = str(error)
        else:
            return rate, channels
    raise _cannot_open(device, reason)


def _cannot_open(device: devices.Device, reason: str) -> AudioError:
    return AudioError(
        f"the microphone '{device.name}' cannot be opened ({reason})",
        "See that no other program holds it and that the user may use sound devices.",
    )


class _Capture:
    """One opening of the device: PortAudio's thread fills the queue, ours empties it."""

    def __init__(
        self, device: devices.Device, rate: int, channels: int, seconds: float, columns: int
    ) -> None:
        sound = devices.portaudio()
        size = FRAME * rate // RATE
        self.name = device.name
        self.captured = 0
        self._columns = columns
        self._lost: int | None = None
        self._queue: queue.Queue[_Chunk | None] = queue.Queue(round(seconds * rate / size))
        try:
            self._stream = sound.InputStream(
                device=device.index,
                samplerate=rate,
                channels=channels,
                dtype="float32",
                blocksize=size,
                callback=self._callback,
                finished_callback=self._finished,
            )
            self._stream.start()
        except sound.PortAudioError as error:
            raise _cannot_open(device, str(error)) from error

    def take(self, seconds: float) -> _Chunk | None:
        """The next chunk; ``None`` where the stream has ended or nothing came for so long."""
        try:
            return self._queue.get(timeout=seconds)
        except queue.Empty:
            return None

    def close(self) -> None:
        self._stream.close(ignore_errors=True)

    def _callback(self, data: Any, frames: int, _time: object, status: Any) -> None:  # noqa: ANN401
        # Runs in PortAudio's thread: it must not wait, so a full queue costs samples.
        self.captured += frames
        if status.input_overflow:
            self._lost = self._lost or 0
        mono: Samples = data.mean(axis=1, dtype=np.float32)
        samples = data[:, :2].astype(np.float32) if self._columns == 2 else mono
        try:
            self._queue.put_nowait(_Chunk(samples, self._lost))
            self._lost = None
        except queue.Full:
            self._lost = (self._lost or 0) + frames

    def _finished(self) -> None:
        # A full queue needs no mark: its reader will wait in vain once it is empty.
        if not self._queue.full():
            self._queue.put_nowait(None)
