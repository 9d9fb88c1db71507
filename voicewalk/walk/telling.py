"""What is told of an entry that the record has kept, and what is asked or named next. Pure."""

from __future__ import annotations

from voicewalk.language.meaning import Act, Command
from voicewalk.walk import second_spoken
from voicewalk.walk.entries import (
    AskedBack,
    Back,
    Closed,
    Commanded,
    Disregarded,
    Dropped,
    Entered,
    Lost,
    Missing,
    Remarked,
    Started,
    Stepped,
    What,
)
from voicewalk.walk.memory import Memory, WalkState
from voicewalk.walk.messages import Say
from voicewalk.walk.readback import recorded
from voicewalk.walk.rules import INSPECTED, open_needs
from voicewalk.walk.second_entry import Confirmation
from voicewalk.walk.spoken import pending
from voicewalk.walk.statuses import Stated
from voicewalk.walk.terms import Result, Way
from voicewalk.walk.turns import Acknowledged, FellSilent, HandedOver, Identified, Resumed
from voicewalk.walk.whereabouts import awaited, item_asked_for, last_and_next, notice, open_items

_PLAIN: dict[type[What], str] = {
    Remarked: "recorded-remark",
    Stepped: "clock-stepped",
    Lost: "device-lost",
    Back: "device-back",
}
"""Entries of which nothing is told but that they were made."""


def told(memory: Memory, what: What) -> tuple[Say, ...]:
    """What is said of an entry, ``memory`` being the one after it."""
    match what:
        case Entered():
            return _entered(memory, what)
        case AskedBack(candidates=(), way=Way.PLAIN):
            return (Say("ask-again"),)
        case Confirmation():
            return second_spoken.told(memory, what)
        case Dropped():
            return _dropped(memory, what)
        case Disregarded():
            return (Say("disregarded", {"item": memory.name(what.item)}),)
        case Commanded():
            return _commanded(memory, what)
        case Closed():
            return (_closed(what),)
        case Back(other=True):
            return (Say("device-other"),)
        case Missing(lost_ms=ms):
            return (Say("sound-lost", {"seconds": str(round(ms / 1000)) if ms >= 2000 else ""}),)
        case _ if type(what) in _PLAIN:
            return (Say(_PLAIN[type(what)]),)
        case _:
            return _turned(memory, what)


def _turned(memory: Memory, what: What) -> tuple[Say, ...]:
    """Who walks and where, and whether it may go on."""
    match what:
        case Started():
            return (_started(memory, what), *_earlier_walk(memory), *awaited(memory))
        case Resumed():
            return (*_resumed(memory, what), *awaited(memory))
        case Stated():
            args = {"item": memory.name(what.item), "status": what.status, "was": what.was}
            return (Say("recorded-status", args),)
        case FellSilent():
            return awaited(memory)
        case Identified():
            return (_identified(memory, what), *_hearing(what))
        case HandedOver():
            return (Say("handed-over", {"to": what.to}),)
        case Acknowledged() if not memory.notices:
            return (Say("going-on", last_and_next(memory)),)
        case _:
            return ()


def _dropped(memory: Memory, dropped: Dropped) -> tuple[Say, ...]:
    """An unclear call is given up; where another question is beneath, that one goes on."""
    if not dropped.failures:
        return (Say("ask-again"), *_reopened(memory, dropped.reopens))
    if memory.questions:
        return (Say("ask-again"),)
    return (Say("given-up", {"names": memory.names(dropped.open)}),)


def follow_up(memory: Memory, what: What) -> tuple[Say, ...]:
    """What is asked or named next, once everything about an entry was told."""
    if isinstance(what, Stepped | Lost) or memory.phase is not WalkState.WALKING:
        return ()
    if memory.notices:
        return notice(memory)
    if memory.asked:
        return pending(memory)
    named = isinstance(what, Commanded) and what.command == Act.ITEM
    if memory.current and (memory.leading or named):
        return item_asked_for(memory)
    unsettled = memory.ledger.open or second_spoken.waiting(memory)
    if isinstance(what, Entered | Confirmation) and not unsettled:
        return (Say("all-closed"),)
    return ()


