"""Whether a card is fit for use: what it asks must be answerable, and each name be one item's.

Pure: a card and the names of the defect families go in, faults come out. Whether two names
sound alike is left to ``language``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator

from voicewalk.card.counts import count_faults, hold_faults, side_faults
from voicewalk.card.fault import Fault
from voicewalk.card.model import Card, Item, Kind, Limit
from voicewalk.card.places import plan_faults
from voicewalk.card.readings import reading_faults
from voicewalk.card.rules import Release
from voicewalk.card.source import nearest
from voicewalk.card.spoken import fold, unknown_words

UNITS = frozenset(
    {
        "psi",
        "psig",
        "bar",
        "inch",
        "millimetre",
        "percent",
        "quart",
        "pint",
        "litre",
        "gallon",
        "kilogram",
        "pound",
        "volt",
        "ampere",
        "degree celsius",
        "degree fahrenheit",
        "minute",
        "hour",
        "drops per minute",
        "knot",
    }
)
"""Units a reading may have. How each is spoken is told in ``language.units``."""

BELOW_ZERO = ("degree celsius", "degree fahrenheit")
"""Units of which a reading may be below zero. "Minus" is said before no other, nor heard on a card
without them."""

GENERAL = "general"
"""The family of defects that goes with every item of every card: it holds the opposite of
"satisfactory", so that a bad call is never heard as a good one for want of words."""


NO_RECORD_SAYS = ("airworthy", "fit for flight", "fit for use", "safe to fly", "safe for flight")


def faults(card: Card, families: Collection[str]) -> list[Fault]:
    """All faults of ``card``; ``families`` are the defect families of its vocabularies."""
    found = [*_card(card), *_ids(card), *plan_faults(card)]
    for item in card:
        found += _words(item)
        found += _KIND_CHECKS[item.kind](item)
        found += [*count_faults(item, card), *side_faults(item, card), *hold_faults(item)]
        found += reading_faults(item, card)
        found += _strangers(item)
        found += _limits(item)
        found += _families(item, families)
        found += _references(item, card)
    return [*found, *_names(card), *_circles(card, "needs"), *_circles(card, "reopened_by")]


def _card(card: Card) -> Iterator[Fault]:
    if not card.stations:
        yield Fault("the card has no stations", "Add a station.", key=("stations",))
    if not card.caution:
        yield Fault(
            "the card has no caution",
            "Say what the card is for, and which documents rule.",
            key=("caution",),
        )
    if not card.vocabularies:
        yield Fault(
            "the card names no vocabulary", "Write 'vocabularies: english'.", key=("vocabularies",)
        )
    yield from _release(card.release)
    for key in ("stand_by_seconds", "silent_seconds"):
        if getattr(card, key) and card.after_interruption is None:
            yield Fault(
                f"the card limits '{key}' and has no rule for what is done again",
                "Write 'after_interruption: back three', or remove the limit.",
                key=(key,),
            )
    if rule := card.status:
        for key in ("critical", "usual"):
            if getattr(rule, key) not in rule.order:
                yield Fault(
                    f"the status '{getattr(rule, key)}' is not in 'order'",
                    nearest(getattr(rule, key), rule.order),
                    key=("status", key),
                )
    for station in card.stations:
        if not station.items:
            yield Fault(
                f"the station '{station.name}' has no items",
                "Add an item, or remove the station.",
                station=station.id,
            )
        if bad := unknown_words(station.name):
            yield Fault(*_unspeakable(bad), station=station.id, key=("station",))


def _release(release: Release | None) -> Iterator[Fault]:
    """Both words are there, and neither says what no record can."""
    if release is None:
        return
    for key, words in (("released", release.released), ("not_released", release.not_released)):
        if not words:
            yield Fault(
                "the card has words for one answer to a release and not for the other",
                "Write both 'released' and 'not_released', or remove 'release'.",
                key=("release", key),
            )
        elif said := [one for one in NO_RECORD_SAYS if one in words.casefold()]:
            yield Fault(
                f"no record declares anything '{said[0]}'",
                "Say what is done next, such as 'released for maintenance action'.",
                key=("release", key),
            )


def _ids(card: Card) -> Iterator[Fault]:
    for name, count in Counter(station.id for station in card.stations).items():
        if count > 1:
            yield Fault(
                f"{count} stations have the id '{name}'", "Name them differently.", station=name
            )
    for name, count in Counter(item.id for item in card).items():
        if count > 1:
            yield Fault(f"{count} items have the id '{name}'", "Name them differently.", item=name)


def _words(item: Item) -> Iterator[Fault]:
    """Every word of an item must be one that can be spoken."""
    for name in (item.name, *item.aliases):
        if bad := unknown_words(name):
            key = "name" if name == item.name else "also"
            yield Fault(*_unspeakable(bad), item=item.id, key=(key,))
            return
    for state in item.states:
        for word in (state.name, *state.words):
            if bad := unknown_words(word):
                yield Fault(*_unspeakable(bad), item=item.id, key=("state",))


def _unspeakable(words: list[str]) -> tuple[str, str]:
    shown = ", ".join(f"'{word}'" for word in words)
    return (
        f"unknown word {shown}",
        "Write it as it is spoken, in lower-case letters; a digit as a word ('two').",
    )


def _condition(item: Item) -> Iterator[Fault]:
    """Nothing is due: a condition is answered with words of the vocabulary. Counts are
    ``counts``'."""
    return iter(())


