"""What a call means, and what the walk expects to be called.

A meaning is flat and made of strings, so that it can be compared, hashed, ranked and written
into the record without loss. Numbers are decimal strings in plain notation ("3000.5").
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields, replace
from enum import StrEnum


class Act(StrEnum):
    """What a call does."""

    SATISFACTORY = "satisfactory"
    STATE = "state"
    READING = "reading"
    COUNT = "count"
    DISCREPANCY = "discrepancy"
    NOT_INSPECTED = "not inspected"
    NOT_APPLICABLE = "not applicable"
    PROMISED = "promised"  # somebody will do it, or has it: nothing is done yet
    STATUS = "status"  # the status word that a discrepancy gets on the form
    VAGUE = "vague"  # "done", "looks good": it states nothing that could be a result
    ITEM = "item"  # an item named and nothing said of it
    SIDE = "side"  # "left" or "right" alone, answering the question which
    IDENTITY = "identity"  # the number of what is inspected, in ``value``, as said
    CHOICE = "choice"  # "first" or "second" of two calls that were read
    COMMAND = "command"
    ACKNOWLEDGED = "acknowledged"  # "roger": it answers nothing and confirms nothing
    TALK = "talk"  # a question, an order, a wish, a report: an item named, and no result of it
    MIXED = "mixed"  # a call with words behind it that take it back, or with another call


class Command(StrEnum):
    """What can be said besides results. Radiotelephony words keep their ICAO/SERA meaning."""

    AFFIRM = "affirm"
    NEGATIVE = "negative"
    CORRECTION = "correction"  # alone: the last entry was wrong, the right one follows
    DISREGARD = "disregard"  # consider the last call not made
    SAY_AGAIN = "say again"
    STAND_BY = "stand by"
    GOING_ON = "going on"
    NEXT = "next"  # lead me: name the next open item
    WHERE = "where are we"
    WHAT_IS_OPEN = "what is open"
    REMARK = "remark"  # the speech that follows is kept as sound
    CLOSE = "walkaround complete"
    STOP = "stop"  # be quiet; heard even while the tool speaks
    HAND_OVER = "hand over"  # another inspector goes on; only where a vocabulary has words for it


NO_CALL = (Act.TALK, Act.MIXED)
"""What is understood so that it is not taken for the call that it comes near to. Nothing is ever
recorded of it."""

OPTIONAL = (Command.HAND_OVER,)
"""Commands that a language may lack."""

LEADING = frozenset(
    {
        Command.SAY_AGAIN,
        Command.WHERE,
        Command.WHAT_IS_OPEN,
        Command.NEXT,
        Command.GOING_ON,  # the only way out of standing by, where nothing is asked back
        Command.STOP,
    }
)
"""Commands that record no result, withdraw none, and end nothing."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """The meaning of one call.

    Attributes:
        item: an item's id; "" is the item asked for just now. For ``Act.MIXED``, the first named.
        group: set instead of ``item`` where a mirrored item was named without its side.
        state: for ``Act.STATE``, the state's name; for ``Act.COUNT``, what is counted
            ("installed"); for ``Act.READING`` of servicing, "before" or "after"; for
            ``Act.STATUS``, ``Act.VAGUE`` and ``Act.ACKNOWLEDGED``, the words.
        value: for readings and counts, a decimal string; for ``Act.IDENTITY``, its signs.
        unit: the unit's name, "" where none was said; names joined by "/" where the word said
            is one of several units' ("pounds") and no item decides.
        defect, place, size, size_unit: for ``Act.DISCREPANCY``; size is a decimal string, place
            a place's name or two of them ("upper leading edge").
        reason: for ``Act.NOT_INSPECTED``.
        side: for ``Act.SIDE``; "both", with a group, where one call is of both its sides.
        owner: for ``Act.PROMISED``, who has it, "" for somebody not named; for ``Act.COUNT``,
            whose work was counted.
        choice: for ``Act.CHOICE``, "first" or "second".
        command: for ``Act.COMMAND``.
        corrects: said after "correction": it replaces the last entry of its item.
    """

    act: Act
    item: str = ""
    group: str = ""
    state: str = ""
    value: str = ""
    unit: str = ""
    defect: str = ""
    place: str = ""
    size: str = ""
    size_unit: str = ""
    reason: str = ""
    side: str = ""
    choice: str = ""
    command: str = ""
    owner: str = ""
    corrects: bool = False

    def to_json(self) -> dict[str, str | bool]:
        """Only the fields that say something; the inverse of ``from_json``."""
        return {name: value for name, value in asdict(self).items() if value}

    @classmethod
    def from_json(cls, data: dict[str, object]) -> Meaning:
        """Read what ``to_json`` wrote. Raises ``ValueError`` on anything else."""
        known = {f.name for f in fields(cls)}
        if unknown := set(data) - known:
            raise ValueError(f"unknown fields of a meaning: {', '.join(sorted(unknown))}")
        text = {k: str(v) for k, v in data.items() if k not in ("act", "corrects")}
        return cls(
            act=Act(str(data.get("act", ""))), corrects=bool(data.get("corrects", False)), **text
        )


@dataclass(frozen=True, slots=True)
class Expectation:
    """What the walk would understand just now. It guides the judge; it never creates a result.

    Attributes:
        item: id of the item asked for; bare answers ("two one zero psi") belong to it.
        likely: ids of open items, likeliest first.
        question: a question was asked that "affirm" or "negative" answers.
        side: the question was which side.
        identity: letters and digits were asked for: the number of what is inspected, or who takes
            over.
        between: the one or two calls that an unclear call was asked back as: a part of one of
            them, said alone, is an answer.
    """

    item: str = ""
    likely: tuple[str, ...] = ()
    question: bool = False
    side: bool = False
    identity: bool = False
    between: tuple[Meaning, ...] = ()


def is_part(said: Meaning, whole: Meaning) -> bool:
    """Whether all that ``said`` says is said by ``whole`` too; "fifty" is a part of "fifty psi".

    What a card must be asked for is left to others: the side of an item, and its group. So
    sides, choices and commands are a part of the same meaning only; and so is an identity.
    """
    if (said.item and said.item != whole.item) or (said.group and said.group != whole.group):
        return False
    if said.act in (Act.SIDE, Act.CHOICE, Act.COMMAND, Act.IDENTITY):
        return said == whole
    if said.act is Act.ITEM:
        return True
    if said.act in _NUMBERS:
        value, unit = (whole.value, whole.unit) if whole.act in _NUMBERS else _size(whole)
        same = said.value == value and (not said.state or said.state == whole.state)
        return same and (not said.unit or unit in said.unit.split("/"))
    return said.act is whole.act and all(
        not getattr(said, name) or getattr(said, name) == getattr(whole, name) for name in _RESULT
    )


def without_side(meaning: Meaning, group: str) -> Meaning | None:
    """``meaning`` said of its group alone, its side left out; ``None`` where its item is no side
    of ``group``. The two sides of an item are named so by its card (``card.sides``)."""
    if not group or meaning.item not in (f"left-{group}", f"right-{group}"):
        return None
    return replace(meaning, item="", group=group)


_NUMBERS = (Act.READING, Act.COUNT)
_RESULT = ("state", "defect", "place", "size", "size_unit", "reason", "owner")


def _size(whole: Meaning) -> tuple[str, str]:
    return whole.size, whole.size_unit
