"""How likely a call is before it is heard: bounded log weights.

Three kinds of phrases lie inside or beside most calls, and are seldom said: calls in which
something is left out, readings that the gauge can hardly show, and talk that comes near a call.
Clear speech differs by far more than ``RARE``, so that a weight never overrules it.
"""

from __future__ import annotations

from decimal import Decimal

from voicewalk.card.model import Card, Item, Kind
from voicewalk.language.meaning import NO_CALL, Act, Expectation, Meaning, is_part

RARE = -4.0
"""Log weight of what is seldom said: a call that names no item and was not asked for, an item
named and nothing said of it, a reading without its unit, "not inspected" with no reason, a
number far from the item's limits or with more than two decimals, another unit than the item's.
Odds of 55 to 1 (a chosen bound and no measurement: common practice, no source)."""

NEAR_CALL = 1.5 * RARE
"""Log weight of talk near a call, and of more than a call in one breath: odds of 400 to 1. Such a
path has words to spare for a drawn-out sound. Over 120 made calls in quiet the likeliest talk came
as near as 2.8 ahead of the call said, and a near pair is settled by 2.5: together 5.3. Of 120
texts near a call 91 are heard as that first, in spite of it."""

LEAST = 2 * RARE
"""However much is odd in a call, it weighs no less."""

_DECIMALS = 2


def unasked(meaning: Meaning, expectation: Expectation) -> bool:
    """Whether a call neither names an item nor answers what was asked."""
    match meaning.act:
        case Act.COMMAND:
            return meaning.command in ("affirm", "negative") and not expectation.question
        case Act.SIDE:
            return not expectation.side
        case Act.CHOICE:
            return len(expectation.between) != 2
        case Act.ACKNOWLEDGED:
            return False
        case Act.IDENTITY:
            return not expectation.identity
    answers = any(is_part(meaning, whole) for whole in expectation.between)
    return not (meaning.item or meaning.group or expectation.item or answers)


class Prior:
    """The log weights of calls on one card."""

    def __init__(self, card: Card) -> None:
        self._items = card.by_id | {group: items[0] for group, items in card.groups.items()}

    def __call__(self, meaning: Meaning, expectation: Expectation) -> float:
        """The log weight of a call where so much is asked for; 0 for a common one."""
        if meaning.act in NO_CALL:
            return NEAR_CALL
        item = self._items.get(meaning.item or meaning.group or expectation.item)
        odd = (
            _in_part(meaning),
            unasked(meaning, expectation),
            _far(meaning, item),
            _strange(meaning, item),
        )
        return max(LEAST, RARE * sum(odd))


def _in_part(meaning: Meaning) -> bool:
    """Whether something is left out that people mostly say."""
    match meaning.act:
        case Act.ITEM:
            return True
        case Act.READING:
            return not meaning.unit
        case Act.NOT_INSPECTED:
            return not meaning.reason
    return False


def _strange(meaning: Meaning, item: Item | None) -> bool:
    """Whether the unit is none that the item is read in."""
    if item is None or item.kind is not Kind.READING or meaning.act is not Act.READING:
        return False
    return bool(meaning.unit) and item.unit not in meaning.unit.split("/")


def _far(meaning: Meaning, item: Item | None) -> bool:
    """Whether the item could hardly have such a number. Zero is none: a gauge may be dead."""
    if meaning.act is Act.IDENTITY or not (value := Decimal(meaning.value or 0)):
        return False
    if -int(value.as_tuple().exponent) > _DECIMALS:
        return True
    if item is None:
        return False
    if item.kind is Kind.COUNT:
        return value > 3 * (item.expected or 0) + 3
    limit = item.limit
    if limit is None or (meaning.unit and limit.unit not in meaning.unit.split("/")):
        return False
    return (limit.low is not None and value < limit.low / 2) or (
        limit.high is not None and value > 2 * limit.high
    )
