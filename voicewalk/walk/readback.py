"""What is read back of a result that the record has kept. Pure; worded by ``voice``."""

from __future__ import annotations

from voicewalk.card.model import Item
from voicewalk.walk.balance import balance
from voicewalk.walk.entries import Entered
from voicewalk.walk.measure import APART
from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import Say
from voicewalk.walk.rules import BELOW
from voicewalk.walk.terms import Result
from voicewalk.walk.values import Count, Defect, Reading, plain

_GOOD = {Result.SATISFACTORY: "yes", Result.DISCREPANCY: "no", Result.OPEN: "open"}


def count_asked(memory: Memory, item: Item) -> Say:
    """How a count stands, and which of its places are not called."""
    stands = balance(memory.ledger, item, memory.ledger.of(item.id))
    return Say(
        "ask-count-open",
        {
            "item": item.name,
            "seen": str(stands.seen),
            "expected": str(stands.target),
            "names": _few(memory, stands.not_called),
        },
    )


def _few(memory: Memory, items: tuple[str, ...]) -> str:
    return memory.names(items[: memory.settings.names_spoken])


def recorded(memory: Memory, entered: Entered) -> Say:
    """The readback of a result that the record has kept."""
    prompt, args = _recorded(memory, entered)
    again = "yes" if entered.replaces else "no"
    return Say(f"recorded-{prompt}", {"item": entered.name, **args, "again": again})


def _recorded(memory: Memory, entered: Entered) -> tuple[str, dict[str, str]]:
    if entered.count:
        return _recorded_count(memory, entered, entered.count)
    if entered.owner:
        return "promised", {"owner": entered.owner}
    if entered.state and not entered.reading:
        return "state", {"state": entered.state, "good": _GOOD[entered.result]}
    if entered.reading:
        return _recorded_reading(entered, entered.reading)
    match entered.result:
        case Result.DISCREPANCY if defect := entered.discrepancy:
            sizes = {"size": defect.size, "size_unit": defect.size_unit}
            return "discrepancy", {"defect": defect.defect, "place": defect.place, **sizes}
        case Result.NOT_INSPECTED:
            return "not-inspected", {"reason": entered.reason}
        case Result.OPEN:
            return "still-open", {"reason": entered.reason}
        case Result.NOT_APPLICABLE:
            return "not-applicable", {}
        case _:
            return "satisfactory", {}


def _recorded_reading(entered: Entered, reading: Reading) -> tuple[str, dict[str, str]]:
    said = {"value": reading.value, "unit": reading.unit}
    if entered.state and not reading.added:
        return "quantity", {"state": entered.state, **said, "why": reading.why}
    if entered.state and reading.within is not False:
        return "serviced", {**said, "added": reading.added}
    if reading.why:
        return "reading-open", {**said, "why": reading.why}
    if entered.discrepancy == Defect(APART):
        apart = {"difference": reading.difference, "other": reading.other}
        return "reading-apart", {**said, **apart}
    if reading.limit is None or reading.within:
        return "reading", said
    if entered.discrepancy == Defect(BELOW):
        return "reading-low", {**said, "limit": plain(reading.limit.low)}
    return "reading-high", {**said, "limit": plain(reading.limit.high)}


def _recorded_count(memory: Memory, entered: Entered, count: Count) -> tuple[str, dict[str, str]]:
    if entered.result is Result.OPEN:
        said = {"state": entered.state, "seen": count.seen, "expected": count.expected}
        return "count-open", {**said, "open": count.open, "names": _few(memory, count.not_called)}
    if entered.result is Result.SATISFACTORY:
        return "count", {"seen": count.seen}
    return "count-wrong", {"seen": count.seen, "expected": count.expected}
