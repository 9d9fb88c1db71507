"""What is said: which message of the catalogue, with which variables.

Pure. The wording of the messages is ``voice``'s; names are the card's, numbers are decimal
strings.
"""

from __future__ import annotations

from voicewalk.card.model import Item, Kind
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk import readback
from voicewalk.walk.entries import (
    AskedBack,
    Back,
    Closed,
    Commanded,
    Disregarded,
    Dropped,
    Entered,
    Identified,
    Lost,
    Remarked,
    Resumed,
    Started,
    Stepped,
    What,
)
from voicewalk.walk.memory import Memory, WalkState
from voicewalk.walk.messages import Say
from voicewalk.walk.questions import BOTH, Question
from voicewalk.walk.readback import recorded
from voicewalk.walk.rules import INSPECTED, KEPT_BESIDE, open_needs, units_possible
from voicewalk.walk.terms import Ask, Result, Utterance, Way
from voicewalk.walk.values import Defect
from voicewalk.walk.words import Words

# --- calls and questions -------------------------------------------------------------------


def describe(memory: Memory, call: Utterance) -> str:
    """A call in plain text as it was understood, not as it was worded."""
    meaning = call.meaning
    said = _result_text(meaning, memory.words)
    text = ", ".join(part for part in (_subject(memory, meaning), said) if part)
    return _correction(memory) + text if meaning.corrects else text


def _correction(memory: Memory) -> str:
    return f"{memory.words.command(Command.CORRECTION)}, "


def _subject(memory: Memory, meaning: Meaning) -> str:
    if meaning.group:
        first = memory.card.groups[meaning.group][0]
        name = first.bare_names[0] if first.bare_names else first.name
        return _words(memory.words.both if meaning.side == BOTH else "", name)
    return memory.name(meaning.item)


def _result_text(meaning: Meaning, words: Words) -> str:
    match meaning.act:
        case Act.STATE | Act.VAGUE:
            return meaning.state
        case Act.READING | Act.COUNT:
            return _words(meaning.state, meaning.value, meaning.unit)
        case Act.PROMISED:
            return _words(words.open, meaning.owner)
        case Act.DISCREPANCY:
            return _words(meaning.defect, meaning.size, meaning.size_unit, meaning.place)
        case Act.SATISFACTORY:
            return words.satisfactory
        case Act.NOT_APPLICABLE:
            return words.not_applicable
        case Act.NOT_INSPECTED:
            because = f", {_words(words.because, meaning.reason)}" if meaning.reason else ""
            return words.not_inspected + because
        case Act.COMMAND:
            return words.command(meaning.command)
        case Act.IDENTITY:
            return meaning.value
        case Act.SIDE:
            sides = {"left": words.left, "right": words.right}
            return sides.get(meaning.side, words.both)
        case _:
            return ""


def _words(*parts: str) -> str:
    return " ".join(part for part in parts if part)


def question(memory: Memory, asked: Question) -> Say:
    """The message that asks a question."""
    if asked.ask is Ask.HEARD:
        return _heard(memory, asked)
    if not asked.calls:
        return Say("ask-correction" if asked.ask is Ask.CORRECTION else "ask-remark")
    call = asked.calls[0]
    meaning = call.meaning
    match asked.ask:
        case Ask.WHICH_SIDE:
            return Say("ask-which-side", {"item": _subject(memory, meaning)})
        case Ask.WHICH_ITEM:
            return Say("ask-which-item")
        case Ask.OWNER:
            return Say("ask-owner", {"item": memory.name(meaning.item)})
        case Ask.REASON:
            return Say("ask-reason", {"item": memory.name(meaning.item)})
        case Ask.UNIT:
            units = ", ".join(units_possible(memory.item(meaning.item)))
            return Say("ask-unit", {"value": meaning.value, "units": units})
        case Ask.VALUE:
            return _due(memory, memory.item(meaning.item))
        case _:
            return _confirm(memory, call)


