"""Every call that a card allows has exactly one meaning, with the right fields.

On both cards that come with the program, and on small ones where a rule needs a card of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import pytest
from language_cards import SHIPPED, Laid, item, laid, shipped

from voicewalk.card.model import Item, Kind, State
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.language.numbers import spoken_forms
from voicewalk.language.units import UNITS

ON_BOTH = pytest.mark.parametrize("on", [shipped(name) for name in SHIPPED], ids=SHIPPED)

NUMBERS = [Decimal(n) for n in ("0", "7", "13", "95", "210", "3.5", "0.25", "105.125")]


def names(one: Item) -> tuple[str, ...]:
    return (one.name, *one.aliases)


def units(on: Laid, own: str) -> Iterator[tuple[str, str]]:
    """Every unit word of the card, with the unit it means after an item whose unit is ``own``."""
    used = dict.fromkeys(i.unit for i in on.card if i.unit)
    for word in dict.fromkeys(word for unit in used for word in UNITS[unit].words):
        meant = [unit for unit in used if word in UNITS[unit].words]
        yield word, own if own in meant else "/".join(meant)


@ON_BOTH
def test_a_name_alone_names_its_item(on):
    calls = {name: Meaning(Act.ITEM, item=i.id) for i in on.card for name in names(i)}
    assert on.misread(calls) == {}


@ON_BOTH
def test_a_name_without_its_side_names_the_group(on):
    calls = {name: Meaning(Act.ITEM, group=i.group) for i in on.card for name in i.bare_names}
    assert on.misread(calls) == {}
    assert (
        on.misread(
            {
                f"{name} satisfactory": replace(meaning, act=Act.SATISFACTORY)
                for name, meaning in calls.items()
            }
        )
        == {}
    )


@ON_BOTH
def test_every_result_word_after_every_item_and_alone(on):
    results = {Act.SATISFACTORY: on.words.satisfactory, Act.NOT_APPLICABLE: on.words.not_applicable}
    for act, term in results.items():
        for word in term.words:
            calls = {
                f"{name} {word}": Meaning(act, item=i.id) for i in on.card for name in names(i)
            }
            assert on.misread({**calls, word: Meaning(act)}) == {}


@ON_BOTH
def test_every_state_of_every_item_and_alone(on):
    of_items, alone = {}, {}
    for one in on.card:
        for state in one.states:
            for way in (state.name, *state.words):
                alone[way] = Meaning(Act.STATE, state=state.name)
                for name in names(one):
                    of_items[f"{name} {way}"] = Meaning(Act.STATE, item=one.id, state=state.name)
    assert on.misread(of_items) == {}
    assert on.misread(alone) == {}


@ON_BOTH
@pytest.mark.parametrize("value", NUMBERS, ids=str)
def test_readings_with_each_unit_and_without(on, value):
    calls = {}
    for one in (i for i in on.card if i.kind is Kind.READING):
        for words in spoken_forms(value, fractions=True):
            said = f"{one.name} {' '.join(words)}"
            reading = Meaning(Act.READING, item=one.id, value=f"{value.normalize():f}")
            calls[said] = reading
            for word, unit in units(on, one.unit):
                calls[f"{said} {word}"] = replace(reading, unit=unit)
    assert on.misread(calls) == {}


@ON_BOTH
def test_readings_in_digits(on):
    for one in (i for i in on.card if i.kind is Kind.READING):
        reading = Meaning(Act.READING, item=one.id, value="1800", unit=one.unit)
        word = UNITS[one.unit].words[0]
        assert (
            on.misread(
                {
                    f"{one.name} 1800 {word}": reading,
                    f"{one.name} 1,800 {word}": reading,
                    f"{one.name} 3.50 {word}": replace(reading, value="3.5"),
                }
            )
            == {}
        )


@ON_BOTH
def test_readings_alone(on):
    calls = {"two one zero": Meaning(Act.READING, value="210")}
    calls["210"] = calls["two one zero"]
    for word, unit in units(on, ""):
        calls[f"two one zero {word}"] = Meaning(Act.READING, value="210", unit=unit)
    assert on.misread(calls) == {}


@ON_BOTH
@pytest.mark.parametrize("value", [0, 1, 3, 4, 12, 99])
def test_counts(on, value):
    calls = {}
    for one in (i for i in on.card if i.kind is Kind.COUNT):
        count = Meaning(Act.COUNT, item=one.id, value=str(value))
        calls[f"{one.name} {value}"] = count
        for words in spoken_forms(Decimal(value)):
            calls[f"{one.name} {' '.join(words)}"] = count
    assert on.misread(calls) == {}


@ON_BOTH
@pytest.mark.parametrize("number", ["three point five", "a half", "3.5", "one hundred"])
def test_a_count_is_a_whole_number_of_two_digits_and_never_more(on, number):
    counted = [i.name for i in on.card if i.kind is Kind.COUNT]
    assert counted
    assert [name for name in counted if on.read(f"{name} {number}")] == []


@ON_BOTH
def test_a_number_alone_has_one_meaning_though_it_may_be_a_count(on):
    """Whether it is a count, the item asked for tells; two meanings could only be asked back."""
    assert on.misread({"four": Meaning(Act.READING, value="4")}) == {}


def test_a_number_alone_is_a_count_where_the_card_has_no_reading():
    assert (
        laid(item("static wicks", Kind.COUNT, expected=3)).misread(
            {"four": Meaning(Act.COUNT, value="4")}
        )
        == {}
    )


def defects(on: Laid, one: Item | None = None) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Ways to say a defect, its name and the units that its size may have."""
    for family in one.defects if one else on.words.families:
        family = on.words.families[family]
        for term in family.defects:
            sizes = family.size_units if term.name in family.sized else ()
            for way in term.words:
                yield way, term.name, sizes


