"""What follows from a command, and from what happens outside.

Pure. Handlers as in ``handlers``, of which calls and answers are.
"""

from __future__ import annotations

from datetime import timedelta

from voicewalk.language.meaning import Command
from voicewalk.walk import second_spoken, way, whereabouts
from voicewalk.walk.entries import Back, Closed, Commanded, Entry, Lost, Missing, Stepped
from voicewalk.walk.handlers import Said, Step
from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import (
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Interrupted,
    Say,
    SoundLost,
)
from voicewalk.walk.spoken import pending
from voicewalk.walk.turns import Resumed


def say_again(memory: Memory, said: Said) -> Step:
    """Repeat all that was said last (ICAO: repeat all of your last transmission)."""
    return Step(say=memory.said)


def where(memory: Memory, said: Said) -> Step:
    """Tell the last confirmed item and the next one."""
    return Step(say=(whereabouts.where(memory), *pending(memory)))


def what_is_open(memory: Memory, said: Said) -> Step:
    """Tell how many items are open, and the first few; and what is still to be confirmed."""
    unconfirmed = second_spoken.pending(memory)
    if not memory.ledger.open:
        return Step(say=(*(unconfirmed or (Say("all-closed"),)), *pending(memory)))
    return Step(say=(whereabouts.open_items(memory, "open"), *unconfirmed, *pending(memory)))


def going_on_already(memory: Memory, said: Said) -> Step:
    """ "Going on" while nobody stands by: tell where the walk is."""
    says = Say("going-on", whereabouts.last_and_next(memory))
    return Step(say=(says, *pending(memory)))


def plain_command(memory: Memory, said: Said) -> Step:
    """The command is kept as such."""
    return said.of(Commanded(said.meaning.command))


def next_item(memory: Memory, said: Said) -> Step:
    """Lead: name the next open item."""
    if not memory.ahead:
        return Step(say=second_spoken.pending(memory) or (Say("all-closed"),))
    return said.of(Commanded(Command.NEXT.value, memory.ahead[0]))


def close(memory: Memory, said: Said) -> Step:
    """Close the walk, or name what is open or not confirmed and lead through it."""
    still_open = way.shortest(memory.card, memory.ledger.open, memory.last)
    unconfirmed = second_spoken.waiting(memory)
    if still_open or unconfirmed:
        what = Commanded(Command.CLOSE.value, open=still_open, unconfirmed=unconfirmed)
        return said.of(what)
    return said.of(Closed(memory.ledger.counts(), memory.card.caution))


# --- what happens outside ------------------------------------------------------------------


def interrupted(memory: Memory, given: Interrupted) -> Step:
    """The gap is kept; the walk goes on, or asks for its identity first where the card says."""
    valid = memory.card.valid
    expired = valid and not valid.holds(timedelta(milliseconds=given.age_ms))
    done = (item for item in memory.card.by_id if not memory.ledger.is_open(item))
    reopens = tuple(done) if expired else ()
    other = _is_other(memory, given.device)
    return Step((Entry(Resumed(given.gap_ms, reopens, given.device, given.rate, other), given),))


def clock_stepped(memory: Memory, given: ClockStepped) -> Step:
    """The step is kept."""
    return Step((Entry(Stepped(given.by_ms), given),))


def device_lost(memory: Memory, given: DeviceLost) -> Step:
    """The loss is kept."""
    return Step((Entry(Lost(given.reason), given),))


def device_back(memory: Memory, given: DeviceBack) -> Step:
    """The return is kept, and whether another device has come in its place."""
    other = _is_other(memory, given.device)
    return Step((Entry(Back(given.device, given.rate, other), given),))


def sound_lost(memory: Memory, given: SoundLost) -> Step:
    """How much went missing is kept, and where."""
    return Step((Entry(Missing(given.lost_ms, given.before), given),))


def _is_other(memory: Memory, device: str) -> bool:
    """Whether a microphone is another one than the walk was begun with, where both are known."""
    return bool(device and memory.device) and device != memory.device
