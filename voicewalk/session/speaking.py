"""Speaks the tool's prompts, and knows when it spoke: what is heard meanwhile is no call.

What is said is the walk's, how it is worded and how it sounds is ``voice``'s. Here a voice and
a player are joined: with a microphone in a thread of its own, so that "stop" is heard while the
tool speaks; otherwise at once, so that everything is in order without waiting.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait

import numpy as np

from voicewalk.audio.frames import RATE
from voicewalk.audio.playback import Played, Player, SilentPlayer
from voicewalk.errors import VoicewalkError
from voicewalk.settings import SessionSettings
from voicewalk.voice.synthesis import Synthesiser

_HUSH_SECONDS = 0.05
"""How soon a prompt is stopped once more that had not begun at the first time."""


class Speaker:
    """Speaks one prompt after the other.

    Args:
        voice: ``None`` for a tool that only shows what it says.
        position: how many samples the source of the calls has captured.
        live: the calls come from a microphone, so time passes while the tool speaks.

    Attributes:
        last: the ticket of what was said last, 0 before anything.
    """

    def __init__(
        self,
        voice: Synthesiser | None = None,
        player: Player | None = None,
        *,
        position: Callable[[], int] = lambda: 0,
        live: bool = False,
        settings: SessionSettings | None = None,
    ) -> None:
        self._voice = voice
        self._player = player or SilentPlayer()
        self._position = position
        self._thread = ThreadPoolExecutor(1, "speaking") if live else None
        self._said: deque[tuple[str, Future[str]]] = deque()
        remembered = (settings or SessionSettings()).prompts_remembered
        self._spans: deque[tuple[int, int | None]] = deque(maxlen=remembered)
        self._told: dict[int, int] = {}  # by ticket
        self._told_kept = 4 * (settings or SessionSettings()).questions_remembered
        self._guard = threading.Lock()
        self._stops = 0
        self.last = 0
        self._hushed = False

    def follow(self, position: Callable[[], int]) -> None:
        """Take the time from another source: as the argument of that name."""
        self._position = position

    def say(self, prompt: str, text: str) -> int:
        """Speak ``text`` behind what is being spoken; ``ended`` tells of it.

        Returns:
            The ticket of ``told``, each one more than the last.
        """
        self.last += 1
        if self._thread is not None:
            future = self._thread.submit(self._speak, text, self._stops, self.last)
        else:
            future = Future()
            future.set_result(self._speak(text, self._stops, self.last))
        self._said.append((prompt, future))
        return self.last

    def told(self, ticket: int) -> int | None:
        """At which sample a message was put to the loudspeaker, or shown where there is none;
        ``None`` where it was not: it waits still, was dropped, or the headset was gone."""
        with self._guard:
            return self._told.get(ticket)

    def ended(self) -> Iterator[tuple[str, str]]:
        """Each prompt that has ended since, with what went wrong ("" for nothing)."""
        while self._said and self._said[0][1].done():
            prompt, future = self._said.popleft()
            yield prompt, future.result()

    def try_again(self) -> None:
        """Try whether the headset is there, with a moment of silence, unless something is still to
        be spoken; ``ended`` tells, of the prompt ""."""
        if self._thread is not None and not self.speaking:
            self._said.append(("", self._thread.submit(self._try)))

    @property
    def speaking(self) -> bool:
        """Whether something is still to be spoken."""
        return any(not future.done() for _, future in self._said)

    def spoke(self, start: int, end: int) -> bool:
        """Whether the tool spoke while the samples from ``start`` to ``end`` were captured."""
        with self._guard:
            spans = [(begun, end if ended is None else ended) for begun, ended in self._spans]
        return any(begun < min(end, ended) and start < ended for begun, ended in spans)

    def stop(self) -> None:
        """Fall silent: what is being spoken ends, what waits is dropped."""
        self._stops += 1
        self._player.stop()

    def hush(self) -> None:
        """Fall silent for good: whatever is still said is not spoken."""
        self._hushed = True
        self.stop()

    def finish(self) -> None:
        """Wait until everything is spoken."""
        for _, future in self._said:
            while not wait([future], _HUSH_SECONDS if self._hushed else None).done:
                self._player.stop()  # it may have begun just after it was stopped

    def close(self) -> None:
        """Fall silent and give the player back."""
        self.hush()
        self.finish()
        if self._thread is not None:
            self._thread.shutdown(cancel_futures=True)
        self._player.close()

    def _speak(self, text: str, stops: int, ticket: int) -> str:
        if self._voice is None:
            self._note(ticket)
            return ""
        if self._silenced(stops):
            return ""
        try:
            speech = self._voice.synthesise(text)
        except VoicewalkError as error:
            return str(error.args[0])
        if self._silenced(stops):
            return ""  # it was stopped while it was made
        self._note(ticket)
        with self._guard:
            self._spans.append((self._told[ticket], None))
        played = self._player.play(speech.samples, speech.rate)
        with self._guard:
            self._spans.append((self._spans.pop()[0], self._position()))
            if played is Played.LOST:
                del self._told[ticket]
        return _trouble(played)

    def _note(self, ticket: int) -> None:
        with self._guard:
            self._told[ticket] = self._position()
            self._told.pop(ticket - self._told_kept, None)

    def _silenced(self, stops: int) -> bool:
        return self._hushed or stops != self._stops

    def _try(self) -> str:
        if self._hushed:
            return ""
        return _trouble(self._player.play(np.zeros(RATE // 10, np.float32), RATE))


def _trouble(played: Played) -> str:
    return "the headset is gone" if played is Played.LOST else ""