def _state(item: Item) -> Iterator[Fault]:
    for good, example in ((True, "good: closed"), (False, "bad: open / not closed")):
        if not any(state.good is good for state in item.states):
            yield Fault(
                f"'{item.name}' has no {'good' if good else 'bad'} state",
                f"Write it, such as '{example}'.",
                item=item.id,
                key=("state",),
            )
    good_words, bad_words = _state_words(item, good=True), _state_words(item, good=False)
    for word in good_words:
        if bad_words and not any(f" {word} " in f" {other} " for other in bad_words):
            yield Fault(
                f"no bad state of '{item.name}' is said with '{word}'",
                f"Add such as 'not {word}' to 'bad': else it could only be heard as '{word}'.",
                item=item.id,
                key=("state",),
            )
    words = Counter([*good_words, *bad_words])
    for word, count in words.items():
        if count > 1:
            yield Fault(
                f"'{word}' is written {count} times among the states of '{item.name}'",
                "Keep it in one state.",
                item=item.id,
                key=("state",),
            )


def _state_words(item: Item, *, good: bool) -> list[str]:
    """All ways to say the good, or the bad, states."""
    states = [state for state in item.states if state.good is good]
    return [fold(word) for state in states for word in (state.name, *state.words)]


def _key(item: Item) -> str:
    return item.kind.value


def _reading(item: Item) -> Iterator[Fault]:
    if not item.unit:
        yield Fault(
            f"the reading of '{item.name}' has no unit",
            f"Write the unit, such as '{_key(item)}: psi'.",
            item=item.id,
            key=(_key(item),),
        )
    for unit in item.units:
        if unit not in UNITS:
            yield Fault(
                f"unknown unit '{unit}'", nearest(unit, UNITS), item=item.id, key=(_key(item),)
            )
    if item.kind is Kind.SERVICING and len(item.states) != 2:
        yield Fault(
            f"'{item.name}' is not called before and after",
            "Write 'counted: [before, after]' with two words of your own, or leave it out.",
            item=item.id,
            key=("counted",),
        )


_KIND_CHECKS = {
    Kind.CONDITION: _condition,
    Kind.STATE: _state,
    Kind.READING: _reading,
    Kind.COUNT: _condition,
    Kind.SERVICING: _reading,
}


def _strangers(item: Item) -> Iterator[Fault]:
    """What an item of this kind cannot have."""
    if item.limit and item.kind not in (Kind.READING, Kind.SERVICING):
        yield Fault(
            f"'{item.name}' has a limit but no reading",
            "Write 'reading' and its unit, or remove the limit.",
            item=item.id,
            key=("limit",),
        )


