"""The transition table: in which state what is understood, and where it leads.

It reads as the specification of the walk; the diagram in docs/walk.md is drawn from it. A row
says which handler decides, and every state that may follow once its entries are kept. What is
not in the table is a wrong call order of the program.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from voicewalk.language.meaning import NO_CALL, Act, Command, Meaning
from voicewalk.walk import commands, early, handover, interruptions, second_person, spoken
from voicewalk.walk import handlers as do
from voicewalk.walk.entries import Commanded
from voicewalk.walk.handlers import Said, Step
from voicewalk.walk.memory import Memory, WalkState
from voicewalk.walk.messages import (
    SECOND,
    Call,
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Input,
    Interrupted,
    RemarkSpoken,
    SoundLost,
    Start,
    Tick,
    Unclear,
)
from voicewalk.walk.questions import Question
from voicewalk.walk.second_chance import picked
from voicewalk.walk.terms import Accepted, Utterance


class Cue(StrEnum):
    """What an input is to the table."""

    START = "start"
    RESULT = "a result"
    ITEM = "an item named"
    SIDE = "a side"
    WHICH = "which call it was"
    UNCLEAR = "an unclear call"
    REMARK_SPOKEN = "a remark spoken"
    AFFIRM = "affirm"
    NEGATIVE = "negative"
    CORRECTION = "correction"
    DISREGARD = "disregard"
    SAY_AGAIN = "say again"
    STAND_BY = "stand by"
    GOING_ON = "going on"
    NEXT = "next"
    WHERE = "where are we"
    WHAT_IS_OPEN = "what is open"
    REMARK = "remark"
    CLOSE = "walkaround complete"
    STOP = "stop"
    HAND_OVER = "hand over"
    IDENTITY = "an identity"
    ACKNOWLEDGED = "roger"
    NO_CALL = "what is no call"
    STOOD_BY = "standing by too long"
    SILENT = "saying nothing too long"
    SILENCE = "silence"
    SILENCE_AGAIN = "silence again"
    SECOND = "the second person"
    SECOND_SILENCE = "the second person's silence"
    SECOND_SILENCE_AGAIN = "the second person's silence again"
    INTERRUPTED = "interrupted"
    CLOCK_STEPPED = "clock stepped"
    DEVICE_LOST = "device lost"
    DEVICE_BACK = "device back"
    SOUND_LOST = "sound lost"


@dataclass(frozen=True, slots=True)
class Row:
    """The right-hand side: who decides, and the states that may follow."""

    handler: Callable[[Memory, Any], Step]
    to: frozenset[WalkState]


def _row(handler: Callable[[Memory, Any], Step], *to: WalkState) -> Row:
    return Row(handler, frozenset(to))


def react(memory: Memory, given: Input) -> Step | None:
    """What follows from ``given``; ``None`` for a timer of a question that is no more."""
    cue = cue_of(memory, given)
    if cue is None:
        return None
    if early.is_early(given):
        if isinstance(given, Call) and (says := early.too_soon(memory, given)):
            return Step(say=says)
        if cue in _ALONE and memory.state in (WALKING, ASKING):
            memory = early.alone(memory)
    return row(memory.state, cue).handler(memory, _said(given))


def row(state: WalkState, cue: Cue) -> Row:
    """The row of the table. ``RuntimeError`` where there is none."""
    if (state, cue) not in TABLE:
        raise RuntimeError(f"'{cue}' in the state '{state}': wrong order of calls")
    return TABLE[state, cue]


def cue_of(memory: Memory, given: Input) -> Cue | None:
    """What ``given`` is to the table; ``None`` for a timer of no pending question."""
    if isinstance(given, Call) and given.meaning.act in NO_CALL:
        return Cue.NO_CALL
    if isinstance(given, Call | Unclear) and given.by == SECOND:
        return Cue.SECOND
    if isinstance(given, Call):
        asking = memory.state is WalkState.ASKING and not early.is_early(given)
        which = asking and picked(memory, given.meaning)
        return Cue.WHICH if which else _cue_of_meaning(given.meaning)
    if isinstance(given, Tick):
        asked = memory.asked
        timers = {asked.timer: Cue.SILENCE, asked.last_timer: Cue.SILENCE_AGAIN} if asked else {}
        first, last = second_person.timers(memory)
        timers |= {first: Cue.SECOND_SILENCE, last: Cue.SECOND_SILENCE_AGAIN} if first else {}
        if memory.phase is WalkState.STANDING_BY and not memory.identify:
            timers[memory.stand_by_timer] = Cue.STOOD_BY
        if memory.state is WalkState.WALKING:
            timers[memory.silence_timer] = Cue.SILENT
        return timers.get(given.timer)
    return _CUES[type(given)]


def _cue_of_meaning(meaning: Meaning) -> Cue:
    match meaning.act:
        case Act.COMMAND:
            return Cue(meaning.command)
        case Act.ITEM:
            return Cue.ITEM
        case Act.SIDE:
            return Cue.SIDE
        case Act.CHOICE:
            return Cue.WHICH
        case Act.IDENTITY:
            return Cue.IDENTITY
        case Act.ACKNOWLEDGED:
            return Cue.ACKNOWLEDGED
        case _:
            return Cue.RESULT


def _said(given: Input) -> Input | Said:
    """The inspector's calls go to the handlers with what they mean, other inputs as they are."""
    if not isinstance(given, Call) or given.by == SECOND:
        return given
    typed = given.heard.get("how") == "typed"
    accepted = Accepted.TYPED if typed else Accepted.UNDERSTOOD
    return Said(Utterance(given.meaning, given.words), accepted, given)