@ON_BOTH
def test_every_defect_of_every_item(on):
    calls = {
        f"{name} {way}": Meaning(Act.DISCREPANCY, item=one.id, defect=defect)
        for one in on.card
        for name in names(one)
        for way, defect, _ in defects(on, one)
    }
    assert on.misread(calls) == {}


@ON_BOTH
def test_defects_with_every_place_before_or_after(on):
    one = max(on.card, key=lambda i: len(i.defects))
    calls = {}
    for way, defect, _ in defects(on, one):
        for place in on.words.places:
            for word in place.words:
                found = Meaning(Act.DISCREPANCY, item=one.id, defect=defect, place=place.name)
                calls[f"{one.name} {word} {way}"] = found
                calls[f"{one.name} {way} {word}"] = found
                calls[f"{way} {word}"] = replace(found, item="")
    assert on.misread(calls) == {}


@ON_BOTH
def test_defects_with_sizes_and_places(on):
    calls = {}
    for one in on.card:
        for way, defect, sizes in defects(on, one):
            for unit in sizes:
                found = Meaning(
                    Act.DISCREPANCY, item=one.id, defect=defect, size="0.5", size_unit=unit
                )
                placed = replace(found, place="two o'clock")
                word = UNITS[unit].words[0]
                calls[f"{one.name} {way} zero point five {word}"] = found
                calls[f"{one.name} {way} 0.5 {word}"] = found
                calls[f"{one.name} {way} half {word} two o'clock"] = placed
                calls[f"{one.name} two o'clock {way} half {word}"] = placed
    assert on.misread(calls) == {}


@ON_BOTH
def test_two_places_are_both_kept(on):
    one = next(i for i in on.card if "crack" in dict(d[:2] for d in defects(on, i)))
    found = Meaning(Act.DISCREPANCY, item=one.id, defect="crack", place="upper leading edge")
    assert (
        on.misread(
            {
                f"{one.name} upper crack leading edge": found,
                f"{one.name} upper crack upper": replace(found, place="upper"),
            }
        )
        == {}
    )


