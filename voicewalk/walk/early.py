"""Answers that began before their question was told: which they are, and what follows. Pure.

A question is told when it is put to the loudspeaker, which on a busy machine is later than the
walk asks it. Whoever says "affirm" before that answers something else, or nothing. So every call
names what had been told when it began; a call that began under something else is heard as though
nothing were asked, and where it is an answer, the question is put again.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace

from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk.memory import Memory, WalkState
from voicewalk.walk.messages import SECOND, Call, Input, Json, Say, Unclear
from voicewalk.walk.questions import is_bare
from voicewalk.walk.readback import recorded
from voicewalk.walk.second_entry import Confirmation
from voicewalk.walk.second_person import OPENS, answer
from voicewalk.walk.second_person import asked as asked_of_second
from voicewalk.walk.second_spoken import asked as question_to_second
from voicewalk.walk.spoken import pending
from voicewalk.walk.whereabouts import awaited, item_asked_for, notice

EARLY = "early"
"""The evidence of a call that began before what is asked now was told has this, and it is true.
It is kept with the call, so that the record can be played again."""

TOO_SOON = Say("asked-too-late")

_ANSWERS = (Command.AFFIRM, Command.NEGATIVE)
_OF_THE_CALL_ASKED_ABOUT = (Command.CORRECTION, Command.DISREGARD)


def is_early(given: Input) -> bool:
    """Whether a call began before what is asked now was told."""
    return isinstance(given, Call | Unclear) and given.heard.get(EARLY) is True


def heeded(given: Input, put: int, second_put: int) -> Input:
    """The input as it is to be handled, early where it is so.

    Args:
        put: number of what the inspector is asked just now; ``second_put``: the second person.
    """
    if not isinstance(given, Call | Unclear) or given.asked is None:
        return given
    early = given.asked != (second_put if given.by == SECOND else put)
    marks: Json = {EARLY: True} if early else {}
    return replace(given, heard={**given.heard, **marks}, asked=None)


def what(memory: Memory) -> Hashable:
    """All that an answer of the inspector's may refer to just now. It is asked anew whenever
    this changes: the same question that comes back from beneath another one too."""
    if memory.phase is not WalkState.WALKING:
        return (memory.phase, memory.identify, memory.handing)
    if memory.notices:
        return len(memory.notices)
    latest = memory.ledger.latest
    numbers = [one.seq if one else 0 for one in (memory.asked, memory.tried, latest)]
    return (memory.current, *numbers)


def what_second(memory: Memory) -> int:
    """The entry that the second person is asked about, 0 for none."""
    one = asked_of_second(memory)
    return one.seq if one else 0


def question(memory: Memory) -> tuple[Say, ...]:
    """What puts to the inspector again what an answer would refer to."""
    if memory.phase is not WalkState.WALKING:
        return awaited(memory)
    if memory.notices:
        return notice(memory)
    if memory.asked:
        return pending(memory)
    if memory.current:
        return item_asked_for(memory)
    if memory.tried:
        return (Say("ask-again"),)
    latest = memory.ledger.latest
    return (recorded(memory, latest.entered),) if latest else ()


def too_soon(memory: Memory, given: Call) -> tuple[Say, ...]:
    """What is said of an early answer, of either person; nothing where it is no answer."""
    if given.by == SECOND:
        if memory.state not in (WalkState.WALKING, WalkState.ASKING) or _opens(memory, given):
            return ()
        put = question_to_second(memory) or (Say("nothing-to-answer"),)
    else:
        put = question(memory) if _answers(memory, given.meaning) else ()
    return (TOO_SOON, *put) if put else ()


def _opens(memory: Memory, given: Call) -> bool:
    """Whether the second person names an item and says another thing of it: it is open again,
    asked for or not."""
    keep = answer(memory, given).keep if given.meaning.item else ()
    found = (entry.what for entry in keep)
    return any(isinstance(one, Confirmation) and one.finding in OPENS for one in found)


def alone(memory: Memory) -> Memory:
    """The memory in which an early call is heard: nothing is asked, and no item was named."""
    return replace(memory, questions=(), tried=None, current="")


def _answers(memory: Memory, said: Meaning) -> bool:
    """Whether a call says something only in the light of what is asked."""
    match memory.state:
        case WalkState.STANDING_BY:
            return said.act is Act.IDENTITY
        case WalkState.ACKNOWLEDGING:
            return said.command == Command.AFFIRM
        case WalkState.WALKING | WalkState.ASKING:
            if said.act is Act.COMMAND:
                asking = memory.state is WalkState.ASKING
                about = _OF_THE_CALL_ASKED_ABOUT if asking else ()
                return said.command in (*_ANSWERS, *about)
            if said.act in (Act.SIDE, Act.CHOICE):
                return True
            waits = memory.asked or memory.current or memory.tried
            return bool(waits) and is_bare(said) and said.act not in _NO_ANSWER
    return False


_NO_ANSWER = (Act.TALK, Act.MIXED)
