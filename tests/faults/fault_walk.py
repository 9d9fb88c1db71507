"""A short walk, typed and with sounds, through the real session into a real record file.

Everything is real but the clock, which passes a second with each call.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from unittest import mock

import numpy as np

from voicewalk.card.load import load_card
from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.hearing.typed import read_typed
from voicewalk.language.build import phrase_graph
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.clip import Clip, encode_clip
from voicewalk.record.file import RecordReader
from voicewalk.record.verify import verify
from voicewalk.session import opening
from voicewalk.session.equipment import Equipment
from voicewalk.session.events import Event, Kept, NotKept, Observer, Said
from voicewalk.session.loop import Loop, input_of
from voicewalk.session.speaking import Speaker
from voicewalk.session.walking import Outcome, run
from voicewalk.voice.wording import Wording
from voicewalk.walk.messages import Json, RemarkSpoken

CARD = load_card(Path(__file__).with_name("short.yaml"))
VOCABULARY = vocabulary_of(CARD)
GRAPH = phrase_graph(CARD, VOCABULARY)
WORDING = Wording("en")

CALLS = (
    "casing satisfactory",
    "left hose satisfactory",
    "correction left hose cracked",
    "remark",
    "seen in poor light",
    "right hose satisfactory",
    "supply pressure three zero psi",
    "walkaround complete",
)
WITH_SOUND = ("casing satisfactory", "seen in poor light", "right hose satisfactory")


def sound_of(words: str) -> Clip:
    """A sound of its own for each call: a tenth of a second, another tone."""
    time = np.arange(1600, dtype=np.float32) / 16_000
    return encode_clip(0.3 * np.sin(time * np.float32(100 * len(words))))


SOUNDS = {words: sound_of(words) for words in WITH_SOUND}


class Clock:
    """Both clocks, together; they stand still until they are set."""

    def __init__(self) -> None:
        self._ms = 0

    def __call__(self) -> Instant:
        wall = datetime(2031, 4, 2, tzinfo=UTC) + timedelta(milliseconds=self._ms)
        return Instant(wall.isoformat(timespec="milliseconds").replace("+00:00", "Z"), self._ms)

    def pass_seconds(self, seconds: float) -> None:
        self._ms += round(seconds * 1000)

    def seconds(self) -> float:
        return self._ms / 1000


@dataclass
class Seen:
    """What somebody saw who looked on.

    Attributes:
        outcome: how the walk ended; ``None`` where it could not be begun.
        refused: why it could not.
    """

    events: list[Event] = field(default_factory=list)
    outcome: Outcome | None = None
    refused: str = ""

    def of(self, kind: type) -> list:
        return [event for event in self.events if isinstance(event, kind)]

    @property
    def told(self) -> set[int]:
        """Numbers of the entries that were told as recorded."""
        return {event.seq for event in self.of(Kept)}

    @property
    def prompts(self) -> list[str]:
        return [event.prompt for event in self.of(Said)]


Patience = Callable[[int], None]
"""Called before each call with how many entries and calls wait for the record."""


def walk(
    record: Path,
    *,
    on: bool = False,
    before: Patience = lambda waiting: None,
    observe: Observer = lambda event: None,
) -> Seen:
    """A walk with a new record, or on with one; to its end where the record lets it."""
    seen, clock = Seen(), Clock()
    take = partial(_call, clock=clock, before=before)
    equipment = Equipment(take, Speaker(), WORDING, clock.seconds)
    try:
        with _read_once():
            if on:
                opened = opening.resume(record, CARD.path, clock())
            else:
                opened = opening.begin(CARD, "P1", "somebody", record, clock())
    except RecordError as error:
        seen.refused = str(error)
        return seen
    with contextlib.closing(opened.record):
        seen.outcome = run(opened, equipment, [seen.events.append, observe], clock)
    return seen


@contextlib.contextmanager
def _read_once() -> Iterator[None]:
    """Reading card and vocabulary takes ten times as long as the walk, and there are hundreds of
    walks."""
    with (
        mock.patch.object(opening, "load_card", lambda path: CARD),
        mock.patch.object(opening, "vocabulary_of", lambda card: VOCABULARY),
    ):
        yield


def _call(loop: Loop, clock: Clock, before: Patience) -> None:
    """All calls; then so long as something waits for the record, a minute at most."""
    for words in _to_call(loop):
        clock.pass_seconds(1)
        loop.pass_time()
        before(loop.walk.view().waiting)
        _give(loop, words)
    for _ in range(60):
        if loop.finished:
            break
        clock.pass_seconds(1)
        before(loop.walk.view().waiting)
        loop.pass_time()


def _to_call(loop: Loop) -> Iterator[str]:
    for words in CALLS:
        if not loop.finished:
            yield words


def _give(loop: Loop, words: str) -> None:
    clip = SOUNDS.get(words)
    evidence: Json = {"how": "sound", "clip": clip.sha256} if clip else {"how": "typed"}
    if words == "seen in poor light":
        loop.give(RemarkSpoken(words, evidence), clip)
        return
    heard = read_typed(GRAPH, words)
    heard.evidence.clear()
    heard.evidence.update(evidence)
    given = input_of(heard, heard.verdict, heard.evidence)
    assert given is not None
    loop.give(given, clip)


def bodies(record: Path) -> list[Json]:
    """What the record keeps, in order."""
    with RecordReader.open(record) as file:
        return [entry.body for entry in file.entries()]


def faults_of(record: Path, seen: Seen) -> Iterator[str]:
    """What must not be after a walk, whatever went wrong in it."""
    report = verify(record)
    yield from report.findings
    if lost := seen.told - set(range(1, report.entries + 1)):
        yield f"told as recorded and lost: {lost}"
    if seen.of(NotKept) and "not-recorded" not in seen.prompts:
        yield "what failed was not said"
