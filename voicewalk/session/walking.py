"""A whole session: equipment, record and walk put together, run, and taken apart again."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from voicewalk.card.load import FOLDERS, card_path, find, load_card
from voicewalk.card.model import Card
from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record.file import RecordFile
from voicewalk.record.history import History, history
from voicewalk.record.seal import fingerprint
from voicewalk.session.equipment import Calls, Equipment, equip
from voicewalk.session.events import Observer, Trouble
from voicewalk.session.loop import Loop, brief
from voicewalk.session.opening import Opened, begin, resume
from voicewalk.walk.earlier import Earlier
from voicewalk.walk.messages import Input, Interrupted, Say, Start

_SPOKEN = 4
"""So many signs of head and key are spoken: enough to notice another record, and no proof."""

Now = Callable[[], Instant]


@dataclass(frozen=True)
class Outcome:
    """How a session ended.

    Attributes:
        closed: the walk is closed.
        interrupted: it was broken off from the keyboard.
        unkept: entries and calls that the record could not keep.
        seal: the record's head and its recorder's fingerprint in words, to be kept elsewhere.
    """

    card: Card
    record: Path
    closed: bool
    interrupted: bool
    unkept: int
    seal: str

    def lines(self) -> Iterator[str]:
        """What is missing in the record, its seal, where it is, and how to go on."""
        if self.unkept:
            yield f"NOT KEPT: the last {self.unkept} entries or calls may be missing in the record."
        yield self.seal
        if self.closed:
            yield f"The walk is closed. Its record: {self.record}"
            yield f"voicewalk show {self.record}"
            return
        shipped = find(self.card.id, FOLDERS)
        own = "" if shipped and str(shipped) == self.card.path else f"{self.card.path} "
        yield f"The walk is not closed. Go on with: voicewalk walk {own}--resume {self.record}"


def begin_walk(
    card_name: str,
    identity: str,
    inspector: str,
    path: Path | None,
    calls: Calls,
    observers: Iterable[Observer],
    now: Now,
    before: Path | None = None,
    second: str = "",
) -> Outcome:
    """A new walk. The record is made last, so that no fault before it leaves an empty one.

    Args:
        before: a folder of earlier records; what they say of the same thing is told first.

    Raises:
        VoicewalkError: card, vocabulary, equipment, record or folder cannot be used.
    """
    card = load_card(card_path(card_name))
    known = history(before, identity, card, now()) if before else History(Earlier())
    for observer in observers:
        for trouble in known.troubles:
            observer(Trouble(now(), trouble))
    with equip(card, calls, now) as equipment:
        opened = begin(card, identity, inspector, path, now(), known.earlier, second)
        with contextlib.closing(opened.record):
            return run(opened, equipment, observers, now)


def resume_walk(
    path: Path, card_name: str | None, calls: Calls, observers: Iterable[Observer], now: Now
) -> Outcome:
    """Go on with the walk of a record.

    Raises:
        VoicewalkError: as ``begin_walk``, or the record has nothing to go on with.
    """
    opened = resume(path, card_name, now())
    with contextlib.closing(opened.record), equip(opened.card, calls, now) as equipment:
        return run(opened, equipment, observers, now)


def run(opened: Opened, equipment: Equipment, observers: Iterable[Observer], now: Now) -> Outcome:
    """Walk until the walk is closed, no more calls come, or Ctrl-C."""
    loop = Loop(
        opened.walk,
        opened.record,
        equipment.wording,
        equipment.speaker,
        observers,
        now=now,
        seconds=equipment.seconds,
        before=opened.before,
    )
    interrupted = False
    try:
        loop.give(_with_device(opened.first, equipment))
        equipment.take(loop)
    except KeyboardInterrupt:
        interrupted = True
        equipment.speaker.hush()
    record = opened.record
    if loop.finished:
        _speak_seal(record, loop)
    unkept = loop.end()
    return Outcome(opened.card, record.path, loop.finished, interrupted, unkept, _seal(record))


def _with_device(first: Input, equipment: Equipment) -> Input:
    """The input that a run begins with, told in which microphone."""
    if isinstance(first, Start | Interrupted):
        return replace(first, device=equipment.device, rate=equipment.rate)
    return first


def _speak_seal(record: RecordFile, loop: Loop) -> None:
    with contextlib.suppress(RecordError):  # the last lines of the session tell it
        key, head = fingerprint(record.meta().key), record.head()
        loop.say(Say("sealed", {"key": key[:_SPOKEN], "head": head[:_SPOKEN]}))


def _seal(record: RecordFile) -> str:
    try:
        key = fingerprint(record.meta().key)
        return f"Head {record.head()}, recorder's key {key}: note them elsewhere."
    except RecordError as error:  # the disk is gone: what was recorded is told all the same
        return f"Its head cannot be told: {brief(error)}."
