"""Which state is meant where another is denied: by the card's own pairs and by rule.

"Isn't latched" and "unlatched" are the bad state of an item whose good one is "latched". What
denies a bad state ("isn't cold") is no good one: nobody said what it is instead.
"""

from __future__ import annotations

from collections.abc import Collection

from voicewalk.card.model import Item, Kind, State
from voicewalk.language.vocabulary import NearCalls

OPEN = ""
"""In the place of a state: it is denied, and what it is instead is open."""

_ENDINGS = ("", "d", "ed")
"""A state may be an adjective whose opposite is made of the participle: secure, unsecured."""


def denials(items: Collection[Item], near: NearCalls) -> dict[str, str]:
    """What can be denied of items, and the name of the state that is meant by it.

    It is open where they differ: "not removed" of a pin that ought to be in, and of a cover.
    """
    meant: dict[str, str] = {}
    for item in items:
        for way, name in _denials(item, near).items():
            meant[way] = name if meant.get(way, name) == name else OPEN
    for item in items:
        meant |= _said(item, near)
    return meant


def _denials(item: Item, near: NearCalls) -> dict[str, str]:
    meant: dict[str, str] = {}
    for state in item.states:
        for way in _ways(state):
            meant[way] = _opposite(item, way) if state.good else OPEN
    return meant | _said(item, near)


def _said(item: Item, near: NearCalls) -> dict[str, str]:
    """What the card's own words deny: "latched", of "not latched"."""
    bad = (state for state in item.states if not state.good and not state.stays_open)
    return {rest: state.name for state in bad for way in _ways(state) for rest in rests(way, near)}


def prefixed(item: Item, near: NearCalls) -> dict[str, tuple[str, ...]]:
    """By the name of a bad state, the words that mean it by a prefix before the good one's."""
    known = {way for state in item.states for way in _ways(state)}
    found: dict[str, tuple[str, ...]] = {}
    for way in (way for state in item.states if state.good for way in _ways(state)):
        if name := _opposite(item, way):
            new = tuple(word for word in _prefixed(way, near) if word not in known)
            found[name] = (*found.get(name, ()), *new)
    return found


def rests(way: str, near: NearCalls) -> list[str]:
    """What is denied by a way to say a thing: "latched" by "not latched"."""
    denying = (f"{word} " for term in near.denying for word in term.words)
    return [way.removeprefix(no) for no in denying if way.startswith(no)]


def _ways(state: State) -> tuple[str, ...]:
    return (state.name, *state.words)


def _opposite(item: Item, way: str) -> str:
    """The bad state that is said with the good one's words ("not latched"), or the first."""
    if item.kind is not Kind.STATE:
        return OPEN
    bad = [state for state in item.states if not state.good and not state.stays_open]
    for state in bad:
        if any(f" {way} " in f" {one} " for one in _ways(state)):
            return state.name
    return bad[0].name if bad else OPEN


def _prefixed(way: str, near: NearCalls) -> list[str]:
    return [
        f"{prefix}{way}{ending}"
        for prefix, words in near.opposites.items()
        for ending in _ENDINGS
        if f"{way}{ending}" in words
    ]
