"""Entries about who walks and where: interruptions, identities, a hand-over, what was acknowledged.

Pure data.
"""

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
class Resumed:
    """The program had stopped and goes on from its record.

    Attributes:
        reopens: ids of all closed items, where the walk has become older than its card allows.
        device, rate: of the microphone that it goes on with, where it is one.
        other: that is another one than the walk was begun with.
    """

    kind: ClassVar[str] = "interrupted"
    gap_ms: int
    reopens: tuple[str, ...] = ()
    device: str = ""
    rate: int = 0
    other: bool = False

    def fields(self) -> Json:
        """The gap; of the others those that say something."""
        more = telling(device=self.device, rate=self.rate or None, other=self.other or None)
        return {"gap_ms": self.gap_ms, **telling(reopens=list(self.reopens)), **more}


@dataclass(frozen=True, slots=True)
class StoodBy:
    """The caller stands by for longer than the card allows: that is an interruption."""

    kind: ClassVar[str] = "stood by"
    seconds: int

    def fields(self) -> Json:
        """For how long."""
        return {"seconds": self.seconds}


@dataclass(frozen=True, slots=True)
class Identified:
    """What is inspected was named after an interruption.

    Attributes:
        said: its identity as it was said.
        matches: whether it is that of this walk, sign by sign; the walk goes on only then.
        last: id of the item called last before, "" for none.
        reopens: ids of the items that the card has done again.
        hearing: how well calls will be heard here, by the sound it was said in; "" where it was
            typed (see ``hearing.check``).
    """

    kind: ClassVar[str] = "identity"
    said: str
    matches: bool
    last: str = ""
    reopens: tuple[str, ...] = ()
    hearing: str = ""

    def fields(self) -> Json:
        """Only those that say something; ``matches`` always does."""
        reopens = list(self.reopens)
        return telling(
            said=self.said,
            matches=self.matches,
            last=self.last,
            reopens=reopens,
            hearing=self.hearing,
        )


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
