"""What a session tells about itself while it goes on, for whoever looks on.

Plain frozen data. The record does not depend on it: an onlooker sees, and changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from voicewalk.clock import Instant
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.walk.messages import INSPECTOR, Json


class Why(StrEnum):
    """Why something heard is not taken."""

    OUTSIDE = "not for the tool"
    SPOKEN_OVER = "heard while the tool spoke"
    BEFORE_ASKED = "begun before it was asked for"


@dataclass(frozen=True, slots=True)
class CallHeard:
    """A call was heard, or typed, and judged.

    Attributes:
        verdict: what is made of it; that of ``heard`` unless the sound was cut.
        notes: what is wrong with the sound ("cut", "clipped", "faint").
        hearing_ms: how long the hearing took.
        by: who spoke, ``INSPECTOR`` or ``SECOND``.
    """

    at: Instant
    heard: Heard
    verdict: Verdict
    notes: tuple[str, ...] = ()
    hearing_ms: int = 0
    by: str = INSPECTOR


@dataclass(frozen=True, slots=True)
class Refused:
    """Something was heard and is not taken. Nothing of it is kept."""

    at: Instant
    heard: Heard
    why: Why
    hearing_ms: int = 0
    by: str = INSPECTOR


@dataclass(frozen=True, slots=True)
class RemarkHeard:
    """Free speech after the command "remark"; its transcript is a help."""

    at: Instant
    transcript: str


@dataclass(frozen=True, slots=True)
class Said:
    """The tool says something. ``text`` is as it is spoken."""

    at: Instant
    prompt: str
    text: str


@dataclass(frozen=True, slots=True)
class Kept:
    """The record has kept an entry; so many items have a result now, so many have none."""

    at: Instant
    seq: int
    body: Json
    closed: int
    still_open: int


@dataclass(frozen=True, slots=True)
class NotKept:
    """The record could not keep an entry; it is tried again."""

    at: Instant
    reason: str


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something about the sound that is no entry."""

    at: Instant
    text: str


Event = CallHeard | Refused | RemarkHeard | Said | Kept | NotKept | Trouble


class Observer(Protocol):
    """Somebody who looks on."""

    def __call__(self, event: Event) -> None:
        """Take note of ``event``; return soon."""


@dataclass
class Tally:
    """Counts what no record holds.

    Attributes:
        calls: heard or typed, those refused not counted.
        asked_back: of them, those that were not understood at once.
        refused: speech that was not for the tool; nothing of it is kept.
        spoken_over: what was said while the tool spoke.
        hearing_ms: time spent hearing.
    """

    calls: int = 0
    asked_back: int = 0
    refused: int = 0
    spoken_over: int = 0
    hearing_ms: int = 0

    def __call__(self, event: Event) -> None:
        """As ``Observer``."""
        match event:
            case CallHeard():
                self.calls += 1
                self.asked_back += event.verdict is not Verdict.UNDERSTOOD
                self.hearing_ms += event.hearing_ms
            case Refused():
                self.refused += event.why is Why.OUTSIDE
                self.spoken_over += event.why is Why.SPOKEN_OVER
                self.hearing_ms += event.hearing_ms
