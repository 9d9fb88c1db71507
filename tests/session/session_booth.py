"""What stands in for the world around a session: clock, record, player, ears, keyboard."""

from __future__ import annotations

import threading
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from voicewalk.audio.playback import Played
from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.meaning import Act, Meaning
from voicewalk.record.clip import Clip
from voicewalk.session.events import Event
from voicewalk.session.loop import Loop
from voicewalk.session.speaking import Speaker
from voicewalk.settings import WalkSettings
from voicewalk.voice.synthesis import Speech
from voicewalk.voice.wording import Wording
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import Start


class Clock:
    """Two clocks that stand still until they are set."""

    def __init__(self) -> None:
        self.wall_ms = 0
        self.monotonic_ms = 1_000

    def __call__(self) -> Instant:
        seconds, ms = divmod(self.wall_ms, 1000)
        minutes, seconds = divmod(seconds, 60)
        return Instant(f"2025-01-01T00:{minutes:02}:{seconds:02}.{ms:03}Z", self.monotonic_ms)

    def pass_seconds(self, seconds: float) -> None:
        self.wall_ms += round(seconds * 1000)
        self.monotonic_ms += round(seconds * 1000)

    def seconds(self) -> float:
        return self.monotonic_ms / 1000


class Notebook:
    """A record in memory; ``full`` makes it fail."""

    def __init__(self) -> None:
        self.kept: list[tuple[dict, Clip | None]] = []
        self.at: list[Instant] = []
        self.full = False

    def append(self, body, at, clip=None) -> int:
        if self.full:
            raise RecordError("/media/x.walk: the disk is full (SQLITE_FULL)", "Free some space.")
        self.kept.append((body, clip))
        self.at.append(at)
        return len(self.kept)

    @property
    def kinds(self) -> list[str]:
        return [body["kind"] for body, _ in self.kept]


class Voice:
    """Speaks silence; each text said is remembered."""

    def __init__(self) -> None:
        self.texts: list[str] = []

    def synthesise(self, text: str) -> Speech:
        self.texts.append(text)
        return Speech(np.zeros(16, np.float32), 16_000)


class Headset:
    """A player that plays for as long as the test wants."""

    def __init__(self, ends: Played = Played.ENDED) -> None:
        self.begun = threading.Semaphore(0)
        self.may_end = threading.Semaphore(0)
        self.ends = ends
        self.stopped = self.played = 0

    def play(self, samples, rate) -> Played:
        self.played += 1
        self.begun.release()
        assert self.may_end.acquire(timeout=10), "nobody let the prompt end"
        return Played.STOPPED if self.stopped else self.ends

    def stop(self) -> None:
        self.stopped += 1
        self.may_end.release()

    def close(self) -> None:
        self.may_end.release()


class Onlooker:
    """Remembers all events."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def __call__(self, event: Event) -> None:
        self.events.append(event)

    def of(self, kind: type) -> list:
        return [event for event in self.events if isinstance(event, kind)]


class Ears:
    """Hears what the test says it hears, in order."""

    def __init__(self, heard: Iterable[Heard]) -> None:
        self.to_hear = list(heard)
        self.expected: list = []  # the expectations it was given
        self.clips: list = []

    def hear(self, samples, sound, expectation) -> Heard:
        self.expected.append(expectation)
        self.clips.append(samples)
        return self.to_hear.pop(0)

    def transcribe(self, samples) -> str:
        self.clips.append(samples)
        return "free speech"


SATISFACTORY = Meaning(Act.SATISFACTORY, item="radome")


def heard(meaning: Meaning = SATISFACTORY, verdict: Verdict = Verdict.UNDERSTOOD) -> Heard:
    """A hearing with one candidate."""
    words = f"{meaning.item} {meaning.command or meaning.act}".strip()
    candidates = (Candidate(meaning, words),) if verdict.value in ("understood", "ask back") else ()
    return Heard(verdict, candidates, 0.9, "sound", evidence={"how": "sound"})


def command(name: str) -> Meaning:
    return Meaning(Act.COMMAND, command=name)


def item(name: str) -> Meaning:
    return replace(SATISFACTORY, item=name)


class Booth:
    """A loop with everything around it; the walk has begun."""

    def __init__(self, card, *, voice=None, player=None, position=lambda: 0, live=False) -> None:
        self.clock = Clock()
        self.record = Notebook()
        self.onlooker = Onlooker()
        self.speaker = Speaker(voice, player, position=position, live=live)
        self.loop = Loop(
            Walk(card, WalkSettings()),
            self.record,
            Wording("en"),
            self.speaker,
            [self.onlooker],
            now=self.clock,
            seconds=self.clock.seconds,
        )

    def start(self) -> None:
        self.loop.give(Start("M07", "somebody"))

    @property
    def prompts(self) -> list[str]:
        from voicewalk.session.events import Said

        return [event.prompt for event in self.onlooker.of(Said)]
