"""A paper card that is typed in afterwards: what each call of it says of where it comes from.

The walk and the record are those of typed calls. The record's own times are those of the typing:
when the inspection was is only what the paper says.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from voicewalk.errors import VoicewalkError
from voicewalk.language.graph import PhraseGraph
from voicewalk.session.keyboard import Lines, type_calls
from voicewalk.session.loop import Loop
from voicewalk.session.opening import MOST_NAME, must_be_told


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper card.

    Attributes:
        written: date and time on it, as the person who types gives them.
        typist: who types it in.
    """

    written: str
    typist: str

    def __post_init__(self) -> None:
        """Raises ``VoicewalkError`` for no date and time (ISO 8601), or nobody who can be named."""
        must_be_told(self.typist, "the typist's name", MOST_NAME)
        try:
            datetime.fromisoformat(self.written)
        except ValueError:
            raise VoicewalkError(
                f"'{self.written}' is no date and time",
                "Write what is on the paper, such as '2031-04-02 06:10'.",
            ) from None
        if not self.typist.strip():
            raise VoicewalkError(
                "it is not said who types the paper in", "Give the name with --typist."
            )


def type_paper(loop: Loop, graph: PhraseGraph, lines: Lines, paper: Paper) -> None:
    """As ``type_calls``; each call is marked as from this paper."""
    loop.marks = {"paper": {"written": paper.written, "typist": paper.typist}}
    type_calls(loop, graph, lines)
