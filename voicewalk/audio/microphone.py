"""Sound out of a microphone, through PortAudio, with a bounded queue.

What goes wrong after the start is told as a notice among the blocks, never raised: a lost
microphone is an input of the walk. Nothing here waits for a driver that does not come back
(``driver``). Which device it is, is ``devices``' to find.
"""

from __future__ import annotations

import math
import queue
import threading
import time
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from voicewalk.audio import devices
from voicewalk.audio.driver import Task, call
from voicewalk.audio.frames import (
    FRAME,
    RATE,
    Block,
    MicrophoneBack,
    MicrophoneLost,
    Notice,
    Samples,
    SamplesLost,
    Waiting,
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
        seconds: a clock that never runs back, by which sound is known to be missing. It is read
            in PortAudio's thread.

    Raises:
        AudioError: there is no such device, it has too few channels, it cannot be opened, or its
            driver does not answer.
    """

    def __init__(
        self,
        device: str = "",
        settings: AudioSettings | None = None,
        *,
        stereo: bool = False,
        seconds: Callable[[], float] = time.monotonic,
    ) -> None:
        self._settings = settings or AudioSettings()
        self._columns = 2 if stereo else 1
        self._name = device
        self._seconds = seconds
        self._delivered = 0
        self._waited, self._zeros = 0.0, 0  # seconds without samples; samples without sound
        self._closed = threading.Event()
        self._tries = 0  # in vain, since it was lost
        self._hanging: list[Task[_Capture]] = []
        opened = call(
            lambda: self._opened(lambda: devices.find_input(device)),
            self._settings.open_seconds,
            "the microphone",
            _Capture.close,
        )
        self._capture = opened
        self._first = opened.device
        self._use(opened)

    @property
    def position(self) -> int:
        """Samples captured so far, those still waiting in the queue included."""
        return self._base + self._capture.captured * RATE // self._capture.rate

    @property
    def device(self) -> str:
        """The name of the device that is open, or was open last, without its number."""
        return devices.plain(self._capture.device.name)

    @property
    def rate(self) -> int:
        """Hz, at which it is open."""
        return self._capture.rate

    def close(self) -> None:
        """Give the device back, or leave it with a driver that hangs; ``blocks`` ends."""
        self._closed.set()
        Task(self._capture.close).ended(self._settings.driver_seconds)

    def blocks(self) -> Iterator[Block | Notice]:
        """The sound as it comes; waits for it."""
        while not self._closed.is_set():
            chunk = self._capture.take(self._tick)
            if chunk is None:
                self._waited += self._tick
            else:
                self._waited = 0.0
                silent = 0 if chunk.samples.any() else len(chunk.samples)
                self._zeros = self._zeros + silent if silent else 0
            if self._closed.is_set():
                return
            if self._capture.ended or self._waited >= self._settings.stalled_seconds:
                # Told before anything is done: whatever is done with it may take for ever.
                yield MicrophoneLost(self._delivered, f"{self.device} sends no sound")
                yield from self._recover(None)
            elif chunk is None:
                yield Waiting(self._delivered)
            else:
                yield from self._deliver(chunk)
            if self._zeros >= self._settings.zeros_seconds * self._capture.rate:
                yield MicrophoneLost(self._delivered, f"{self.device} sends only zeros")
                yield from self._recover((yield from self._sound()))

    @property
    def _tick(self) -> float:
        return min(self._settings.waiting_seconds, self._settings.stalled_seconds)

    def _use(self, capture: _Capture) -> None:
        self._base = self._delivered
        self._resampler = Resampler(capture.rate, self._columns)
        self._waited, self._zeros = 0.0, 0
        self._capture = capture

    def _recover(self, chunk: _Chunk | None) -> Iterator[Block | Notice]:
        """Until there is a chunk with sound: the device is opened anew until it brings one."""
        self._tries = 0
        while chunk is None and not self._closed.is_set():
            closing = Task(self._capture.close)
            yield from self._pause(self._settings.reopen_seconds)
            opened = yield from self._open_anew(closing)
            self._tries += 1
            if opened is not None:
                self._use(opened)
                chunk = yield from self._sound()
        if chunk is not None:
            self._waited, self._zeros = 0.0, 0
            self._resampler = Resampler(self._capture.rate, self._columns)
            yield MicrophoneBack(self._delivered, self.device, self.rate)
            yield from self._deliver(chunk)

    def _sound(self) -> Generator[Notice, None, _Chunk | None]:
        """The next chunk that is not all zeros, if one comes before patience ends."""
        settings, zeros, waited = self._settings, 0, 0.0
        most = settings.zeros_reopen_seconds * self._capture.rate
        while zeros < most and waited < settings.stalled_seconds and not self._capture.ended:
            if self._closed.is_set():
                return None
            chunk = self._capture.take(self._tick)
            if chunk is None:
                waited += self._tick
            elif chunk.samples.any():
                return chunk
            else:
                zeros, waited = zeros + len(chunk.samples), 0.0
                self._delivered += len(chunk.samples) * RATE // self._capture.rate
            yield Waiting(self._delivered)
        return None

    def _pause(self, seconds: float) -> Iterator[Notice]:
        for _ in range(max(1, math.ceil(seconds / self._tick))):
            if self._closed.wait(self._tick):
                return
            yield Waiting(self._delivered)

    def _open_anew(self, closing: Task[None]) -> Generator[Notice, None, _Capture | None]:
        """The device, listed and opened anew; ``None`` where it is away or its driver hangs."""
        self._hanging = [task for task in self._hanging if not task.ended()]
        if len(self._hanging) >= self._settings.hanging_calls:
            return None
        another = self._tries >= self._settings.tries_alone
        task = Task(lambda: self._look_and_open(closing, another))
        taken = False
        try:
            for _ in range(math.ceil(self._settings.open_seconds / self._tick)):
                if self._closed.is_set():
                    return None
                if task.ended(self._tick):
                    taken = True
                    return task.result()
                yield Waiting(self._delivered)
            self._hanging.append(task)
        except AudioError:
            return None  # still away; the loss has been told
        finally:
            if not taken:
                task.forsake(_Capture.close)
        return None

    def _look_and_open(self, closing: Task[None], another: bool) -> _Capture:
        closing.ended(self._settings.driver_seconds)
        devices.look_again()
        return self._opened(
            lambda: devices.again(self._first, self._name, "input", another=another)
        )

    def _opened(self, find: Callable[[], devices.Device]) -> _Capture:
        """In a thread of the driver's."""
        devices.gate.enter(self._settings.open_seconds)
        try:
            device = find()
            rate, channels = _format(device, self._columns)
            return _Capture(device, rate, channels, self._settings, self._columns, self._seconds)
        except BaseException:
            devices.gate.leave()
            raise

    def _deliver(self, chunk: _Chunk) -> Iterator[Block | Notice]:
        if chunk.lost is not None:
            lost = chunk.lost * RATE // self._capture.rate
            self._delivered += lost
            self._resampler = Resampler(self._capture.rate, self._columns)
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


class Lag:
    """Finds sound that is missing: by how much what has come is behind the clock.

    A busy machine brings sound late and then all at once; so only what stays behind is missing.
    """

    def __init__(self, settings: AudioSettings) -> None:
        self._settings = settings
        self._known: float | None = None  # the least of the window before
        self._since: float | None = None  # when the present window began
        self._least = math.inf

    def missing(self, captured: float, now: float, *, told: bool) -> float:
        """Seconds of sound that are missing before what has just come, 0 for none.

        Args:
            captured: seconds of sound so far, with those that are known to be missing.
            now: by the clock.
            told: the driver says that some is.
        """
        lag = now - captured
        if told:
            self._begin()
            return max(0.0, lag - self._known) if self._known is not None else 0.0
        self._since = now if self._since is None else self._since
        self._least = min(self._least, lag)
        if now - self._since < self._settings.lag_window_seconds:
            return 0.0
        more = 0.0 if self._known is None else self._least - self._known
        if more > self._settings.lag_seconds:
            self._begin()
            return more
        self._known = self._least
        self._begin()
        return 0.0

    def _begin(self) -> None:
        self._since, self._least = None, math.inf


class _Capture:
    """One opening of the device: PortAudio's thread fills the queue, ours empties it. Whoever
    opens it is in the gate, and ``close`` leaves it."""

    def __init__(
        self,
        device: devices.Device,
        rate: int,
        channels: int,
        settings: AudioSettings,
        columns: int,
        seconds: Callable[[], float],
    ) -> None:
        sound = devices.portaudio()
        size = FRAME * rate // RATE
        self.device = device
        self.rate = rate
        self.captured = 0
        self.ended = False
        self._columns = columns
        self._seconds = seconds
        self._lag = Lag(settings)
        self._lost: int | None = None
        self._full = False
        self._guard = threading.Lock()
        self._open = True
        self._queue: queue.Queue[_Chunk | None] = queue.Queue(
            round(settings.queue_seconds * rate / size)
        )
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
        """The next chunk; ``None`` where nothing came for so long, or the stream has ``ended``."""
        try:
            chunk = self._queue.get(timeout=seconds)
        except queue.Empty:
            return None
        self.ended = chunk is None
        return chunk

    def close(self) -> None:
        """May never come back. Without effect once it was called."""
        with self._guard:
            first, self._open = self._open, False
        if first:
            self._stream.close(ignore_errors=True)
            devices.gate.leave()

    def _callback(self, data: Any, frames: int, _time: object, status: Any) -> None:  # noqa: ANN401
        # Runs in PortAudio's thread: it must not wait, so a full queue costs samples.
        self._heed_gaps(frames, told=bool(status.input_overflow))
        self.captured += frames
        mono: Samples = data.mean(axis=1, dtype=np.float32)
        samples = data[:, :2].astype(np.float32) if self._columns == 2 else mono
        # Once it is full, one long gap is better than a hole in every word.
        if self._full and self._queue.qsize() <= self._queue.maxsize // 2:
            self._full = False
        try:
            if self._full:
                raise queue.Full
            self._queue.put_nowait(_Chunk(samples, self._lost))
            self._lost = None
        except queue.Full:
            self._full = True
            self._lost = (self._lost or 0) + frames

    def _heed_gaps(self, frames: int, *, told: bool) -> None:
        captured = (self.captured + frames) / self.rate
        missing = round(self._lag.missing(captured, self._seconds(), told=told) * self.rate)
        if missing or told:
            self.captured += missing
            self._lost = (self._lost or 0) + missing

    def _finished(self) -> None:
        # A full queue needs no mark: its reader will wait in vain once it is empty.
        if not self._queue.full():
            self._queue.put_nowait(None)
