"""The rules of an entry: what is due, the limits, what it replaces and what it opens again.

Pure functions of the card, the ledger and one call. When to apply them is the handlers'
business; how they are told is ``spoken``'s.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from voicewalk.card.checks import BELOW_ZERO
from voicewalk.card.model import Card, Item, Kind, Readback
from voicewalk.language.meaning import Act, Meaning
from voicewalk.walk import balance
from voicewalk.walk.balance import WRONG_COUNT
from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger, Standing
from voicewalk.walk.questions import Question
from voicewalk.walk.terms import Accepted, Ask, Result, Utterance
from voicewalk.walk.values import Count, Defect, Reading

DUE: dict[Kind, Act] = {
    Kind.CONDITION: Act.SATISFACTORY,
    Kind.STATE: Act.STATE,
    Kind.READING: Act.READING,
    Kind.COUNT: Act.COUNT,
    Kind.SERVICING: Act.READING,
}
"""What closes an item of each kind, besides the results that any item may have. Responses
state the status or the value, never "checked" (Degani and Wiener, second-hand)."""

ANY = (Act.DISCREPANCY, Act.NOT_INSPECTED, Act.NOT_APPLICABLE, Act.PROMISED)
BELOW, ABOVE, NO_LIMIT = "below limit", "above limit", "no limit in"
REPAIRED = "temporary repair"
"""The discrepancy that takes the place of those that it repairs (TM 1-1520-240-BD, seen: close the
fault and open a new one that says so)."""
UNDERSTOOD = (Ask.WHICH_SIDE, Ask.UNIT, Ask.VALUE, Ask.REASON, Ask.OWNER, Ask.CONFIRM)
INSPECTED = (Result.SATISFACTORY, Result.DISCREPANCY)
KEPT_BESIDE = (Result.DISCREPANCY, Result.OPEN)


def fitted(item: Item, meaning: Meaning) -> Meaning:
    """A number without a unit as what it can only be of this item: a count, or a reading in
    its one possible unit; so too with a word that several units share ("pounds"). Any other
    meaning is left alone."""
    shared = [unit for unit in meaning.unit.split("/") if unit in item.units]
    if "/" in meaning.unit and len(shared) == 1:
        return replace(meaning, unit=shared[0])
    if meaning.act not in (Act.READING, Act.COUNT) or meaning.unit:
        return meaning
    if item.kind is Kind.COUNT:
        return replace(meaning, act=Act.COUNT)
    if item.kind in (Kind.READING, Kind.SERVICING) and len(item.units) == 1:
        return replace(meaning, act=Act.READING, unit=item.unit)
    return meaning


def lacking(item: Item, meaning: Meaning) -> Ask | None:
    """What must be asked before a (fitted) call can be a result of ``item``, if anything."""
    if meaning.act is Act.NOT_INSPECTED and not meaning.reason:
        return Ask.REASON
    if meaning.act is Act.PROMISED and not meaning.owner:
        return Ask.OWNER
    if meaning.act in ANY:
        return None
    if meaning.act is not DUE[item.kind]:
        return Ask.VALUE
    match meaning.act:
        case Act.STATE if meaning.state not in {state.name for state in item.states}:
            return Ask.VALUE
        case Act.READING if item.kind is Kind.SERVICING and not _countable(item, meaning):
            return Ask.VALUE
        case Act.READING if meaning.unit not in item.units:
            return Ask.UNIT
        case Act.READING if meaning.value.startswith("-") and meaning.unit not in BELOW_ZERO:
            return Ask.VALUE
        case Act.COUNT if not meaning.value.isdecimal() or not _countable(item, meaning):
            return Ask.VALUE
    return None


def _countable(item: Item, meaning: Meaning) -> bool:
    """Whether it is said what was counted, where the card counts more than one thing."""
    return meaning.state in ({state.name for state in item.states} or {""})


def entered(item: Item, call: Utterance, accepted: Accepted) -> Entered:
    """The entry of a call that lacks nothing, without what it replaces or opens again."""
    meaning = call.meaning
    bare = Entered(
        item.id, item.name, item.station, Result.SATISFACTORY, accepted, reason=meaning.reason
    )
    match meaning.act:
        case Act.STATE:
            return _state(item, meaning, bare)
        case Act.READING:
            return _reading(item, call, bare)
        case Act.COUNT:
            return _count(item, meaning, bare)
        case Act.DISCREPANCY:
            return replace(bare, result=Result.DISCREPANCY, discrepancy=_defect(item, meaning))
        case Act.NOT_INSPECTED:
            return replace(bare, result=Result.NOT_INSPECTED)
        case Act.PROMISED:
            return replace(bare, result=Result.OPEN, owner=meaning.owner)
        case Act.NOT_APPLICABLE:
            return replace(bare, result=Result.NOT_APPLICABLE)
        case _:
            return bare


def _defect(item: Item, meaning: Meaning) -> Defect:
    """The finding, by the scheme that the card names for it; only sizes in its unit are classed:
    nothing is converted."""
    found = Defect(meaning.defect, meaning.place, meaning.size, meaning.size_unit)
    classes = item.classes
    if classes is None or found.defect not in classes.of:
        return found
    known = found.size and found.size_unit == classes.unit
    grade = classes.of_size(Decimal(found.size)) if known else ""
    return replace(found, scheme=classes.scheme, grade=grade)


def _bad(good: Entered, defect: str) -> Entered:
    return replace(good, result=Result.DISCREPANCY, discrepancy=Defect(defect))


def _state(item: Item, meaning: Meaning, bare: Entered) -> Entered:
    entry = replace(bare, state=meaning.state)
    state = next(state for state in item.states if state.name == meaning.state)
    if state.stays_open:
        return replace(entry, result=Result.OPEN)
    return entry if state.good else _bad(entry, meaning.state)


def _reading(item: Item, call: Utterance, bare: Entered) -> Entered:
    """Compared as decimals, in the limit's own unit: nothing is converted."""
    meaning, limit = call.meaning, item.limit_in(call.meaning.unit)
    bare = replace(bare, state=meaning.state)
    if limit is None:
        read = Reading(call.words, meaning.value, meaning.unit)
        if item.limit is None:
            return replace(bare, reading=read)
        why = replace(read, why=f"{NO_LIMIT} {meaning.unit}")
        return replace(bare, reading=why, result=Result.OPEN)
    value = Decimal(meaning.value)
    entry = replace(
        bare,
        reading=Reading(call.words, meaning.value, meaning.unit, limit.holds(value), limit),
    )
    if limit.holds(value):
        return entry
    low = limit.low is not None and value < limit.low
    return _bad(entry, BELOW if low else ABOVE)


