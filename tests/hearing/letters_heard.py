"""A stand-in for the letter model: its frames are given, and not heard."""

from __future__ import annotations

import numpy as np

from voicewalk.hearing.letter_model import FLOOR, SYMBOLS


class GivenFrames:
    """Hears a clip as the frames that a test has given."""

    def __init__(self, frames: np.ndarray) -> None:
        self.symbols = {symbol: index for index, symbol in enumerate(SYMBOLS)}
        self.blank = 0
        self._frames = frames

    def log_probs(self, samples: np.ndarray) -> np.ndarray:
        return self._frames


def frames_of(labels: str, sure: float = 0.999) -> np.ndarray:
    """Frames in which one symbol each is likely: "_" for a blank, "|" before a word."""
    rest = np.log((1 - sure) / (len(SYMBOLS) - 1))
    frames = np.full((len(labels), len(SYMBOLS)), max(FLOOR, rest), dtype=np.float32)
    frames[range(len(labels)), [SYMBOLS.index(label) for label in labels]] = np.log(sure)
    return frames


def written(text: str) -> str:
    """The labels of a text that is heard letter by letter, with blanks between."""
    return "".join(f"_{sign}_" for sign in "|" + text.replace(" ", "|"))
