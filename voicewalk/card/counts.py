"""Whether the counts of a card can balance, and its hold points be confirmed. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from voicewalk.card.fault import Fault
from voicewalk.card.model import Card, Item, Kind
from voicewalk.card.spoken import fold


def count_faults(item: Item, card: Card) -> Iterator[Fault]:
    """What is wrong with a count, its places and what is counted of it."""
    if item.kind is not Kind.COUNT:
        if item.places:
            yield _fault(item, "places", "has places but no count", "Write 'count' and a number.")
        return
    if item.expected is None:
        yield Fault(
            f"'{item.name}' does not say how many there should be",
            "Write the number, such as 'count: 4'.",
            item=item.id,
            key=("count",),
        )
    yield from _counted(item)
    if item.places:
        yield from _places(item, card)


def side_faults(item: Item, card: Card) -> Iterator[Fault]:
    """ "Both" is said of two sides only."""
    if item.both and len(card.groups[item.group]) != 2:
        yield _fault(item, "both", "has no two sides", "Remove 'both', or write 'sides'.")


def hold_faults(item: Item) -> Iterator[Fault]:
    """A hold point is confirmed by a state."""
    if item.hold and item.kind is not Kind.STATE:
        yield _fault(item, "hold", "is held and has no state", "Write 'state', 'good: confirmed'.")


def _fault(item: Item, key: str, message: str, what_to_do: str) -> Fault:
    return Fault(f"'{item.name}' {message}", what_to_do, item=item.id, key=(key,))


def _counted(item: Item) -> Iterator[Fault]:
    words = Counter(fold(word) for state in item.states for word in (state.name, *state.words))
    for word, count in words.items():
        if count > 1:
            message = f"counts '{word}' in {count} ways"
            yield _fault(item, "counted", message, "Keep the word in one of them.")


def _places(item: Item, card: Card) -> Iterator[Fault]:
    known = [card.by_id[place] for place in item.places if place in card.by_id]
    for place in known:
        if place.kind is not Kind.STATE:
            message = f"counts '{place.name}', which has no state"
            yield _fault(item, "places", message, "Write its 'state', such as 'good: removed'.")
    if len(known) == len(item.places) != item.expected:
        message = f"counts {item.expected} and names {len(known)} places"
        yield _fault(item, "places", message, "Name each place once; both sides are two.")
