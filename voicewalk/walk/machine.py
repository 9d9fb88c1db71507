"""The walk machine: inputs in, effects out; one entry at a time, and nothing told before it
is kept.

Pure: no clock, no chance, no input or output. What follows from an input is ``table``'s; this
module only keeps the order. While the record has not answered for an entry, further inputs
wait: none is lost, none goes before another.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable
from dataclasses import replace

from voicewalk.card.model import Card
from voicewalk.language.meaning import Command
from voicewalk.settings import WalkSettings
from voicewalk.walk import early, second_person, second_spoken, telling
from voicewalk.walk.entries import Closed, Commanded, Entry, What
from voicewalk.walk.handlers import Step
from voicewalk.walk.memory import WalkState, evolve, fresh
from voicewalk.walk.messages import (
    Append,
    Appended,
    AppendFailed,
    Call,
    Effect,
    Finished,
    Input,
    Interrupted,
    Listen,
    Put,
    RemarkSpoken,
    Say,
    SetTimer,
    Spoken,
    Tick,
    Unclear,
)
from voicewalk.walk.table import react
from voicewalk.walk.terms import Ask
from voicewalk.walk.view import WalkView, view
from voicewalk.walk.words import Words

APPEND_TIMER = "append"


class Walk:
    """One walkaround.

    Attributes:
        memory: all that the walk knows; it changes only when the record has kept an entry.
    """

    def __init__(self, card: Card, settings: WalkSettings, words: Words | None = None) -> None:
        """A walk of ``card`` that has not begun, read back in ``words``."""
        self.memory = fresh(card, settings, words or Words())
        self._settings = settings
        self._to_keep: deque[Entry] = deque()
        self._handed = False  # the first of them is with the record
        self._say_then: tuple[Say, ...] = ()
        self._waiting: deque[Input] = deque()
        self._failure = ""
        self._asked = 0  # number of the entry that the second person was asked about last
        self._put, self._second_put = Put(), Put()
        self._what: Hashable = None  # what the inspector's answers may refer to

    def receive(self, given: Input) -> tuple[Effect, ...]:
        """What is to be done because of ``given``, in this order.

        Raises:
            RuntimeError: for an input that cannot come now, such as an answer of the record
                that nothing was handed to.
        """
        match given:
            case Spoken():
                return ()
            case Appended(seq):
                return self._kept(seq)
            case AppendFailed(reason):
                return self._not_kept(reason)
            case Tick(timer) if timer == APPEND_TIMER:
                return self._append() if self._to_keep and not self._handed else ()
        if self._to_keep:
            return self._wait(given)
        given = early.heeded(given, self._put.number, self._second_put.number)
        step = react(self.memory, given)
        return () if step is None else self._take(step)

    # --- one entry at a time ---------------------------------------------------------------

    def _take(self, step: Step) -> tuple[Effect, ...]:
        if not step.keep:
            return (*self._say(step.say), *self._floor(step.again, step.second_again))
        self._to_keep.extend(step.keep)
        self._say_then = step.say
        return self._append()

    def _append(self) -> tuple[Effect, ...]:
        self._handed = True
        return (Append(self._to_keep[0].body()),)

    def _wait(self, given: Input) -> tuple[Effect, ...]:
        """Behind the entry that the record has not kept yet."""
        match given:
            case Tick(timer) if timer != self.memory.stand_by_timer:
                return ()  # the timer is set again with what follows
            case Interrupted() if not self._handed:
                self._waiting.append(given)
                return self._append()
            case Call(meaning) if meaning.command == Command.STOP:
                return self._floor()
        self._waiting.append(given)
        if self._failure and isinstance(given, Call | Unclear | RemarkSpoken):
            return (*self._say((self._not_recorded(),)), *self._floor())
        return self._floor()

    def _kept(self, seq: int) -> tuple[Effect, ...]:
        if not self._handed or seq <= self.memory.seq:
            raise RuntimeError(f"entry {seq} kept out of order (last: {self.memory.seq})")
        self._handed = False
        entry = self._to_keep.popleft()
        self.memory = evolve(self.memory, seq, entry)
        self._ask_anew(seq)
        says = [Say("recording-again")] if self._failure else []
        self._failure = ""
        says += telling.told(self.memory, entry.what)
        if self._to_keep:
            return (*self._say(tuple(says)), *self._append())
        says += self._second(entry.what)
        says += self._say_then or telling.follow_up(self.memory, entry.what)
        ends = (Finished(),) if isinstance(entry.what, Closed) else ()
        timers = self._stand_by_timer(entry)
        if self.memory.state is WalkState.WALKING and self._put.number == seq:
            # No question, but what was said names the item or the entry that an answer is about.
            self._put = Put(seq, tuple(says))
        return (*self._say(tuple(says)), *ends, *timers, *self._floor(), *self._next_waiting())

    def _ask_anew(self, seq: int) -> None:
        """Number what is asked by the entry that it was asked with."""
        if (what := early.what(self.memory)) != self._what:
            self._what, self._put = what, Put(seq)
        if early.what_second(self.memory) != self._asked:
            self._second_put = Put(seq)

    def _second(self, what: What) -> tuple[Say, ...]:
        """The second person is asked: once about each entry, and anew where it says so."""
        one = second_person.asked(self.memory)
        put, self._asked = self._asked, one.seq if one else 0
        if one is None or (one.seq == put and not second_spoken.asks_anew(self.memory, what)):
            return ()
        return (second_spoken.question(self.memory, one),)

    def _stand_by_timer(self, entry: Entry) -> tuple[SetTimer, ...]:
        seconds = self.memory.card.stand_by_seconds
        stands = isinstance(entry.what, Commanded) and entry.what.command == Command.STAND_BY
        return (SetTimer(self.memory.stand_by_timer, seconds),) if seconds and stands else ()

    def _silence_timer(self) -> tuple[SetTimer, ...]:
        seconds = self.memory.card.silent_seconds
        waits = self.memory.state is WalkState.WALKING
        return (SetTimer(self.memory.silence_timer, seconds),) if seconds and waits else ()

    def _next_waiting(self) -> tuple[Effect, ...]:
        effects: list[Effect] = []
        while self._waiting and not self._to_keep:
            effects += self.receive(self._waiting.popleft())
        return tuple(effects)

    def _not_kept(self, reason: str) -> tuple[Effect, ...]:
        if not self._handed:
            raise RuntimeError("no entry was handed to the record")
        self._handed = False
        first = not self._failure
        self._failure = reason or "unknown"
        says = self._say((self._not_recorded(),)) if first else ()
        timer = SetTimer(APPEND_TIMER, self._settings.append_seconds)
        return (*says, timer, *self._floor())

    def _not_recorded(self) -> Say:
        return Say("not-recorded", {"reason": self._failure})

    # --- speaking and listening ------------------------------------------------------------

    def _say(self, says: tuple[Say, ...]) -> tuple[Say, ...]:
        if says:
            self.memory = replace(self.memory, said=says)
        return says

    def _floor(self, again: bool = False, second_again: bool = False) -> tuple[Effect, ...]:
        """The callers' turn: what is listened for, and the timers of pending questions."""
        memory = self.memory
        if memory.state in (WalkState.NEW, WalkState.CLOSED):
            return ()
        asked = memory.asked if memory.state is WalkState.ASKING else None
        listen = Listen(
            memory.expectation(),
            remark=asked is not None and asked.ask is Ask.REMARK,
            second=second_person.expectation(memory),
            put=replace(self._put, says=(*early.question(memory), *self._put.says)),
            second_put=replace(self._second_put, says=second_spoken.asked(memory)),
        )
        first = asked and (asked.last_timer if again else asked.timer)
        names = (first, second_person.timers(memory)[second_again])
        timers = (SetTimer(name, self._settings.question_seconds) for name in names if name)
        return (listen, *timers, *(() if asked else self._silence_timer()))

    def view(self) -> WalkView:
        """A picture of the walk, for the terminal and the summary."""
        return view(self.memory, waiting=len(self._to_keep) + len(self._waiting))