def _count(item: Item, meaning: Meaning, bare: Entered) -> Entered:
    if item.expected is None:
        return replace(bare, count=Count(meaning.value))
    count = Count(meaning.value, str(item.expected))
    entry = replace(bare, count=count, state=meaning.state, by=meaning.owner)
    return entry if int(meaning.value) == item.expected else _bad(entry, WRONG_COUNT)


# --- against what already stands -----------------------------------------------------------


def must_confirm(
    item: Item,
    standing: tuple[Standing, ...],
    vanishing: tuple[Standing, ...],
    new: Entered,
    corrects: bool,
) -> bool:
    """Whether the call is read back, and kept only after "affirm".

    Args:
        vanishing: those of the standing entries that it would replace.
    """
    if item.readback is Readback.CONFIRM:
        return True
    if item.kind is Kind.SERVICING and new.reading:
        bad = any(one.entered.result is Result.DISCREPANCY for one in vanishing)
        return bad and not corrects and new.result is not Result.DISCREPANCY
    return not (item.balances and new.count) and lowers(standing, new, corrects)


def lowers(standing: tuple[Standing, ...], new: Entered, corrects: bool) -> bool:
    """Whether a discrepancy would vanish that the caller did not say to correct, or something
    left open that nobody has seen done."""
    spared = {one.entered.result for one in (standing[:-1] if corrects else standing)}
    if new.result in KEPT_BESIDE:
        return False
    return Result.DISCREPANCY in spared or (new.result not in INSPECTED and Result.OPEN in spared)


def replaced(standing: tuple[Standing, ...], new: Entered, corrects: bool) -> int:
    """Number of the entry that ``new`` replaces (with the item's later ones); 0 for none.

    A further discrepancy of another sort replaces nothing: a tyre may be cut and worn. Nor does
    what leaves the item open replace a discrepancy, or a discrepancy what is still open: a plug
    may be torn and in.
    """
    if not standing:
        return 0
    if new.discrepancy and new.discrepancy.defect == REPAIRED:
        return standing[0].seq
    last = standing[-1]
    results = {one.entered.result for one in standing}
    if new.result not in KEPT_BESIDE or not results & set(KEPT_BESIDE):
        return standing[0].seq
    same = last.entered.result is new.result and _same_sort(last.entered, new)
    return last.seq if corrects or same else 0


