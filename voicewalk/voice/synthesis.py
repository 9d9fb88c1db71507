"""Turns text into speech, behind a port; eSpeak NG is the voice there is.

eSpeak NG is under the GPL, so it lives in a process of its own (``espeak_worker``) that gets
text and answers with sound; nothing of it is loaded here. Playing the sound is ``audio``'s.
"""

from __future__ import annotations

import contextlib
import struct
import subprocess
import sys
import threading
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt

from voicewalk.errors import VoicewalkError
from voicewalk.settings import VoiceSettings

_HEADER = struct.Struct(">cI")
_WHAT_TO_DO = (
    "Install the project again, which brings espeakng-loader; "
    "the walk can be seen on the screen meanwhile."
)


@dataclass(frozen=True, slots=True, eq=False)
class Speech:
    """Mono sound, float32, full scale at plus and minus 1; ``rate`` in Hz."""

    samples: npt.NDArray[np.float32]
    rate: int


class Synthesiser(Protocol):
    """A voice."""

    def synthesise(self, text: str) -> Speech:
        """Speak ``text``, not empty. Raises ``VoicewalkError`` where the voice fails."""


class EspeakVoice:
    """eSpeak NG in its worker, started with the first prompt; prompts are kept by their text,
    because eSpeak NG's sound differs a little from call to call.

    Args:
        voice: eSpeak NG's name of the voice, such as "en" (British) or "en-us".
    """

    def __init__(self, voice: str = "en", settings: VoiceSettings | None = None) -> None:
        self._settings = settings or VoiceSettings()
        self._command = [
            sys.executable,
            "-P",  # by its path, so that it is found wherever the program was started
            str(Path(__file__).with_name("espeak_worker.py")),
            voice,
            str(self._settings.words_per_minute),
        ]
        self._worker: _Worker | None = None
        self._spoken: OrderedDict[str, Speech] = OrderedDict()

    def synthesise(self, text: str) -> Speech:
        """As ``Synthesiser.synthesise``. A worker that died is replaced once.

        Raises:
            ValueError: there is nothing to say.
            VoicewalkError: eSpeak NG does not work.
        """
        if not text.strip():
            raise ValueError("there is nothing to say")
        if text in self._spoken:
            self._spoken.move_to_end(text)
            return self._spoken[text]
        try:
            speech = self._ask(text)
        except _WorkerError:
            speech = self._ask_once_more(text)
        self._spoken[text] = speech
        if len(self._spoken) > self._settings.cached_prompts:
            self._spoken.popitem(last=False)
        return speech

    def close(self) -> None:
        """End the worker. It would end with this process, too."""
        if self._worker is not None:
            self._worker.end()
            self._worker = None

    def _ask(self, text: str) -> Speech:
        if self._worker is None:
            self._worker = _Worker(self._command, self._settings.answer_seconds)
        try:
            return self._worker.speech(text)
        except (_WorkerError, VoicewalkError):
            self.close()
            raise

    def _ask_once_more(self, text: str) -> Speech:
        try:
            return self._ask(text)
        except _WorkerError as error:
            raise VoicewalkError(f"the voice fails: {error}", _WHAT_TO_DO) from error


class _WorkerError(Exception):
    """The worker ended, or hung and was ended."""


class _Worker:
    """One worker process. Messages both ways: see ``espeak_worker``."""

    def __init__(self, command: list[str], seconds: float) -> None:
        self._seconds = seconds
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )

    def speech(self, text: str) -> Speech:
        sent = text.encode()
        assert self._process.stdin is not None
        with self._deadline():
            try:
                self._process.stdin.write(_HEADER.pack(b"T", len(sent)) + sent)
                self._process.stdin.flush()
            except OSError as error:
                raise _WorkerError("its process has ended") from error
            kind, body = self._receive()
        if kind != b"S":
            raise VoicewalkError(f"the voice fails: {body.decode(errors='replace')}", _WHAT_TO_DO)
        rate = int.from_bytes(body[:4], "big")
        samples = np.frombuffer(body[4:], "<i2").astype(np.float32) / np.float32(32768)
        return Speech(samples, rate)

    def end(self) -> None:
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()
        self._process.kill()
        self._process.wait()

    def _receive(self) -> tuple[bytes, bytes]:
        kind, length = _HEADER.unpack(self._read(_HEADER.size))
        return kind, self._read(length)

    def _read(self, size: int) -> bytes:
        assert self._process.stdout is not None
        got = self._process.stdout.read(size)
        if len(got) < size:
            raise _WorkerError("its process has ended")
        return got

    @contextlib.contextmanager
    def _deadline(self) -> Iterator[None]:
        """A pipe has no deadline of its own: a worker that hangs is killed, its pipe ends."""
        timer = threading.Timer(self._seconds, self._process.kill)
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()
