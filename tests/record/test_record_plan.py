"""The plan drawing: states by shape and in words, the way as walked, and texts as texts."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from decimal import Decimal

import pytest
from record_samples import CAUTION, at, call, started

from voicewalk.card.load import card_path, load_card, shipped
from voicewalk.card.model import Card, Item, Kind, Side, Station
from voicewalk.record.chain import Entry
from voicewalk.record.plan import plan_svg, station_states, walked
from voicewalk.record.summary import summary

SVG = "{http://www.w3.org/2000/svg}"


def station(name, *items, at=None):
    made = [Item(i, i, name, i, (), (), Side.NONE, Kind.CONDITION) for i in items]
    return Station(name, name, "", tuple(made), at)


def card(*stations, **more):
    return Card("sample", "Sample", "1", "aircraft", CAUTION, (), stations, **more)


SHIP = card(
    station("bow", "anchor", "chain"), station("mast", "ladder"), station("stern", "rudder")
)


def entry(name, where, result="satisfactory", **more):
    body = {"kind": "item", "input": call(), "item": name, "name": name, "station": where}
    return {**body, "result": result, **more}


def told(*bodies):
    return summary(Entry(n, 1, at(n), body) for n, body in enumerate((started(4), *bodies), 1))


def states(*bodies):
    return {one.station.id: (one.kind, one.words) for one in station_states(SHIP, told(*bodies))}


def test_a_station_is_open_before_anything_is_called():
    assert states() == {
        "bow": ("open", ("2 open",)),
        "mast": ("open", ("1 open",)),
        "stern": ("open", ("1 open",)),
    }


def test_the_worst_is_told_first_and_nothing_else_is_left_out():
    found = states(
        entry("anchor", "bow", "discrepancy", discrepancy={"defect": "crack"}),
        entry("anchor", "bow", "discrepancy", discrepancy={"defect": "dent"}),
        entry("ladder", "mast", "not inspected"),
        entry("rudder", "stern", "not applicable"),
    )
    assert found == {
        "bow": ("discrepancy", ("2 discrepancies", "1 open")),
        "mast": ("not-inspected", ("1 not inspected",)),
        "stern": ("done", ("done",)),
    }


def test_a_discrepancy_that_was_corrected_is_none():
    bad = entry("ladder", "mast", "discrepancy", discrepancy={"defect": "crack"})
    assert states(bad, entry("ladder", "mast", replaces=2))["mast"] == ("done", ("done",))


def test_a_discrepancy_of_an_item_that_is_open_again_still_shows():
    bad = entry("ladder", "mast", "discrepancy", discrepancy={"defect": "crack"})
    again = entry("rudder", "stern", reopens=["ladder"])
    assert states(bad, again)["mast"] == ("discrepancy", ("1 discrepancy", "1 open"))


def test_the_way_is_told_as_walked():
    way = told(entry("rudder", "stern"), entry("anchor", "bow"), entry("chain", "bow"))
    assert walked(SHIP, way) == ("stern", "bow")
    back = told(entry("rudder", "stern"), entry("anchor", "bow"), entry("rudder", "stern"))
    assert walked(SHIP, back) == ("stern", "bow", "stern")
    assert walked(SHIP, told(entry("plank", "nowhere"))) == ()


def test_each_state_has_a_shape_and_words_of_its_own():
    """WCAG 2.2, 1.4.1: colour is not the only means by which something is told."""
    drawn = ET.fromstring(
        plan_svg(
            card(*SHIP.stations, station("keel", "plate")),
            told(
                entry("anchor", "bow", "discrepancy", discrepancy={"defect": "crack"}),
                entry("ladder", "mast", "not inspected"),
                entry("rudder", "stern"),
            ),
        )
    )
    groups = [g for g in drawn.iter(f"{SVG}g") if "station" in g.get("class", "").split()]
    shapes = {
        (g[0].tag, g[0].get("stroke-dasharray"), sum("shape" in e.get("class", "") for e in g))
        for g in groups
    }
    assert len(shapes) == len(groups) == 4
    texts = [[text.text for text in g.iter(f"{SVG}text")] for g in groups]
    assert texts == [
        ["1", "bow", "1 discrepancy", "1 open"],
        ["2", "mast", "1 not inspected"],
        ["3", "stern", "done"],
        ["4", "keel", "1 open"],
    ]


def test_the_drawing_is_told_in_words_too():
    """WAI-ARIA: an image has a name, here by the title, and a description."""
    drawn = ET.fromstring(plan_svg(SHIP, told(entry("rudder", "stern"), entry("anchor", "bow"))))
    title, described = drawn.find(f"{SVG}title"), drawn.find(f"{SVG}desc")
    assert drawn.get("role") == "img"
    assert drawn.get("aria-labelledby").split() == [title.get("id"), described.get("id")]
    assert title.text == "Plan of the walk, aircraft VW 012"
    assert described.text == (
        "1 bow: 1 open. 2 mast: 1 open. 3 stern: done. Walked in this order: 3, 1."
    )


def lines(drawn):
    names = ("x1", "y1", "x2", "y2")
    return [tuple(float(one.get(name)) for name in names) for one in drawn.iter(f"{SVG}line")]


def test_stations_stand_where_the_card_says_and_the_way_goes_through_them():
    places = [(20, 10), (80, 10), (50, 120)]
    placed = [
        replace(one, at=(Decimal(x), Decimal(y)))
        for one, (x, y) in zip(SHIP.stations, places, strict=True)
    ]
    shape = ((Decimal(50), Decimal(0)), (Decimal(90), Decimal(150)), (Decimal(10), Decimal(150)))
    way = told(entry("rudder", "stern"), entry("anchor", "bow"))
    drawn = ET.fromstring(plan_svg(card(*placed, outline=shape), way))
    assert lines(drawn) == [(50, 120, 20, 10)]
    outline = next(one for one in drawn.iter(f"{SVG}polygon") if one.get("class") == "outline")
    assert outline.get("points") == "50,0 90,150 10,150"


def test_without_places_the_walk_runs_through_the_rows():
    names = [f"s{n}" for n in range(7)]
    many = card(*(station(name, f"i{name}") for name in names))
    drawn = ET.fromstring(plan_svg(many, told(*(entry(f"i{name}", name) for name in names))))
    stretches = lines(drawn)
    assert len(stretches) == 6
    assert all((x == to_x) != (y == to_y) for x, y, to_x, to_y in stretches)
    assert len({stretch[:2] for stretch in stretches}) == 6


@pytest.mark.parametrize("name", shipped())
def test_all_that_is_drawn_of_a_shipped_card_lies_within_the_drawing(name):
    loaded = load_card(card_path(name))
    drawn = ET.fromstring(plan_svg(loaded, summary([])))
    left, top, width, height = map(float, drawn.get("viewBox").split())
    groups = [g for g in drawn.iter(f"{SVG}g") if g.get("transform")]
    assert len(groups) == len(loaded.stations)
    for group in groups:
        x, y = map(float, group.get("transform").removeprefix("translate(")[:-1].split())
        texts = list(group.iter(f"{SVG}text"))
        # Six tenths of the size is about a letter's width in common sans-serif faces.
        half = max(len(text.text) for text in texts) * 0.6 * 3.3 / 2
        assert left <= x - half
        assert x + half <= left + width
        assert top <= y - 6
        assert y + max(float(text.get("y")) for text in texts) <= top + height


HOSTILE = '</text><script>alert("1")</script>&amp;\x07\x1b[2J\u202e'


def test_hostile_texts_come_out_as_texts():
    hostile = card(station(HOSTILE, "anchor"))
    text = plan_svg(hostile, told(entry("anchor", HOSTILE)))
    drawn = ET.fromstring(text)
    assert not list(drawn.iter(f"{SVG}script"))
    shown = " ".join(t.text for t in drawn.iter(f"{SVG}text"))
    assert '</text><script>alert("1")</script>&amp;' in shown.replace(" ", "")
    assert not {"\x07", "\x1b", "\u202e"} & set(text)


def test_styles_are_attributes_only():
    """Content Security Policy Level 3: without 'unsafe-inline' no style attribute is heeded."""
    drawn = ET.fromstring(plan_svg(SHIP, told(entry("rudder", "stern"))))
    assert all(one.get("style") is None and one.tag != f"{SVG}style" for one in drawn.iter())