def _heard(memory: Memory, asked: Question) -> Say:
    """The question what an unclear call was."""
    match asked.way:
        case Way.DIGITS:
            return Say("ask-digits", {"item": memory.name(asked.item)})
        case Way.DUE:
            return _due(memory, memory.item(asked.item))
        case Way.CHOICE:
            return Say("ask-choice", _apart(memory, asked.calls))
    if len(asked.calls) == 1:
        return _confirm(memory, asked.calls[0])
    return Say("ask-either", _apart(memory, asked.calls))


def affirmed_neither(memory: Memory) -> tuple[Say, ...]:
    """Two calls were read, and "affirm" does not tell which."""
    calls = memory.asked.calls if memory.asked else ()
    return (Say("affirmed-neither"), Say("ask-choice", _apart(memory, calls)))


def _confirm(memory: Memory, call: Utterance) -> Say:
    said = describe(memory, call)
    if before := _before(memory, call.meaning):
        return Say("ask-confirm-over", {"call": said, "before": before})
    return Say("ask-confirm", {"call": said})


def _due(memory: Memory, item: Item) -> Say:
    """What must be called of an item; of a count that must balance, what is still open."""
    if item.balances:
        return readback.count_asked(memory, item)
    match item.kind:
        case Kind.STATE:
            states = ", ".join(state.name for state in item.states)
            return Say("ask-state", {"item": item.name, "states": states})
        case Kind.READING:
            units = ", ".join(units_possible(item))
            return Say("ask-reading", {"item": item.name, "units": units})
        case Kind.COUNT:
            return Say("ask-count", {"item": item.name})
        case _:
            return Say("ask-result", {"item": item.name})


def _apart(memory: Memory, calls: tuple[Utterance, ...]) -> dict[str, str]:
    """Two calls so that their difference is heard: what they have in common once, before it."""
    one, other = calls
    subjects = [_subject(memory, call.meaning) for call in calls]
    results = [_result_text(call.meaning, memory.words) for call in calls]
    if one.meaning.corrects is other.meaning.corrects and all(results):
        prefix = _correction(memory) if one.meaning.corrects else ""
        if subjects[0] == subjects[1] and subjects[0]:
            return {"call": prefix + subjects[0], "first": results[0], "second": results[1]}
        if results[0] == results[1] and all(subjects):
            return {"call": prefix + results[0], "first": subjects[0], "second": subjects[1]}
    first, second = (describe(memory, call) for call in calls)
    return {"call": "", "first": first, "second": second}


def _before(memory: Memory, meaning: Meaning) -> str:
    """The standing discrepancies of the item and what is open, so that none vanishes unheard."""
    standing = (one.entered for one in memory.ledger.of(meaning.item))
    known = [
        _wrong(one, one.discrepancy)
        if one.discrepancy
        else _words(one.state, one.owner, one.reason)
        for one in standing
        if one.result in KEPT_BESIDE
    ]
    return ", ".join(known)


def _wrong(entered: Entered, defect: Defect) -> str:
    """A discrepancy in plain text, with the reading that showed it."""
    reading = _words(entered.reading.value, entered.reading.unit) if entered.reading else ""
    return _words(reading, defect.defect, defect.size, defect.size_unit, defect.place)


def pending(memory: Memory) -> tuple[Say, ...]:
    """The question that is to be answered first, if there is one."""
    return (question(memory, memory.asked),) if memory.asked else ()


# --- where the walk is ---------------------------------------------------------------------


def item_asked_for(memory: Memory) -> tuple[Say, ...]:
    """The name of the current item with its station, and what is to be done there."""
    item = memory.item(memory.current)
    station = next(one.name for one in memory.card.stations if one.id == item.station)
    says = (Say("item", {"station": station, "item": item.name}),)
    return (*says, Say("action", {"action": item.action})) if item.action else says