def _limits(item: Item) -> Iterator[Fault]:
    for limit in (item.limit, *item.other_limits):
        if limit:
            yield from _limit(item, limit)


def _limit(item: Item, limit: Limit) -> Iterator[Fault]:
    name = item.name
    if not limit.unit:
        what = (f"the limit of '{name}' has no unit", f"Write it, such as 'unit: {item.unit}'.")
        yield Fault(*what, item=item.id, key=("limit",))
    elif limit.unit not in item.units:
        yield Fault(
            f"the limit of '{name}' is in {limit.unit}, its reading in {item.unit or 'no unit'}",
            "Use one unit for both: nothing is converted silently.",
            item=item.id,
            key=("limit", "unit"),
        )
    if not limit.reference:
        yield Fault(
            f"the limit of '{name}' does not say where it comes from",
            "Write the document and its part, such as 'reference: ...'.",
            item=item.id,
            key=("limit",),
        )
    if limit.low is None and limit.high is None:
        yield Fault(
            f"the limit of '{name}' has neither 'low' nor 'high'",
            "Write at least one, or remove the limit.",
            item=item.id,
            key=("limit",),
        )
    elif limit.low is not None and limit.high is not None and limit.low > limit.high:
        yield Fault(
            f"the limit of '{name}' is low {limit.low}, high {limit.high}",
            "Swap the two numbers.",
            item=item.id,
            key=("limit", "low"),
        )


def _families(item: Item, families: Collection[str]) -> Iterator[Fault]:
    for n, family in enumerate(item.defects):
        if family not in families:
            yield Fault(
                f"unknown defects '{family}'",
                nearest(family, families),
                item=item.id,
                key=("defects", n),
            )


def _references(item: Item, card: Card) -> Iterator[Fault]:
    for key in ("needs", "reopened_by", "places"):
        for reference in getattr(item, key):
            if reference not in card.by_id:
                yield Fault(
                    f"'{reference}' is no item of this card",
                    nearest(reference, {*card.by_id, *card.groups}),
                    item=item.id,
                    key=(key,),
                )


def _names(card: Card) -> Iterator[Fault]:
    """No name may lead to two items; a bare name leads to the two sides of one item only."""
    owners: dict[str, Item] = {}
    for item in card:
        for name in (item.name, *item.aliases):
            other = owners.setdefault(fold(name), item)
            if other is not item:
                yield _ambiguous(name, item, other)
        if doubled := _doubled((item.name, *item.aliases)):
            yield Fault(
                f"'{doubled}' is written twice for '{item.name}'", "Keep one.", item=item.id
            )
    bare: dict[str, Item] = {}
    for item in card:
        for name in item.bare_names:
            other = owners.get(fold(name)) or bare.setdefault(fold(name), item)
            if other.group != item.group or fold(name) in owners:
                yield _ambiguous(name, item, other)


def _doubled(names: tuple[str, ...]) -> str:
    return next((name for name, count in Counter(map(fold, names)).items() if count > 1), "")


def _ambiguous(name: str, item: Item, other: Item) -> Fault:
    return Fault(
        f"ambiguous name '{name}': '{other.name}' (line {other.line}) is called so too",
        "Give each item a name of its own.",
        item=item.id,
        key=("name",),
    )


def _circles(card: Card, key: str) -> Iterator[Fault]:
    """Items that wait for each other can never be closed."""
    done: set[str] = set()
    for start in card.by_id:
        path: list[str] = []
        if circle := _circle(start, card, key, path, done):
            yield Fault(
                f"'{key}' runs in a circle: {' -> '.join(circle)}",
                "Remove one of these references.",
                item=circle[0],
                key=(key,),
            )


def _circle(name: str, card: Card, key: str, path: list[str], done: set[str]) -> list[str] | None:
    """A circle that ``name`` leads to, told once; depth first."""
    if name in path:
        return [*path[path.index(name) :], name]
    if name in done or name not in card.by_id:
        return None
    path.append(name)
    done.add(name)
    for reference in getattr(card.by_id[name], key):
        if circle := _circle(reference, card, key, path, done):
            return circle
    path.pop()
    return None