@ON_BOTH
def test_a_size_needs_its_unit(on):
    one = next(i for i in on.card if "tyre" in i.defects)
    assert on.read(f"{one.name} cut half") == []
    assert on.read(f"{one.name} cut 2") == []


@ON_BOTH
def test_not_inspected_with_each_reason_and_without(on):
    one = next(iter(on.card))
    calls = {}
    for result in on.words.not_inspected.words:
        bare = Meaning(Act.NOT_INSPECTED)
        calls |= {result: bare, f"{one.name} {result}": replace(bare, item=one.id)}
        for reason in on.words.reasons:
            for way in reason.words:
                for because in ("", *(f"{word} " for word in on.words.because)):
                    found = replace(bare, item=one.id, reason=reason.name)
                    calls[f"{one.name} {result} {because}{way}"] = found
    assert on.misread(calls) == {}


@ON_BOTH
def test_commands_sides_and_choices(on):
    calls = {
        way: Meaning(Act.COMMAND, command=name)
        for name, term in on.words.commands.items()
        for way in term.words
    }
    for side, term in (("left", on.words.left), ("right", on.words.right)):
        calls |= {way: Meaning(Act.SIDE, side=side) for way in term.words}
    for choice, term in (("first", on.words.first), ("second", on.words.second)):
        calls |= {way: Meaning(Act.CHOICE, choice=choice) for way in term.words}
    assert on.misread(calls) == {}


@ON_BOTH
def test_correction_before_any_call_but_a_command(on):
    calls = {}
    one = next(i for i in on.card if i.kind is Kind.READING)
    word = UNITS[one.unit].words[0]
    for correction in on.words.commands[Command.CORRECTION].words:
        reading = Meaning(Act.READING, value="210", unit=one.unit, corrects=True)
        calls[f"{correction} {one.name} two one zero {word}"] = replace(reading, item=one.id)
        calls[f"{correction} two one zero {word}"] = reading
        calls[f"{correction} {one.name}"] = Meaning(Act.ITEM, item=one.id, corrects=True)
        calls[f"{correction} dirty"] = Meaning(Act.DISCREPANCY, defect="dirty", corrects=True)
        assert on.read(f"{correction} affirm") == []
        assert on.read(f"{correction} {correction} dirty") == []
    assert on.misread(calls) == {}


def goods(one: Item) -> Iterator[tuple[str, str]]:
    for state in one.states:
        if state.good:
            for way in (state.name, *state.words):
                yield way, state.name


@ON_BOTH
def test_a_good_state_denied_is_never_the_good_state(on):
    turned, denied = {}, 0
    for one in on.card:
        for way, good in goods(one):
            for call in (f"{one.name} not {way}", f"{one.name} un{way}", f"not {way}", f"un{way}"):
                found = on.read(call)
                denied += bool(found)
                if any(m.state == good and m.item in ("", one.id) for m in found):
                    turned[call] = found
    assert denied > 10
    assert turned == {}


@ON_BOTH
def test_no_denied_result_is_satisfactory(on):
    for way in on.words.satisfactory.words:
        for call in (f"not {way}", f"un{way}"):
            for prefix in ("", *(f"{i.name} " for i in on.card)):
                assert all(m.act is not Act.SATISFACTORY for m in on.read(prefix + call))


@ON_BOTH
@pytest.mark.parametrize("words", ["roger", "okay", "checked", "all good", "two one", "good good"])
def test_other_words_have_no_meaning_after_a_condition(on, words):
    one = next(i for i in on.card if i.kind is Kind.CONDITION)
    assert on.read(f"{one.name} {words}") == []


@ON_BOTH
def test_silence_has_no_meaning(on):
    assert on.read("") == []
    assert on.read(" . ") == []


