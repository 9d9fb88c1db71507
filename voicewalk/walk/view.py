"""A frozen picture of a walk, for the terminal and the summary. It never changes the walk."""

from __future__ import annotations

from dataclasses import dataclass

from voicewalk.walk import second_spoken
from voicewalk.walk.entries import Entered
from voicewalk.walk.memory import Memory, WalkState
from voicewalk.walk.terms import Result


@dataclass(frozen=True, slots=True)
class Line:
    """One item as it stands.

    Attributes:
        result: ``None`` while the item is open, also where it was opened again.
        entries: the entries that stand, with their numbers; several where an item has
            several discrepancies. An item opened again still shows its earlier ones.
    """

    item: str
    name: str
    station: str
    result: Result | None
    entries: tuple[tuple[int, Entered], ...]


@dataclass(frozen=True, slots=True)
class WalkView:
    """The walk as it stands.

    Attributes:
        lines: every item, in card order.
        counts: how many items have each result; the open ones are in none.
        open: ids of the open items, in card order.
        ahead: the same as they lie ahead, likeliest next first.
        current: id of the item that bare results belong to, "" for none.
        last: id of the item confirmed last, "" for none.
        question: what is being asked ("which side", "confirm", ...), "" for nothing.
        leading: the tool names the items.
        second: who confirms what the card marks so, "" for nobody.
        unconfirmed: ids of the items that are still to be confirmed.
        waiting: entries and inputs that the record has not answered for yet.
    """

    state: WalkState
    identity: str
    inspector: str
    lines: tuple[Line, ...]
    counts: dict[Result, int]
    open: tuple[str, ...]
    ahead: tuple[str, ...]
    current: str
    last: str
    question: str
    leading: bool
    second: str
    unconfirmed: tuple[str, ...]
    waiting: int


def view(memory: Memory, waiting: int) -> WalkView:
    """The picture of ``memory``."""
    ledger, asked = memory.ledger, memory.asked
    return WalkView(
        state=memory.state,
        identity=memory.identity,
        inspector=memory.inspector,
        lines=tuple(
            Line(
                item.id,
                item.name,
                item.station,
                ledger.result(item.id),
                tuple((one.seq, one.entered) for one in ledger.of(item.id)),
            )
            for item in memory.card
        ),
        counts=ledger.counts(),
        open=ledger.open,
        ahead=memory.ahead,
        current=memory.current,
        last=memory.last,
        question=asked.ask.value if asked else "",
        leading=memory.leading,
        second=memory.second.name,
        unconfirmed=second_spoken.waiting(memory),
        waiting=waiting,
    )
