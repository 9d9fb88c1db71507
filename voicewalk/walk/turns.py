"""Entries about who walks: a hand-over, silence, what was told and acknowledged. Pure data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from voicewalk.language import spelling
from voicewalk.walk.messages import Json, Say
from voicewalk.walk.values import telling


@dataclass(frozen=True, slots=True)
class HandedOver:
    """Another inspector goes on.

    Attributes:
        by, to: who had the walk, and who has it now, as spelled.
        open: how many items are open.
    """

    kind: ClassVar[str] = "handed over"
    by: str
    to: str
    open: int

    def fields(self) -> Json:
        """All of them."""
        return {"by": self.by, "to": self.to, "open": self.open}


@dataclass(frozen=True, slots=True)
class FellSilent:
    """Nothing was called for longer than the card allows: that is an interruption."""

    kind: ClassVar[str] = "silent"
    seconds: int

    def fields(self) -> Json:
        """For how long."""
        return {"seconds": self.seconds}


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """A message that was to be acknowledged was, by "affirm"."""

    kind: ClassVar[str] = "acknowledged"
    told: Say
    by: str

    def fields(self) -> Json:
        """The message, what it told, and by whom it was acknowledged."""
        return {"told": self.told.prompt, "by": self.by, **telling(of=dict(self.told.args))}


def signs(identity: str) -> str:
    """What of an identity is said; one without a letter or digit is as it is."""
    return spelling.signs(identity) or identity
