"""Joins the rooms around one walk: what it wishes is done, what comes of it is told to it.

Entries go to the record with their sound, prompts to the voice, and the answers of both back to
the walk; failures of either are inputs like any other. Where calls come from is
``session.sounds`` and ``session.keyboard``; what onlookers see is ``session.events``.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Protocol

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.language.meaning import Expectation
from voicewalk.record.body import clip_of
from voicewalk.record.clip import Clip
from voicewalk.session.asking import Asking
from voicewalk.session.clocks import EARLIEST, earlier, step_ms
from voicewalk.session.events import Event, Kept, NotKept, Observer, Said
from voicewalk.session.speaking import Speaker
from voicewalk.settings import SessionSettings
from voicewalk.voice.wording import Wording
from voicewalk.walk.machine import APPEND_TIMER, Walk
from voicewalk.walk.messages import (
    INSPECTOR,
    Append,
    Appended,
    AppendFailed,
    Call,
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Effect,
    Finished,
    Input,
    Interrupted,
    Json,
    Listen,
    RemarkSpoken,
    Say,
    SetTimer,
    Spoken,
    Start,
    Tick,
    Unclear,
)


class Keeper(Protocol):
    """What keeps entries; ``record.file.RecordFile`` does."""

    def append(self, body: Json, at: Instant, clip: Clip | None = None) -> int:
        """Keep an entry and its sound, both or neither. Raises ``RecordError``."""


class Loop:
    """One session of one walk.

    Args:
        now: reads both clocks.
        seconds: the clock of the timers; it may be one that stands still between calls.
        before: when the record's last entry was kept, with the boot of that time.

    Attributes:
        listen: what the walk would understand now.
        finished: the walk is closed.
        marks: kept with each call besides how it was heard or typed.
    """

    def __init__(
        self,
        walk: Walk,
        record: Keeper,
        wording: Wording,
        speaker: Speaker,
        observers: Iterable[Observer] = (),
        *,
        now: Callable[[], Instant],
        seconds: Callable[[], float],
        before: Instant | None = None,
        settings: SessionSettings | None = None,
    ) -> None:
        self.walk = walk
        self.now = now
        self.speaker = speaker
        self.listen = Listen(Expectation())
        self.finished = False
        self.marks: Json = {}
        self._record = record
        self._wording = wording
        self._observers = tuple(observers)
        self._seconds = seconds
        self._settings = settings or SessionSettings()
        self._timers: dict[str, float] = {}
        self._clips: dict[str, Clip] = {}
        self._asking = Asking(speaker, self._settings)
        self._clocks = before or EARLIEST  # when the last entry was kept
        self._kept: Json = {}
        self._kept_at = self._clocks
        self._ago_ms = 0  # how long since what is being given happened
        self._mute = False  # the last prompt could not be heard
        self._try_at = 0.0  # when it is tried again whether one can be

    def tell(self, event: Event) -> None:
        """Show ``event`` to everybody who looks on."""
        for observer in self._observers:
            observer(event)

    def give(self, given: Input, clip: Clip | None = None, ago: float = 0.0) -> None:
        """Something happened outside.

        Args:
            clip: the sound that ``given`` was heard in.
            ago: seconds since it happened: its entries have that time, in the order that they
                are kept in.
        """
        if clip is not None:
            self._clips[clip.sha256] = clip
        stepped = self._clock_step()
        inputs: list[Input] = [ClockStepped(stepped)] if stepped else []
        # Nothing can be kept before a walk has begun, nor told before it goes on.
        if isinstance(given, Call | Unclear | RemarkSpoken):
            given = replace(given, heard={**given.heard, **self.marks})
        inputs.insert(0 if isinstance(given, Start | Interrupted) else len(inputs), given)
        for one in inputs:
            self._ago_ms = round(ago * 1000) if one is given else 0
            self._process(one)
        self._ago_ms = 0
        if not self.walk.view().waiting:
            self._clips.clear()  # what no entry has named by now, none will
        self._heed_speaker()

    def pass_time(self) -> None:
        """Heed prompts that have ended and timers that have run out. To be called often."""
        self._heed_speaker()
        if self._mute and self._seconds() >= self._try_at:
            self._try_at = self._seconds() + self._settings.mute_seconds
            self.speaker.try_again()
        due = [timer for timer, at in self._timers.items() if at <= self._seconds()]
        for timer in due:
            del self._timers[timer]
            self._process(Tick(timer))
        self._heed_speaker()

    def told(self, by: str, sample: int) -> int:
        """What ``by`` had been asked last when ``sample`` was captured: ``asked`` of a call that
        began there."""
        return self._asking.told(by, sample)

    def seconds_left(self) -> float | None:
        """How long until the next timer runs out; ``None`` where none is set."""
        if not self._timers:
            return None
        return max(0.0, min(self._timers.values()) - self._seconds())

    def end(self) -> int:
        """Let the tool finish speaking. Returns how many entries and calls could not be kept,
        after a last try."""
        if self.walk.view().waiting:
            self._process(Tick(APPEND_TIMER))
        self.speaker.finish()
        return self.walk.view().waiting

    # --- inputs and effects ----------------------------------------------------------------

    def _process(self, given: Input) -> None:
        inputs = deque([given])
        while inputs:
            answer = inputs.popleft()
            effects = self.walk.receive(answer)
            if isinstance(answer, Appended):
                self._tell_kept(answer.seq)
            for effect in effects:
                inputs.extend(self._carry_out(effect))

    def _carry_out(self, effect: Effect) -> Iterator[Input]:
        match effect:
            case Append(body):
                yield self._append(body)
            case Say():
                self.say(effect)
            case Listen():
                self.listen = effect
                self._asking.listen(effect)
            case SetTimer(timer, seconds):
                self._timers[timer] = self._seconds() + seconds
            case Finished():
                self.finished = True

    def _append(self, body: Json) -> Input:
        at = earlier(self.now(), self._ago_ms, self._clocks)
        try:
            seq = self._record.append(body, at, self._clips.get(clip_of(body)))
        except RecordError as error:
            reason = brief(error)
            self.tell(NotKept(at, reason))
            return AppendFailed(reason)
        self._clocks = self._kept_at = at
        self._kept = body
        return Appended(seq)

    def _tell_kept(self, seq: int) -> None:
        memory = self.walk.memory
        still_open = len(memory.ledger.open)
        self.tell(Kept(self._kept_at, seq, self._kept, len(memory.card) - still_open, still_open))

    def say(self, say: Say) -> None:
        """Show a message, and speak it after those before it."""
        text = self._wording.text(say)
        self.tell(Said(self.now(), say.prompt, text))
        self._asking.say(say, self.speaker.say(say.prompt, text))

    def _heed_speaker(self) -> None:
        for prompt, trouble in self.speaker.ended():
            self._process(Spoken(prompt))
            if bool(trouble) != self._mute:
                self._mute = bool(trouble)
                self._process(DeviceLost(trouble) if trouble else DeviceBack())

    def _clock_step(self) -> int:
        """Milliseconds by which the wall clock was set since the last entry; 0 for none."""
        now = self.now()
        step = step_ms(self._clocks, now)
        if abs(step) <= self._settings.clock_step_seconds * 1000:
            return 0
        self._clocks = now
        return step


def brief(error: RecordError) -> str:
    """Why an entry was not kept, fit to be spoken: without path and technical detail."""
    return str(error.args[0]).rpartition(": ")[2].partition(" (")[0]


def input_of(
    heard: Heard,
    verdict: Verdict,
    evidence: Json,
    by: str = INSPECTOR,
    asked: int | None = None,
) -> Input | None:
    """What a hearing of ``by`` is to the walk; ``None`` for what is not for the tool. ``asked`` as
    in ``Call``."""
    candidates = tuple((one.meaning, one.words) for one in heard.candidates)
    match verdict:
        case Verdict.UNDERSTOOD:
            return Call(*candidates[0], evidence, by, asked)
        case Verdict.ASK:
            return Unclear(candidates, evidence, by, asked)
        case Verdict.UNCLEAR:
            return Unclear((), evidence, by, asked)
        case Verdict.OUTSIDE:
            return None
