"""The words in which results and commands are read back: those of the walk's language. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Words:
    """What each is called where it is no text of the card's; English unless told otherwise.

    Attributes:
        commands: by ``Command`` value; one that is missing is called by that value.
    """

    satisfactory: str = "satisfactory"
    not_inspected: str = "not inspected"
    not_applicable: str = "not applicable"
    because: str = "because"
    left: str = "left"
    right: str = "right"
    both: str = "both"
    open: str = "open"
    commands: Mapping[str, str] = field(default_factory=dict)

    def command(self, name: str) -> str:
        """What a command is called."""
        return self.commands.get(name, name)