def hold(memory: Memory, item: str) -> Say:
    """Nobody goes on before it is confirmed."""
    return Say("hold", {"item": memory.name(item), "role": memory.item(item).hold})


def last_and_next(memory: Memory) -> dict[str, str]:
    """The item confirmed last and the open one that is up next; "" where there is none."""
    waiting = memory.current if memory.leading else ""
    ahead = waiting or next(iter(memory.ahead), "")
    return {"last": memory.name(memory.last), "next": memory.name(ahead)}


def where(memory: Memory) -> Say:
    """The answer to "where are we"."""
    return Say("where", {**last_and_next(memory), "count": str(len(memory.ledger.open))})


def open_items(memory: Memory, prompt: str) -> Say:
    """How many items are open, and the names of the first few."""
    items = memory.ledger.open
    return Say(
        prompt,
        {"count": str(len(items)), "names": memory.names(items[: memory.settings.names_spoken])},
    )


# --- after an entry was kept ---------------------------------------------------------------


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
        case Started():
            return (_started(memory, what),)
        case Entered():
            return _entered(memory, what)
        case AskedBack(candidates=(), way=Way.PLAIN):
            return (Say("ask-again"),)
        case Dropped() if what.failures:
            return _given_up(memory, what)
        case Dropped():
            return (Say("ask-again"), *_reopened(memory, what.reopens))
        case Disregarded():
            return (Say("disregarded", {"item": memory.name(what.item)}),)
        case Commanded():
            return _commanded(memory, what)
        case Resumed() if memory.identify:
            return (identity_asked(memory),)
        case Identified():
            return (_identified(memory, what),)
        case Resumed():
            subject = {"subject": memory.card.subject, "identity": memory.identity}
            return (Say("resumed", {**subject, **last_and_next(memory)}),)
        case Closed():
            return (_closed(what),)
        case _:
            return (Say(_PLAIN[type(what)]),) if type(what) in _PLAIN else ()


def _given_up(memory: Memory, dropped: Dropped) -> tuple[Say, ...]:
    """An unclear call is given up; where another question is beneath, that one goes on."""
    if memory.questions:
        return (Say("ask-again"),)
    return (Say("given-up", {"names": memory.names(dropped.open)}),)


def follow_up(memory: Memory, what: What) -> tuple[Say, ...]:
    """What is asked or named next, once everything about an entry was told."""
    if isinstance(what, Stepped | Lost) or memory.phase is not WalkState.WALKING:
        return ()
    if memory.asked:
        return pending(memory)
    named = isinstance(what, Commanded) and what.command == Act.ITEM
    if memory.current and (memory.leading or named):
        return item_asked_for(memory)
    if isinstance(what, Entered) and not memory.ledger.open:
        return (Say("all-closed"),)
    return ()


def identity_asked(memory: Memory) -> Say:
    """After an interruption: which one is this? Its identity is not told before."""
    return Say("ask-identity", {"subject": memory.card.subject})


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
        case Command.CLOSE:
            return (open_items(memory, "close-refused"),)
        case Command.STAND_BY:
            return (Say("standing-by"),)
        case Command.GOING_ON:
            return (Say("going-on", last_and_next(memory)),)
        case _:
            return ()


def _entered(memory: Memory, entered: Entered) -> tuple[Say, ...]:
    says = [recorded(memory, entered)]
    if entered.reading and entered.reading.then:
        says.append(Say("then", {"then": entered.reading.then}))
    says += _reopened(memory, entered.reopens)
    needs = open_needs(memory.item(entered.item), memory.ledger)
    if needs and entered.result in INSPECTED:
        says.append(Say("caution-needs", {"item": entered.name, "names": memory.names(needs)}))
    return tuple(says)


def _reopened(memory: Memory, items: tuple[str, ...]) -> tuple[Say, ...]:
    return (Say("reopened", {"names": memory.names(items)}),) if items else ()
