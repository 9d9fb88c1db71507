"""The second person confirms what the card marks: what follows from an answer, and from none.

Pure. Handlers as in ``handlers``. Who spoke is told by the way that the call came in, never by
its words: nothing that the inspector says can confirm. For a reading, a count or a state the
second person says it again: "an unchallenged readback proves nothing" (NASA Directline 1, seen).
"Affirm" confirms the rest. "Roger" says that a message was received, and answers no question
(ICAO Doc 9432); silence answers none either.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from voicewalk.card.model import Item
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.walk import balance, rules, second_spoken
from voicewalk.walk.entries import Entered, Entry
from voicewalk.walk.handlers import Step
from voicewalk.walk.ledger import Standing
from voicewalk.walk.memory import Memory, WalkState
from voicewalk.walk.messages import Call, Input, Say, Tick, Unclear
from voicewalk.walk.second_entry import Confirmation
from voicewalk.walk.terms import Finding, Result

OPENS = (Finding.DIFFERS, Finding.NEGATIVE)


def answer(memory: Memory, given: Call | Unclear) -> Step:
    """It confirms the entry that is asked about, opens its item again, or does neither."""
    asked = memory.second.asked(memory.ledger)
    if isinstance(given, Unclear):
        return _keep(memory, asked, Finding.UNCLEAR, given) if asked else Step()
    said = given.meaning
    memory.check(said)
    if said.command == Command.SAY_AGAIN:
        return Step(say=memory.said)
    meant = _named(memory, said.item) if said.item else asked
    finding = weigh(memory.item(meant.entered.item), meant.entered, said) if meant else None
    done = meant is not None and meant.seq in memory.second.confirmed
    if meant is None or finding is None or (done and finding not in OPENS):
        return Step(say=second_spoken.asked(memory) or (Say("nothing-to-answer"),))
    return _keep(memory, meant, finding, given, second_spoken.said_text(said))


def silence(memory: Memory, given: Tick) -> Step:
    """The second person is asked once more."""
    return Step(say=second_spoken.asked(memory), second_again=True)


def silence_again(memory: Memory, given: Tick) -> Step:
    """Nothing is confirmed: it stays to be confirmed, and is asked about later."""
    asked = memory.second.asked(memory.ledger)
    return _keep(memory, asked, Finding.SILENCE, given) if asked else Step()


def _keep(memory: Memory, one: Standing, finding: Finding, given: Input, said: str = "") -> Step:
    item = one.entered.item
    opens = (item, *balance.shaken(memory.card, memory.ledger, (item,)))
    what = Confirmation(
        one.seq,
        item,
        finding,
        second_spoken.entered_text(one.entered),
        said,
        opens if finding in OPENS else (),
    )
    return Step((Entry(what, given),))


def _named(memory: Memory, item: str) -> Standing | None:
    """The entry of the item that was named: one to be confirmed, else one that was confirmed and
    that another value opens again. ``None`` for an item that is open or needs no confirmation."""
    kept = [one for one in memory.ledger.of(item) if one.entered.second]
    if not kept or memory.ledger.is_open(item):
        return None
    return next((one for one in kept if one.seq not in memory.second.confirmed), kept[-1])


def weigh(item: Item, entered: Entered, said: Meaning) -> Finding:
    """What an answer comes to, of an entry of ``item``."""
    if said.command == Command.NEGATIVE:
        return Finding.NEGATIVE
    valued = bool(entered.reading or entered.count or entered.state)
    if said.command == Command.AFFIRM:
        return Finding.NO_ANSWER if valued else Finding.CONFIRMED
    said = rules.fitted(item, said)
    if said.group or said.act not in _RESULTS or (valued and said.act is Act.SATISFACTORY):
        return Finding.NO_ANSWER
    if _same(entered, said):
        return Finding.CONFIRMED
    reading = entered.reading
    if reading and not said.unit and _same(entered, replace(said, unit=reading.unit)):
        return Finding.NO_ANSWER  # the item has other units too
    return Finding.DIFFERS


_RESULTS = {
    Act.SATISFACTORY: Result.SATISFACTORY,
    Act.STATE: None,
    Act.READING: None,
    Act.COUNT: None,
    Act.DISCREPANCY: Result.DISCREPANCY,
    Act.NOT_INSPECTED: Result.NOT_INSPECTED,
    Act.NOT_APPLICABLE: Result.NOT_APPLICABLE,
}
"""What says a result, and which, where the act alone tells."""


def _same(entered: Entered, said: Meaning) -> bool:
    """Whether the same was said, completely, as was entered."""
    if reading := entered.reading:
        fits = said.act is Act.READING and said.unit == reading.unit
        fits = fits and said.state in ("", entered.state)
        return fits and same_digits(said.value, reading.value)
    if count := entered.count:
        fits = said.act is Act.COUNT and said.state in ("", entered.state)
        return fits and same_digits(said.value, count.seen)
    if entered.state:
        return said.act is Act.STATE and said.state == entered.state
    if defect := entered.discrepancy:
        found = (said.defect, said.place, said.size, said.size_unit)
        return found == (defect.defect, defect.place, defect.size, defect.size_unit)
    return _RESULTS[said.act] is entered.result and said.reason in ("", entered.reason)


def same_digits(one: str, other: str) -> bool:
    """Whether two decimals are the same number in the same digits, one by one: as they are
    spoken, so that 3.5 is not 3.50."""
    return format(Decimal(one), "f") == format(Decimal(other), "f")


# --- asking ----------------------------------------------------------------------------------


def asked(memory: Memory) -> Standing | None:
    """The entry that the second person is asked about just now."""
    if memory.state not in (WalkState.WALKING, WalkState.ASKING):
        return None
    return memory.second.asked(memory.ledger)


def expectation(memory: Memory) -> Expectation | None:
    """What would be understood of the second person now, ``None`` where nothing is asked."""
    one = asked(memory)
    return Expectation(item=one.entered.item, question=True) if one else None


def timers(memory: Memory) -> tuple[str, str]:
    """The timer of the question, and that of its repetition; "" where nothing is asked."""
    if (one := asked(memory)) is None:
        return "", ""
    name = f"second-{one.seq}-{memory.second.answers}"
    return name, f"{name}-again"
