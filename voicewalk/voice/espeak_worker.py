"""Speaks text by eSpeak NG, in a process of its own, started with a voice and a rate.

A message is a letter, a length (4 bytes, big-endian) and so many bytes. It reads "T", text in
UTF-8, from its standard input, and answers each on its standard output with "S", the sampling
rate (4 bytes, big-endian) and 16-bit little-endian mono samples, or with "E" and the reason.
It ends when its input ends. It imports nothing of the project, and the project loads nothing
of eSpeak NG, which is under the GPL.
"""

from __future__ import annotations

import ctypes
import os
import signal
import struct
import sys
from typing import BinaryIO

_HEADER = struct.Struct(">cI")

# From eSpeak NG's speak_lib.h.
_AUDIO_OUTPUT_SYNCHRONOUS = 2  # espeak_Synth returns when all samples went to the callback
_DONT_EXIT = 0x8000  # espeakINITIALIZE_DONT_EXIT: answer with an error instead
_PARAMETER_RATE = 1  # espeakRATE, words per minute
_CHARS_UTF8 = 1
_POSITION_CHARACTER = 1

_CALLBACK = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
)


class Espeak:
    """The library, initialised for one voice.

    Raises:
        RuntimeError: the library or its data is missing, or it does not know the voice.
    """

    def __init__(self, voice: str, words_per_minute: int) -> None:
        try:
            # Here and not above, so that its absence is answered with a reason.
            import espeakng_loader

            self._library = ctypes.CDLL(espeakng_loader.get_library_path())
            data = espeakng_loader.get_data_path()
        except (ImportError, OSError) as error:
            raise RuntimeError(f"eSpeak NG cannot be loaded ({error})") from error
        self.rate = self._library.espeak_Initialize(
            _AUDIO_OUTPUT_SYNCHRONOUS, 0, data.encode(), _DONT_EXIT
        )
        if self.rate <= 0:
            raise RuntimeError(f"eSpeak NG cannot read its data in {data}")
        if self._library.espeak_SetVoiceByName(voice.encode()) != 0:
            raise RuntimeError(f"eSpeak NG knows no voice '{voice}'")
        self._library.espeak_SetParameter(_PARAMETER_RATE, words_per_minute, 0)
        self._pieces: list[bytes] = []
        self._callback = _CALLBACK(self._take)  # kept: the library holds only its address
        self._library.espeak_SetSynthCallback(self._callback)

    def speak(self, text: str) -> bytes:
        """16-bit little-endian mono samples of ``text`` at ``rate`` Hz."""
        self._pieces.clear()
        spoken = text.encode()
        failed = self._library.espeak_Synth(
            ctypes.c_char_p(spoken),
            ctypes.c_size_t(len(spoken) + 1),
            0,
            _POSITION_CHARACTER,
            0,
            _CHARS_UTF8,
            None,
            None,
        )
        if failed:
            raise RuntimeError(f"eSpeak NG cannot speak (error {failed})")
        return b"".join(self._pieces)

    def _take(self, samples: ctypes._Pointer[ctypes.c_short], count: int, _events: int) -> int:
        if samples and count:
            self._pieces.append(ctypes.string_at(samples, 2 * count))
        return 0  # go on


def serve(voice: str, words_per_minute: int, source: BinaryIO, sink: BinaryIO) -> None:
    """Answer messages until the input ends."""
    espeak: Espeak | None = None
    while len(header := source.read(_HEADER.size)) == _HEADER.size:
        _, length = _HEADER.unpack(header)
        text = source.read(length).decode()
        try:
            espeak = espeak or Espeak(voice, words_per_minute)
            kind, body = b"S", espeak.rate.to_bytes(4, "big") + espeak.speak(text)
        except RuntimeError as error:
            kind, body = b"E", str(error).encode()
        sink.write(_HEADER.pack(kind, len(body)) + body)
        sink.flush()


def main() -> None:
    """Keep the pipe to ourselves, whatever the library prints, and serve."""
    # Ctrl-C goes to every process of the terminal; this one ends with its input instead.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sink = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    serve(sys.argv[1], int(sys.argv[2]), sys.stdin.buffer, sink)


if __name__ == "__main__":
    main()