def _resumed(memory: Memory, what: Resumed) -> tuple[Say, ...]:
    valid = memory.card.valid
    says: tuple[Say, ...] = ()
    if what.reopens and valid:
        args = {"hours": str(valid.hours), "count": str(len(what.reopens))}
        says = (Say("expired", args),)
    if what.other:
        says = (*says, Say("device-other"))
    if memory.identify:
        return says
    subject = {"subject": memory.card.subject, "identity": memory.identity}
    return (*says, Say("resumed", {**subject, **last_and_next(memory)}))


def _earlier_walk(memory: Memory) -> tuple[Say, ...]:
    """When the last walk was closed, and whether it still counts."""
    earlier = memory.earlier
    args = {"when": earlier.wall, "expired": earlier.expired}
    return (Say("earlier-walk", args),) if earlier.wall else ()


def _hearing(what: Identified) -> tuple[Say, ...]:
    """How well calls will be understood here."""
    return (Say("hearing", {"heard": what.hearing}),) if what.hearing else ()


def _identified(memory: Memory, what: Identified) -> Say:
    if not what.matches:
        return Say("identity-differs", {"said": what.said, "subject": memory.card.subject})
    ahead = last_and_next(memory)["next"]
    return Say(
        "identified",
        {
            "identity": memory.identity,
            "last": memory.name(what.last),
            "names": memory.names(what.reopens),
            "next": ahead,
        },
    )


def _started(memory: Memory, started: Started) -> Say:
    card = memory.card
    return Say(
        "started",
        {
            "subject": card.subject,
            "identity": started.identity,
            "card": card.title,
            "items": str(len(card)),
            "caution": card.caution,
        },
    )


def _closed(closed: Closed) -> Say:
    counts = closed.counts
    return Say(
        "closed",
        {
            "satisfactory": str(counts[Result.SATISFACTORY]),
            "discrepancies": str(counts[Result.DISCREPANCY]),
            "not_inspected": str(counts[Result.NOT_INSPECTED]),
            "caution": closed.caution,
        },
    )


def _commanded(memory: Memory, commanded: Commanded) -> tuple[Say, ...]:
    match commanded.command:
        case Command.NEGATIVE:
            return (Say("ask-again"),)
        case Command.CLOSE if not commanded.open:
            return second_spoken.pending(memory, "close-unconfirmed")
        case Command.CLOSE:
            return (open_items(memory, "close-refused"), *second_spoken.pending(memory))
        case Command.STAND_BY:
            return (Say("standing-by"),)
        case Command.HAND_OVER:
            return awaited(memory)
        case Command.GOING_ON:
            return (Say("going-on", last_and_next(memory)),)
        case _:
            return ()


def _entered(memory: Memory, entered: Entered) -> tuple[Say, ...]:
    says = [recorded(memory, entered)]
    if entered.seen_before:
        says.append(Say("seen-before", {"when": entered.seen_before}))
    if entered.reading and entered.reading.estimate:
        read = entered.reading
        says.append(Say("estimate", {"value": read.estimate, "unit": read.unit}))
    if entered.discrepancy and entered.discrepancy.scheme:
        found = entered.discrepancy
        says.append(Say("classed", {"scheme": found.scheme, "grade": found.grade}))
    if entered.reading and entered.reading.then:
        says.append(Say("then", {"then": entered.reading.then}))
    says += _reopened(memory, entered.reopens)
    says += second_spoken.pending(memory) if memory.second.chased else ()
    needs = open_needs(memory.item(entered.item), memory.ledger)
    if needs and entered.result in INSPECTED:
        says.append(Say("caution-needs", {"item": entered.name, "names": memory.names(needs)}))
    return tuple(says)


def _reopened(memory: Memory, items: tuple[str, ...]) -> tuple[Say, ...]:
    return (Say("reopened", {"names": memory.names(items)}),) if items else ()
