"""When each question was told, in samples of the source: no answer may begin before.

The walk numbers what it asks (``messages.Put``); the speaker knows at which sample each message
was put to the loudspeaker, which on a busy machine is well after it was said.
"""

from __future__ import annotations

from collections import deque

from voicewalk.session.speaking import Speaker
from voicewalk.settings import SessionSettings
from voicewalk.walk.messages import INSPECTOR, SECOND, Listen, Put, Say


class Asking:
    """What each person had been told at any time."""

    def __init__(self, speaker: Speaker, settings: SessionSettings) -> None:
        self._speaker = speaker
        self._said: list[tuple[Say, int]] = []  # since the walk listened last
        remembered = settings.questions_remembered
        self._tellings: dict[str, deque[tuple[int, int]]] = {
            by: deque([(0, 0)], maxlen=remembered) for by in (INSPECTOR, SECOND)
        }

    def say(self, say: Say, ticket: int) -> None:
        """Something is said; the speaker knows it by ``ticket``."""
        self._said.append((say, ticket))

    def listen(self, listen: Listen) -> None:
        """The walk waits for answers."""
        for by, put in ((INSPECTOR, listen.put), (SECOND, listen.second_put)):
            if (ticket := self._telling(by, put)) is not None:
                self._tellings[by].append((put.number, ticket))
        self._said.clear()

    def told(self, by: str, sample: int) -> int:
        """Number of what ``by`` had been asked last when ``sample`` was captured, 0 for nothing
        yet; what was never told does not count."""
        for number, ticket in reversed(self._tellings[by]):
            at = self._speaker.told(ticket) if ticket > 0 else 0
            if at is not None and at <= sample:
                return number
        return 0

    def _telling(self, by: str, put: Put) -> int | None:
        """The message that tells what is asked, ``None`` where none does by now."""
        if put.says:
            tickets = [ticket for say, ticket in self._said if say in put.says]
            return tickets[-1] if tickets else None
        anew = put.number != self._tellings[by][-1][0]
        return self._speaker.last if anew else None