def affirmed(memory: Memory, said: Said) -> Step:
    """The call that was read back is handled as confirmed, in the place of "affirm"."""
    asked = memory.asked
    meant = asked and asked.affirmable
    if asked and meant:
        return _in_its_place(memory, asked, replace(said, call=meant, accepted=Accepted.CONFIRMED))
    two = asked and len(asked.calls) > 1
    return Step(say=spoken.affirmed_neither(memory)) if two else do.ask_again(memory, said)


def chosen(memory: Memory, said: Said) -> Step:
    """The call that the answer tells is handled in the place of the answer."""
    asked, call = memory.asked, picked(memory, said.meaning)
    if asked is None or call is None:
        return do.ask_again(memory, said)
    whole = said.meaning == call.meaning
    accepted = said.accepted if whole else Accepted.CHOSEN
    return _in_its_place(memory, asked, replace(said, call=call, accepted=accepted))


def _in_its_place(memory: Memory, asked: Question, said: Said) -> Step:
    """The call asked about, in the place of the answer."""
    said = replace(said, answers=(*said.answers, asked.seq))
    cue = _cue_of_meaning(said.meaning)
    if cue in (Cue.RESULT, Cue.ITEM):
        return do.call(memory, said)
    left = replace(memory, questions=memory.questions[:-1])
    step = row(left.state, cue).handler(left, said)
    affirm = said.entry(Commanded(Command.AFFIRM.value))
    return step if step.keep else replace(step, keep=(affirm,))


_CUES: dict[type[Input], Cue] = {
    Start: Cue.START,
    Unclear: Cue.UNCLEAR,
    RemarkSpoken: Cue.REMARK_SPOKEN,
    Interrupted: Cue.INTERRUPTED,
    ClockStepped: Cue.CLOCK_STEPPED,
    DeviceLost: Cue.DEVICE_LOST,
    DeviceBack: Cue.DEVICE_BACK,
    SoundLost: Cue.SOUND_LOST,
}

NEW, WALKING, ASKING, ACKNOWLEDGING, STANDING_BY, CLOSED = WalkState

_ON = (WALKING, ASKING, ACKNOWLEDGING)
_CALLED = (
    *(Cue.RESULT, Cue.ITEM, Cue.SIDE, Cue.WHICH, Cue.UNCLEAR, Cue.REMARK_SPOKEN, Cue.IDENTITY),
    *(Cue.ACKNOWLEDGED, Cue.NO_CALL),
    *map(Cue, Command),
)
"""What may come from the caller."""

