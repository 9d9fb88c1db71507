"""What follows where another inspector takes over, and where something is acknowledged. Pure.

Whoever takes over is named sign by sign, and answers each message with "affirm" before anything
else is called. FAA human factors manual 4.2 (seen): a hand-over at the aircraft, in a standard
written form; here it is both spoken and written.
"""

from __future__ import annotations

from voicewalk.walk import whereabouts
from voicewalk.walk.confirmations import same_person
from voicewalk.walk.handlers import Said, Step
from voicewalk.walk.memory import Memory
from voicewalk.walk.turns import Acknowledged, HandedOver


def successor(memory: Memory, said: Said) -> Step:
    """Who takes over has been named; whoever has the walk, or confirms it, cannot take it over."""
    to = said.meaning.value
    if any(same_person(to, one) for one in (memory.inspector, memory.second.name) if one):
        return Step(say=whereabouts.awaited(memory))
    return said.of(HandedOver(memory.inspector, to, len(memory.ledger.open)))


def acknowledged(memory: Memory, said: Said) -> Step:
    """The message told last is acknowledged."""
    return said.of(Acknowledged(memory.notices[0], memory.inspector))


def tell_again(memory: Memory, given: object) -> Step:
    """First what is to be acknowledged; nothing else is done before."""
    return Step(say=whereabouts.notice(memory))
