"""A stand-in for the module ``sounddevice``, as far as ``voicewalk.audio`` uses it."""

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
        formats: (rate, channels) that an input takes; all where it is empty.
        refusals: so many next openings fail.
        streams: opened streams, the last one last.
        chunks: sound written to outputs.
    """

    PortAudioError = PortAudioError

    def __init__(self, *devices, default=(-1, -1)):
        self.devices = devices
        self.default = SimpleNamespace(device=default)
        self.formats = set()
        self.refusals = 0
        self.write_failure_at = -1
        self.on_write = lambda: None
        self.streams = []
        self.chunks = []

    def query_devices(self):
        return list(self.devices)

    def check_input_settings(self, *, device, channels, dtype, samplerate):
        assert dtype == "float32"
        if self.formats and (samplerate, channels) not in self.formats:
            raise PortAudioError("Invalid sample rate")

    def InputStream(self, **wanted):  # noqa: N802 - the module's own name
        return self._open(_Input(**wanted))

    def OutputStream(self, **wanted):  # noqa: N802 - so is this
        return self._open(_Output(self, **wanted))

    def _open(self, stream):
        if self.refusals:
            self.refusals -= 1
            raise PortAudioError("Device unavailable")
        self.streams.append(stream)
        return stream


class _Input:
    def __init__(self, *, device, samplerate, channels, dtype, blocksize, callback,
                 finished_callback):  # fmt: skip
        self.samplerate, self.channels, self.blocksize = samplerate, channels, blocksize
        self.end, self.closed = finished_callback, False
        self._callback = callback

    def start(self):
        pass

    def close(self, ignore_errors):
        assert ignore_errors
        self.closed = True

    def bring(self, samples, overflow=False):
        """What PortAudio's thread does with a buffer of sound."""
        data = np.repeat(np.asarray(samples, np.float32)[:, None], self.channels, axis=1)
        self._callback(data, len(data), None, SimpleNamespace(input_overflow=overflow))


class _Output:
    def __init__(self, portaudio, *, device, samplerate, channels, dtype):
        assert (channels, dtype) == (1, "float32")
        self._portaudio = portaudio
        self.device, self.samplerate, self.aborted = device, samplerate, False

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def abort(self):
        self.aborted = True

    def write(self, chunk):
        if len(self._portaudio.chunks) == self._portaudio.write_failure_at:
            raise PortAudioError("Device gone")
        assert chunk.ndim == 2
        self._portaudio.chunks.append(chunk[:, 0])
        self._portaudio.on_write()
