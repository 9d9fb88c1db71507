"""The entry of what the second person answered. Pure data; one of those of ``entries``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from voicewalk.walk.messages import Json
from voicewalk.walk.terms import Finding
from voicewalk.walk.values import telling


@dataclass(frozen=True, slots=True)
class Confirmation:
    """What the second person answered about an entry, or that nobody answered.

    Attributes:
        entry: number of the entry that was to be confirmed.
        entered, said: what that entry says and what was answered, in few words ("95 psi",
            "55 psi"); ``said`` is "" where nothing was understood.
        reopens: ids of the items that are open again because of it.
    """

    kind: ClassVar[str] = "confirmation"
    entry: int
    item: str
    finding: Finding
    entered: str
    said: str = ""
    reopens: tuple[str, ...] = ()

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(
            entry=self.entry,
            item=self.item,
            finding=self.finding.value,
            entered=self.entered,
            said=self.said,
            reopens=list(self.reopens),
        )
