"""A fault of a card as a check finds it. Pure data; its place in the file is ``card.load``'s."""

from __future__ import annotations

from dataclasses import dataclass

from voicewalk.card.source import Place


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of a card: of an item (by id), of a station (by id), or of the card itself.

    Attributes:
        key: the way from there to the faulty value.
    """

    message: str
    what_to_do: str
    item: str | None = None
    station: str | None = None
    key: Place = ()
