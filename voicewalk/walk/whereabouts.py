"""Where the walk is, what lies ahead and what is waited for, as messages. Pure.

Names are the card's, numbers decimal strings; the wording is ``voice``'s.
"""

from __future__ import annotations

from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import Say


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
    """How many items are open, and the names of the first few as they lie ahead."""
    items = memory.ahead if memory.sweep else memory.ledger.open
    return Say(
        prompt,
        {"count": str(len(items)), "names": memory.names(items[: memory.settings.names_spoken])},
    )


def notice(memory: Memory) -> tuple[Say, ...]:
    """The message that is to be acknowledged first, and that it is to be."""
    return (memory.notices[0], Say("ask-acknowledge"))


def awaited(memory: Memory) -> tuple[Say, ...]:
    """What is asked for before the walk goes on: which one is this, its identity not told
    before; or who takes over."""
    if memory.identify:
        return (Say("ask-identity", {"subject": memory.card.subject}),)
    return (Say("ask-successor"),) if memory.handing else ()
