"""Checks of any card, drawn by hypothesis: what passes has names that lead to one item each."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from voicewalk.card.checks import UNITS, faults
from voicewalk.card.model import Card, Item, Kind, Limit, Side, State, Station
from voicewalk.card.spoken import fold, unknown_words
from voicewalk.language.units import UNITS as SPOKEN_UNITS

# Few words, so that names clash often; with spellings that fold to the same, and faulty ones.
PLAIN_WORDS = ["oil", "pump", "air-duct", "air duct", "crew's", "crews", "hatch", "lamp", "valve"]
WORDS = st.sampled_from(PLAIN_WORDS * 5 + ["Oil", "2"])
NAMES = st.lists(WORDS, min_size=1, max_size=2).map(" ".join)
GROUPS = st.sampled_from([f"item-{letter}" for letter in "abcdefghij"])


@st.composite
def items(draw) -> list[Item]:
    """An item without a side, or the two sides of one."""
    name, group = draw(NAMES), draw(GROUPS)
    also = draw(st.lists(NAMES, max_size=1))
    common = {"group": group, "station": "room", "kind": Kind.CONDITION}
    if not draw(st.booleans()):
        return [
            Item(group, name=name, aliases=tuple(also), bare_names=(), side=Side.NONE, **common)
        ]
    return [
        Item(
            f"{side}-{group}",
            name=f"{side} {name}",
            aliases=tuple(f"{side} {other}" for other in also),
            bare_names=(name, *also),
            side=side,
            **common,
        )
        for side in (Side.LEFT, Side.RIGHT)
    ]


def card_of(*some: Item) -> Card:
    station = Station("room", "room", "stopped", some)
    return Card("c", "t", "1", "pump", "For tests.", ("english",), (station,))


@st.composite
def cards(draw) -> Card:
    """Some items; a few of them need others of the card, or one that is not on it."""
    drawn = [item for group in draw(st.lists(items(), min_size=1, max_size=4)) for item in group]
    known = st.sampled_from([item.id for item in drawn] * 3 + ["not-there"])
    references = st.lists(known, max_size=1).map(tuple)
    return card_of(*(replace(item, needs=draw(references)) for item in drawn))


CARDS = cards()


@given(CARDS)
def test_a_card_that_passes_has_unique_spoken_names(card):
    full = Counter(fold(name) for item in card for name in {item.name, *item.aliases})
    clear = not faults(card, {"general"})
    assert not clear or set(full.values()) == {1}
    bare = {(fold(name), item.group) for item in card for name in item.bare_names}
    assert not clear or len({name for name, _ in bare}) == len(bare)
    assert not clear or not full.keys() & {name for name, _ in bare}


@given(CARDS)
def test_a_card_that_passes_has_unique_ids_and_known_references(card):
    if not faults(card, {"general"}):
        assert len(card) == len(list(card))
        assert all(need in card.by_id for item in card for need in item.needs)


@given(CARDS)
def test_a_card_that_passes_can_be_walked_in_some_order(card):
    """Every item's needs can be closed before it: there is no circle."""
    closed: set[str] = set()
    if not faults(card, {"general"}):
        for _ in card.by_id:
            closed |= {item.id for item in card if set(item.needs) <= closed}
        assert closed == set(card.by_id)


@given(CARDS)
def test_a_card_with_a_clash_is_refused(card):
    """The other way round: two items of one name never pass."""
    owners: dict[str, set[str]] = {}
    for item in card:
        for name in (item.name, *item.aliases):
            owners.setdefault(fold(name), set()).add(item.id)
    clash = any(len(ids) > 1 for ids in owners.values())
    assert not clash or faults(card, {"general"})


PLAIN = Item("pump", "pump", "room", "pump", (), (), Side.NONE, Kind.CONDITION)
STATES = (State("open", (), True), State("closed", ("not open",), False))
LIMIT = Limit(Decimal(1), None, "psi", "handbook")


def test_a_sound_card_has_no_faults():
    valve = replace(PLAIN, id="valve", name="valve", kind=Kind.STATE, states=STATES)
    gauge = replace(PLAIN, id="gauge", name="gauge", kind=Kind.READING, unit="psi", limit=LIMIT)
    bolts = replace(PLAIN, id="bolts", name="bolts", kind=Kind.COUNT, expected=0)
    assert faults(card_of(PLAIN, valve, gauge, bolts), set()) == []


def test_a_reading_that_is_only_written_down_needs_no_limit():
    gauge = replace(PLAIN, kind=Kind.READING, unit="drops per minute")
    assert faults(card_of(gauge), set()) == []


def test_the_units_of_cards_are_those_that_can_be_spoken():
    assert set(SPOKEN_UNITS) == UNITS


def test_words_that_can_be_spoken():
    assert unknown_words("crew's air-duct o'clock") == []
    assert unknown_words("Oil pump2 - 'tis") == ["Oil", "pump2", "-", "'tis"]
    assert unknown_words("  ") == [""]