def masses() -> Laid:
    """Pressures and masses share the word "pounds"; no shipped card has both."""
    psi = {"kind": Kind.READING, "unit": "psi"}
    return laid(
        item("nose tyre pressure", **psi),
        item("ballast", Kind.READING, unit="pound"),
        item("oil level", Kind.READING, unit="quart"),
        item("left bottle", group="bottle", bare_names=("bottle",), **psi),
        item("right bottle", group="bottle", bare_names=("bottle",), **psi),
    )


@pytest.mark.parametrize(
    ("call", "unit"),
    [
        ("nose tyre pressure two one zero pounds", "psi"),
        ("nose tyre pressure two one zero psi", "psi"),
        ("bottle two one zero pounds", "psi"),
        ("ballast two one zero pounds", "pound"),
        ("ballast two one zero pound", "pound"),
        # No item decides, or one that has neither: both stay open.
        ("two one zero pounds", "psi/pound"),
        ("oil level two one zero pounds", "psi/pound"),
        # A wrong unit is kept as it was said, never bent into the right one.
        ("nose tyre pressure two one zero quarts", "quart"),
        ("ballast two one zero psi", "psi"),
        ("oil level two one zero pounds per square inch", "psi"),
        ("ballast two one zero", ""),
    ],
)
def test_pounds_are_settled_by_the_item(call, unit):
    (meaning,) = masses().read(call)
    assert (meaning.act, meaning.value, meaning.unit) == (Act.READING, "210", unit)


def test_a_reading_far_off_its_limit_can_be_said():
    low = laid(item("gap", Kind.READING, unit="inch"))
    assert (
        low.misread(
            {"gap nine hundred inches": Meaning(Act.READING, item="gap", value="900", unit="inch")}
        )
        == {}
    )


def test_hyphens_and_apostrophes_of_a_card_can_be_typed_and_said():
    on = laid(item("crew's fly-by-wire box"), item("tyres' caps"))
    assert (
        on.misread(
            {
                "crew's fly by wire box": Meaning(Act.ITEM, item="crew's-fly-by-wire-box"),
                "crew's fly-by-wire box": Meaning(Act.ITEM, item="crew's-fly-by-wire-box"),
                "tyres' caps": Meaning(Act.ITEM, item="tyres'-caps"),
                "tyres caps": Meaning(Act.ITEM, item="tyres'-caps"),
            }
        )
        == {}
    )
    assert not any("-" in word for word in on.graph.words)


def test_a_filler_may_open_a_call_and_means_nothing():
    plain = laid(item("radome"))
    words = replace(plain.words, fillers=("and", "well then"))
    on = Laid(plain.card, words, phrase_graph(plain.card, words))
    good = Meaning(Act.SATISFACTORY, item="radome")
    assert (
        on.misread(
            {"and radome good": good, "well then and radome good": good, "radome good": good}
        )
        == {}
    )
    assert on.read("radome and good") == []
    assert on.read("and") == []


def test_items_of_one_kind_share_what_is_said_of_them():
    """What an item brings are its names, where calls, questions and second calls begin."""
    few = laid(item("radome"), item("pitot probe"))
    many = laid(item("radome"), item("pitot probe"), *(item(f"panel {x}") for x in ("a", "b")))
    own = {arc for arc in many.graph.arcs if arc.word in ("panel", "a", "b")}
    for graph in (few.graph, many.graph):
        assert len({arc.word for arc in graph.arcs}) > 100
    assert len(many.graph.arcs) - len(few.graph.arcs) <= len(own) < 40


@pytest.mark.parametrize("way", ["latched", "not latched", "unlatched", "relatched"])
def test_a_state_said_of_an_item_that_has_no_such_state_is_refused(way):
    door = item(
        "door", Kind.STATE, states=(State("latched", (), True), State("not latched", (), False))
    )
    on = laid(door, item("radome"))
    assert on.read(f"radome {way}") == []
    assert bool(on.read(f"door {way}")) is (way != "relatched")