def _same_sort(old: Entered, new: Entered) -> bool:
    """Whether both say the same sort of thing: both a reading, or the same defect there."""
    for one, other in (
        (old.reading, new.reading),
        (old.count, new.count),
        (old.state, new.state),
        (old.owner, new.owner),
    ):
        if one or other:
            return bool(one and other)
    first, second = old.discrepancy, new.discrepancy
    return bool(first and second and (first.defect, first.place) == (second.defect, second.place))


def reopened(card: Card, ledger: Ledger, new: Entered) -> tuple[str, ...]:
    """Ids of the closed items that this entry opens again.

    "Not inspected" and "not applicable" say that nothing was done there: they open nothing.
    """
    good = new.result is Result.SATISFACTORY
    counts = () if good else balance.shaken(card, ledger, (new.item,))
    if new.result not in INSPECTED:
        return counts
    others = (one for one in card.opened_by.get(new.item, ()) if not ledger.is_open(one))
    return tuple(sorted({*counts, *others}, key=card.place.__getitem__))


def held(card: Card, ledger: Ledger, new: Entered) -> str:
    """Id of the open hold point that comes before the item of ``new``, "" where none does.

    Discrepancies and what leaves an item open are never held back.
    """
    if new.result in KEPT_BESIDE:
        return ""
    before = (one for one in card.holds if card.place[one] < card.place[new.item])
    return next((one for one in before if ledger.result(one) != Result.SATISFACTORY), "")


def held_open(item: Item, new: Entered) -> Entered:
    """An entry of a hold point: who confirmed it; it is not passed by "not inspected"."""
    if not item.hold or (new.result is Result.DISCREPANCY and not new.state):
        return new
    if new.result is Result.SATISFACTORY:
        return replace(new, by=item.hold)
    return replace(new, result=Result.OPEN, discrepancy=None)


def to_confirm(item: Item, new: Entered) -> bool:
    """Whether the second person is to confirm an entry: where it leaves its item open, the next
    result will be confirmed."""
    return item.second and new.result is not Result.OPEN


def unsettled(card: Card, ledger: Ledger, asked: Question) -> tuple[str, ...]:
    """Ids of the items that are open again because a question about them was dropped.

    What was called and never settled may have been a discrepancy: the good result before it
    does not count any more. An unclear call was no call; a discrepancy stands as it is.
    """
    if asked.ask not in UNDERSTOOD:
        return ()
    good = _good(ledger, _items(card, asked.item, asked.place[1]))
    return (*good, *balance.shaken(card, ledger, good))


def given_up(
    card: Card, ledger: Ledger, tried: Question
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Ids of the items that are open again because an unclear call was given up, and of all
    open ones that it may have been of.

    Somebody tried to call something of them, several times: it may have been a discrepancy.
    """
    some = (_items(card, said.meaning.item, said.meaning.group) for said in tried.offered)
    items = dict.fromkeys(item for each in some for item in each)
    good = _good(ledger, items)
    good = (*good, *(one for one in balance.shaken(card, ledger, good) if one not in good))
    return good, tuple(one.id for one in items if ledger.is_open(one.id) or one.id in good)


def _items(card: Card, item: str, group: str) -> tuple[Item, ...]:
    return (card.by_id[item],) if item else tuple(card.groups.get(group, ()))


def _good(ledger: Ledger, items: Iterable[Item]) -> tuple[str, ...]:
    left_alone = (None, Result.DISCREPANCY)
    return tuple(item.id for item in items if ledger.result(item.id) not in left_alone)


def careful(card: Card, meaning: Meaning) -> bool:
    """Whether more is at stake, or more easily misheard: critical items, numbers."""
    items = _items(card, meaning.item, meaning.group)
    return bool(meaning.value or meaning.size) or any(item.critical for item in items)


def open_needs(item: Item, ledger: Ledger) -> tuple[str, ...]:
    """Ids of the items that should have been closed before ``item`` and are not."""
    return tuple(need for need in item.needs if ledger.is_open(need))
