"""One error root. Every error says what is wrong and what a person can do about it.

A wrong call order inside the program is a ``RuntimeError`` and never one of these: these are
for data, devices, models and files that a person can put right.
"""

from __future__ import annotations

import copyreg


class VoicewalkError(Exception):
    """Something a person can put right.

    Attributes:
        what_to_do: one sentence in the imperative, shown below the message.
    """

    def __init__(self, message: str, what_to_do: str) -> None:
        super().__init__(message)
        self.what_to_do = what_to_do

    def __reduce__(self) -> tuple[object, ...]:
        """As ``pickle`` asks for: an error may have to be told in another process."""
        return copyreg.__newobj__, (type(self), *self.args), self.__dict__  # type: ignore[attr-defined]

    def __str__(self) -> str:
        return f"{self.args[0]}\n  What to do: {self.what_to_do}"


class SourceError(VoicewalkError):
    """A fault in a card, a vocabulary or another file people write, with its place."""

    def __init__(self, where: str, message: str, what_to_do: str) -> None:
        super().__init__(f"{where}: {message}", what_to_do)
        self.where = where


class ModelError(VoicewalkError):
    """A speech model's file is missing, altered, or not of the version that was measured."""


class AudioError(VoicewalkError):
    """A sound device or a sound file that cannot be used."""


class RecordError(VoicewalkError):
    """A record file that cannot be read, written or trusted."""


class NumberError(ValueError):
    """Words that are no number. A plain ``ValueError``: callers try the next reading of them."""
