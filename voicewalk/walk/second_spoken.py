"""What the second person is asked and told: which message, with which variables. Pure.

The question never repeats a reading, a count or a state: whoever only says again what the
question says has confirmed nothing. Worded by ``voice``.
"""

from __future__ import annotations

from voicewalk.language.meaning import Act, Meaning
from voicewalk.walk.entries import Commanded, Entered
from voicewalk.walk.ledger import Standing
from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import Say
from voicewalk.walk.second_entry import Confirmation
from voicewalk.walk.terms import Finding, Result
from voicewalk.walk.turns import Identified, Resumed
from voicewalk.walk.values import joined


def question(memory: Memory, one: Standing) -> Say:
    """What the second person is asked about an entry."""
    entered = one.entered
    item = {"item": entered.name}
    if entered.reading:
        return Say("second-reading", item)
    if entered.count:
        return Say("second-count", item)
    if entered.state:
        return Say("second-state", item)
    return Say("second-affirm", {**item, "call": _result(memory, entered)})


def asked(memory: Memory) -> tuple[Say, ...]:
    """The question that is put to the second person, if one is."""
    one = memory.second.asked(memory.ledger)
    return (question(memory, one),) if one else ()


def told(memory: Memory, what: Confirmation) -> tuple[Say, ...]:
    """What is said of an answer; the question that may follow is not among it."""
    item = {"item": memory.name(what.item)}
    match what.finding:
        case Finding.CONFIRMED:
            return (Say("recorded-confirmation", item),)
        case Finding.DIFFERS:
            return (Say("second-differs", {**item, "first": what.entered, "second": what.said}),)
        case Finding.NEGATIVE:
            return (Say("second-negative", item),)
        case Finding.SILENCE:
            return (Say("second-silent", item),)
        case Finding.NO_ANSWER:
            return (Say("second-no-answer"),)
        case Finding.UNCLEAR:
            return (Say("ask-again"),)


def pending(memory: Memory, prompt: str = "second-pending") -> tuple[Say, ...]:
    """How many confirmations there are to come, and of what; nothing where there is none."""
    items = waiting(memory)
    names = memory.names(items[: memory.settings.names_spoken])
    return (Say(prompt, {"count": str(len(items)), "names": names}),) if items else ()


def waiting(memory: Memory) -> tuple[str, ...]:
    """Ids of the items that the second person has not confirmed yet."""
    entries = memory.second.pending(memory.ledger)
    return tuple(dict.fromkeys(one.entered.item for one in entries))


def asks_anew(memory: Memory, what: object) -> bool:
    """Whether after this entry the question is put again although it was put before."""
    match what:
        case Confirmation(finding=finding):
            return finding in (Finding.NO_ANSWER, Finding.UNCLEAR)
        case Entered():
            return memory.second.chased
        case Commanded():
            return bool(what.unconfirmed)
    return isinstance(what, Resumed | Identified)


def entered_text(entered: Entered) -> str:
    """What an entry says, in few words, as the record keeps it."""
    if entered.reading:
        return f"{entered.reading.value} {entered.reading.unit}"
    if entered.count:
        return joined(entered.state, entered.count.seen)
    if entered.discrepancy and not entered.state:
        defect = entered.discrepancy
        return joined(defect.defect, defect.size, defect.size_unit, defect.place)
    return entered.state or entered.result.value


def said_text(meaning: Meaning) -> str:
    """What was answered, in few words, as the record keeps it."""
    match meaning.act:
        case Act.READING | Act.COUNT:
            return joined(meaning.state, meaning.value, meaning.unit)
        case Act.STATE | Act.VAGUE | Act.ACKNOWLEDGED:
            return meaning.state
        case Act.DISCREPANCY:
            return joined(meaning.defect, meaning.size, meaning.size_unit, meaning.place)
        case Act.COMMAND:
            return meaning.command
        case _:
            return meaning.act.value


def _result(memory: Memory, entered: Entered) -> str:
    words = memory.words
    match entered.result:
        case Result.SATISFACTORY:
            return words.satisfactory
        case Result.NOT_INSPECTED:
            return words.not_inspected
        case Result.NOT_APPLICABLE:
            return words.not_applicable
        case _:
            return entered_text(entered)
