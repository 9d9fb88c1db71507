"""A stand-in for the module ``sounddevice``, as far as ``voicewalk.audio`` uses it."""

import threading
from types import SimpleNamespace

import numpy as np


class PortAudioError(Exception):
    pass


def device(name, inputs=0, outputs=0, rate=48000.0):
    return {
        "name": name,
        "max_input_channels": inputs,
        "max_output_channels": outputs,
        "default_samplerate": rate,
    }


class SimulatedPortAudio:
    """Devices, and streams that tests drive.

    Attributes:
        devices: those that are there; listed are those of the last initialisation.
        hanging: calls that do not come back until ``let_go``: "open", "start", "close", "write",
            "stop", "list".
        reached: released each time that one of them begins to hang.
        formats: (rate, channels) that an input takes; all where it is empty.
        refusals: so many next openings fail.
        streams: opened streams, the last one last.
        chunks: sound written to outputs.
    """

    PortAudioError = PortAudioError

    def __init__(self, *devices, default=(-1, -1)):
        self.devices = self._listed = devices
        self._initialized = True
        self.hanging = set()
        self.reached = threading.Semaphore(0)
        self._let_go = threading.Event()
        self.default = SimpleNamespace(device=default)
        self.formats = set()
        self.refusals = 0
        self.write_failure_at = -1
        self.on_write = lambda: None
        self.streams = []
        self.chunks = []

    def let_go(self):
        """All that hangs comes back, and nothing hangs any more."""
        self.hanging = set()
        self._let_go.set()

    def settle(self):
        """The end of a test: no thread of a driver's goes on into the next one."""
        self.let_go()
        for thread in threading.enumerate():
            if thread.name == "driver":
                thread.join(10)

    def perhaps_hang(self, what):
        if what in self.hanging:
            self.reached.release()
            self._let_go.wait()

    def _terminate(self):
        if not self._initialized:
            raise PortAudioError("PortAudio not initialized")
        assert not any(stream.open for stream in self.streams), "a stream was open"
        self._initialized = False

    def _initialize(self):
        self.perhaps_hang("list")
        self._listed, self._initialized = self.devices, True

    def query_devices(self):
        if not self._initialized:
            raise PortAudioError("PortAudio not initialized")
        return list(self._listed)

    def check_input_settings(self, *, device, channels, dtype, samplerate):
        assert dtype == "float32"
        if self.formats and (samplerate, channels) not in self.formats:
            raise PortAudioError("Invalid sample rate")

    def InputStream(self, **wanted):  # noqa: N802 - the module's own name
        return self._open(_Input(self, **wanted))

    def OutputStream(self, **wanted):  # noqa: N802 - so is this
        return self._open(_Output(self, **wanted))

    def _open(self, stream):
        self.perhaps_hang("open")
        if self._listed[stream.device] not in self.devices:
            raise PortAudioError("No such device")
        if self.refusals:
            self.refusals -= 1
            raise PortAudioError("Device unavailable")
        self.streams.append(stream)
        return stream


class _Input:
    def __init__(self, portaudio, *, device, samplerate, channels, dtype, blocksize, callback,
                 finished_callback):  # fmt: skip
        self._portaudio, self.device, self.open = portaudio, device, True
        self.samplerate, self.channels, self.blocksize = samplerate, channels, blocksize
        self.end, self.closed = finished_callback, False
        self._callback = callback

    def start(self):
        self._portaudio.perhaps_hang("start")

    def close(self, ignore_errors):
        assert ignore_errors
        self.closed = True  # it was tried
        self._portaudio.perhaps_hang("close")
        self.open = False

    def bring(self, samples, overflow=False):
        """What PortAudio's thread does with a buffer of sound."""
        data = np.repeat(np.asarray(samples, np.float32)[:, None], self.channels, axis=1)
        self._callback(data, len(data), None, SimpleNamespace(input_overflow=overflow))


class _Output:
    def __init__(self, portaudio, *, device, samplerate, channels, dtype, latency):
        assert (channels, dtype) == (1, "float32")
        assert 0.2 <= latency <= 0.3  # below, prompts have holes; above, answers are late
        self._portaudio = portaudio
        self.device, self.samplerate, self.aborted, self.open = device, samplerate, False, True

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._portaudio.perhaps_hang("stop")
        self._portaudio.perhaps_hang("close")
        self.open = False

    def abort(self):
        self.aborted = True

    def write(self, chunk):
        self._portaudio.perhaps_hang("write")
        if len(self._portaudio.chunks) == self._portaudio.write_failure_at:
            raise PortAudioError("Device gone")
        assert chunk.ndim == 2
        self._portaudio.chunks.append(chunk[:, 0])
        self._portaudio.on_write()
