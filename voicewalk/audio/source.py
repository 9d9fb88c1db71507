"""Sound out of a file: WAV, FLAC or OGG, any rate, any number of channels, as a stream.

The microphone is ``microphone``, recorded calls on demand are ``scripted``.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import numpy as np
import soundfile

from voicewalk.audio.frames import RATE, Block, Notice, Samples, Truncated
from voicewalk.audio.resample import Resampler
from voicewalk.errors import AudioError
from voicewalk.settings import AudioSettings

_UNKNOWN_LENGTH = 2**62
"""libsndfile gives a length beyond it where the file's header holds none."""

Channels = Literal["mix", "left", "right", "stereo"]


class FileSource:
    """A sound file as source. It is read block by block, never as a whole.

    Args:
        path: the file.
        channels: of a file with several, their mean ("mix"), or the first one ("left") or the
            second one ("right") alone, or both of these side by side ("stereo").

    Raises:
        AudioError: the file is missing, is no sound that can be read, holds no samples or no
            such channel, or its rate is too low for speech.
    """

    def __init__(
        self, path: Path, channels: Channels = "mix", settings: AudioSettings | None = None
    ) -> None:
        self._path = path
        self._channels = channels
        self._channel = 1 if channels == "right" else 0
        self._position = 0
        self._file = _open(path)
        self._trouble = ""
        if channels in ("right", "stereo") and self._file.channels == 1:
            self._refuse("it has one channel, so there is no right one", "Use 'mix'.")
        lowest = (settings or AudioSettings()).lowest_rate
        if self._file.samplerate < lowest:
            self._refuse(
                f"its sampling rate is {self._file.samplerate} Hz",
                f"Record it again at {lowest} Hz or more; {RATE} Hz is what is used.",
            )
        self._read = 0  # sample frames of the file
        self._first = self._next()  # so that an empty file is refused here and not while heard
        if not len(self._first):
            self._refuse(self._trouble or "it holds no samples", "Record the sound again.")

    @property
    def position(self) -> int:
        """Samples delivered so far."""
        return self._position

    def blocks(self) -> Iterator[Block | Notice]:
        """The sound; a last ``Truncated`` where the file breaks off before its end."""
        resampler = Resampler(self._file.samplerate, 2 if self._channels == "stereo" else 1)
        samples = self._first
        while len(samples):
            yield from self._deliver(resampler.push(samples))
            samples = self._next()
        yield from self._deliver(resampler.finish())
        if self._trouble:
            yield Truncated(self._position, self._trouble)
        self.close()

    def close(self) -> None:
        """Close the file; ``blocks`` ends after what it has read."""
        self._file.close()

    def _refuse(self, why: str, what_to_do: str) -> None:
        self.close()
        raise AudioError(f"{self._path}: {why}", what_to_do)

    def _deliver(self, samples: Samples) -> Iterator[Block]:
        if len(samples):
            block = Block(samples, self._position)
            self._position = block.end
            yield block

    def _next(self) -> Samples:
        """A fiftieth of a second; nothing at the end, and then ``_trouble`` says why if need be."""
        nothing: Samples = np.zeros(0, np.float32)
        if self._file.closed or self._trouble:
            return nothing
        try:
            read = self._file.read(self._file.samplerate // 50, dtype="float32", always_2d=True)
        except soundfile.LibsndfileError as error:
            self._trouble = f"it breaks off after {self._seconds()} s: {error.error_string}"
            return nothing
        self._read += len(read)
        if not len(read) and self._read < self._file.frames < _UNKNOWN_LENGTH:
            promised = self._file.frames / self._file.samplerate
            self._trouble = f"it breaks off after {self._seconds()} s of {promised:.1f} s"
        wanted = self._wanted(read)
        if not np.isfinite(wanted).all():
            self._trouble = f"it holds values that are no sound near {self._seconds()} s"
            return nothing
        return wanted

    def _wanted(self, read: Samples) -> Samples:
        """The channels that are wanted of all that were read."""
        if self._channels == "stereo":
            return read[:, :2]
        mixed: Samples = read.mean(axis=1)
        return mixed if self._channels == "mix" else read[:, self._channel]

    def _seconds(self) -> str:
        return f"{self._read / self._file.samplerate:.1f}"


def _open(path: Path) -> soundfile.SoundFile:
    if not path.is_file():
        raise AudioError(f"{path}: there is no such file", "Give the path of a sound file.")
    try:
        return soundfile.SoundFile(path)
    except soundfile.LibsndfileError as error:
        raise AudioError(
            f"{path}: this is no sound that can be read ({error.error_string})",
            "Give a WAV, FLAC or OGG file.",
        ) from error