_ALONE = (Cue.RESULT, Cue.ITEM, Cue.UNCLEAR)
"""What stays a call of its own where it began before the question was told."""

TABLE: dict[tuple[WalkState, Cue], Row] = {
    (NEW, Cue.START): _row(do.start, WALKING, ACKNOWLEDGING, STANDING_BY),
    # --- walking: no question is pending
    (WALKING, Cue.RESULT): _row(do.call, WALKING, ASKING),
    (WALKING, Cue.ITEM): _row(do.call, WALKING, ASKING),
    (WALKING, Cue.SIDE): _row(do.call, WALKING),
    (WALKING, Cue.WHICH): _row(do.nothing_to_answer, WALKING),
    (WALKING, Cue.UNCLEAR): _row(do.unclear, WALKING, ASKING),
    (WALKING, Cue.REMARK): _row(commands.plain_command, ASKING),
    (WALKING, Cue.REMARK_SPOKEN): _row(do.remark_spoken, WALKING),
    (WALKING, Cue.AFFIRM): _row(do.nothing_to_answer, WALKING),
    (WALKING, Cue.NEGATIVE): _row(do.negative_later, WALKING, ASKING),
    (WALKING, Cue.CORRECTION): _row(do.correction, WALKING, ASKING),
    (WALKING, Cue.DISREGARD): _row(do.disregard, WALKING),
    (WALKING, Cue.SAY_AGAIN): _row(commands.say_again, WALKING),
    (WALKING, Cue.STAND_BY): _row(commands.plain_command, STANDING_BY),
    (WALKING, Cue.GOING_ON): _row(commands.going_on_already, WALKING),
    (WALKING, Cue.NEXT): _row(commands.next_item, WALKING),
    (WALKING, Cue.WHERE): _row(commands.where, WALKING),
    (WALKING, Cue.WHAT_IS_OPEN): _row(commands.what_is_open, WALKING),
    (WALKING, Cue.CLOSE): _row(commands.close, WALKING, CLOSED),
    (WALKING, Cue.STOP): _row(do.ignore, WALKING),
    (WALKING, Cue.IDENTITY): _row(do.nothing_to_answer, WALKING),
    (WALKING, Cue.ACKNOWLEDGED): _row(do.ignore, WALKING),
    (WALKING, Cue.NO_CALL): _row(do.no_call, WALKING),
    (WALKING, Cue.HAND_OVER): _row(commands.plain_command, STANDING_BY),
    (WALKING, Cue.SILENT): _row(interruptions.silent, STANDING_BY),
    # --- asking: the question goes before all that leads on
    (ASKING, Cue.RESULT): _row(do.call, WALKING, ASKING),
    (ASKING, Cue.ITEM): _row(do.call, WALKING, ASKING),
    (ASKING, Cue.SIDE): _row(do.call, WALKING, ASKING),
    (ASKING, Cue.WHICH): _row(chosen, WALKING, ASKING, STANDING_BY, CLOSED),
    (ASKING, Cue.UNCLEAR): _row(do.unclear, WALKING, ASKING),
    (ASKING, Cue.REMARK): _row(commands.plain_command, ASKING),
    (ASKING, Cue.REMARK_SPOKEN): _row(do.remark_spoken, WALKING, ASKING),
    (ASKING, Cue.AFFIRM): _row(affirmed, WALKING, ASKING, STANDING_BY, CLOSED),
    (ASKING, Cue.NEGATIVE): _row(do.negative, WALKING, ASKING),
    (ASKING, Cue.CORRECTION): _row(do.correction_of_call, ASKING),
    (ASKING, Cue.DISREGARD): _row(do.disregard_call, WALKING, ASKING),
    (ASKING, Cue.SILENCE): _row(do.silence, ASKING),
    (ASKING, Cue.SILENCE_AGAIN): _row(do.silence_again, WALKING, ASKING),
    (ASKING, Cue.SAY_AGAIN): _row(commands.say_again, ASKING),
    (ASKING, Cue.STAND_BY): _row(commands.plain_command, STANDING_BY),
    (ASKING, Cue.GOING_ON): _row(commands.going_on_already, ASKING),
    (ASKING, Cue.NEXT): _row(do.ask_again, ASKING),
    (ASKING, Cue.WHERE): _row(commands.where, ASKING),
    (ASKING, Cue.WHAT_IS_OPEN): _row(commands.what_is_open, ASKING),
    (ASKING, Cue.CLOSE): _row(do.ask_again, ASKING),
    (ASKING, Cue.STOP): _row(do.ignore, ASKING),
    (ASKING, Cue.IDENTITY): _row(do.nothing_to_answer, ASKING),
    (ASKING, Cue.ACKNOWLEDGED): _row(do.nothing_to_answer, ASKING),
    (ASKING, Cue.NO_CALL): _row(do.no_call, ASKING),
    (ASKING, Cue.HAND_OVER): _row(do.ask_again, ASKING),
    # --- the second person is asked and answers beside the inspector's calls
    **{
        (state, cue): _row(handler, state)
        for state in (WALKING, ASKING)
        for cue, handler in (
            (Cue.SECOND, second_person.answer),
            (Cue.SECOND_SILENCE, second_person.silence),
            (Cue.SECOND_SILENCE_AGAIN, second_person.silence_again),
        )
    },
    # --- acknowledging: what was told goes before all else
    (ACKNOWLEDGING, Cue.SECOND): _row(do.ignore, ACKNOWLEDGING),
    **{(ACKNOWLEDGING, cue): _row(handover.tell_again, ACKNOWLEDGING) for cue in _CALLED},
    (ACKNOWLEDGING, Cue.AFFIRM): _row(handover.acknowledged, ACKNOWLEDGING, WALKING),
    (ACKNOWLEDGING, Cue.STAND_BY): _row(commands.plain_command, STANDING_BY),
    (ACKNOWLEDGING, Cue.REMARK_SPOKEN): _row(do.remark_spoken, ACKNOWLEDGING),
    (ACKNOWLEDGING, Cue.STOP): _row(do.ignore, ACKNOWLEDGING),
    # --- standing by: nothing but "going on" is understood, and after an interruption the identity
    **{(STANDING_BY, cue): _row(do.ignore, STANDING_BY) for cue in Cue if cue is not Cue.START},
    (STANDING_BY, Cue.GOING_ON): _row(interruptions.going_on, *_ON, STANDING_BY),
    (STANDING_BY, Cue.IDENTITY): _row(interruptions.identity, *_ON, STANDING_BY),
    (STANDING_BY, Cue.UNCLEAR): _row(interruptions.ask_identity, STANDING_BY),
    (STANDING_BY, Cue.SAY_AGAIN): _row(interruptions.ask_identity, STANDING_BY),
    (STANDING_BY, Cue.STOOD_BY): _row(interruptions.stood_by, STANDING_BY),
    # --- closed: nothing more is kept
    **{(CLOSED, cue): _row(do.ignore, CLOSED) for cue in Cue if cue is not Cue.START},
    # --- what happens outside is kept in every open state
    (WALKING, Cue.INTERRUPTED): _row(commands.interrupted, WALKING, STANDING_BY),
    (ASKING, Cue.INTERRUPTED): _row(commands.interrupted, ASKING, STANDING_BY),
    (ACKNOWLEDGING, Cue.INTERRUPTED): _row(commands.interrupted, ACKNOWLEDGING, STANDING_BY),
    (STANDING_BY, Cue.INTERRUPTED): _row(commands.interrupted, *_ON, STANDING_BY),
    **{
        (state, cue): _row(handler, state)
        for state in (WALKING, ASKING, ACKNOWLEDGING, STANDING_BY)
        for cue, handler in (
            (Cue.CLOCK_STEPPED, commands.clock_stepped),
            (Cue.DEVICE_LOST, commands.device_lost),
            (Cue.DEVICE_BACK, commands.device_back),
            (Cue.SOUND_LOST, commands.sound_lost),
        )
    },
}
