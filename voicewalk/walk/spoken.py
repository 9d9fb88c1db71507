"""What is said: which message of the catalogue, with which variables.

Pure. The wording of the messages is ``voice``'s; names are the card's, numbers are decimal
strings.
"""

from __future__ import annotations

from voicewalk.card.model import Item, Kind
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk import readback
from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import Say
from voicewalk.walk.notices import known
from voicewalk.walk.questions import BOTH, Question
from voicewalk.walk.terms import Ask, Utterance, Way
from voicewalk.walk.values import joined
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
        return joined(memory.words.both if meaning.side == BOTH else "", name)
    return memory.name(meaning.item)


def _result_text(meaning: Meaning, words: Words) -> str:
    match meaning.act:
        case Act.STATE | Act.STATUS | Act.VAGUE | Act.ACKNOWLEDGED:
            return meaning.state
        case Act.READING | Act.COUNT:
            return joined(meaning.state, meaning.value, meaning.unit)
        case Act.PROMISED:
            return joined(words.open, meaning.owner)
        case Act.DISCREPANCY:
            return joined(meaning.defect, meaning.size, meaning.size_unit, meaning.place)
        case Act.SATISFACTORY:
            return words.satisfactory
        case Act.NOT_APPLICABLE:
            return words.not_applicable
        case Act.NOT_INSPECTED:
            because = f", {joined(words.because, meaning.reason)}" if meaning.reason else ""
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
            units = ", ".join(memory.item(meaning.item).units)
            return Say("ask-unit", {"value": meaning.value, "units": units})
        case Ask.VALUE:
            return _due(memory, memory.item(meaning.item))
        case Ask.STATUS:
            order = memory.card.status.order if memory.card.status else ()
            args = {"proposed": meaning.state, "states": ", ".join(order)}
            return Say("ask-status", {"item": memory.name(meaning.item), **args})
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
    said, meaning = describe(memory, call), call.meaning
    if meaning.act is Act.STATUS:
        found = memory.ledger.of(meaning.item)
        old = memory.statuses.of(found[-1].seq) if found else ""
        return Say("ask-confirm-over", {"call": said, "before": old})
    if before := known(memory.ledger, meaning.item):
        return Say("ask-confirm-over", {"call": said, "before": before})
    last = memory.earlier.last_reading(meaning.item, meaning.unit)
    if last and memory.is_far(meaning.item, meaning):
        args = {"call": said, "before": f"{last.value} {last.unit}", "when": last.wall}
        return Say("ask-confirm-far", args)
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
            return Say("ask-reading", {"item": item.name, "units": ", ".join(item.units)})
        case Kind.SERVICING:
            found = any(one.entered.reading for one in memory.ledger.of(item.id))
            state = item.states[1 if found else 0].name
            args = {"item": item.name, "state": state, "units": ", ".join(item.units)}
            return Say("ask-servicing", args)
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


def pending(memory: Memory) -> tuple[Say, ...]:
    """The question that is to be answered first, if there is one."""
    return (question(memory, memory.asked),) if memory.asked else ()
