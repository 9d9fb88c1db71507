"""Mirrored items: written once, laid out for both sides, with their differences."""

from __future__ import annotations

from decimal import Decimal

import pytest
from card_marked import card, write

from voicewalk.card.load import load_card
from voicewalk.card.model import Side
from voicewalk.errors import SourceError


def load(folder, items="", **kwargs):
    path, _ = write(folder, card(items, **kwargs))
    return load_card(path)


def test_both_sides_are_made_of_one(tmp_path):
    left, right = load(tmp_path, "- name: oil pump\n  also: pump\n  sides: [left, right]\n")
    assert (left.id, right.id) == ("left-oil-pump", "right-oil-pump")
    assert left.group == right.group == "oil-pump"
    assert (left.side, right.side) == (Side.LEFT, Side.RIGHT)
    assert left.name == "left oil pump"
    assert left.aliases == ("left pump", "oil pump left", "pump left")
    assert left.bare_names == right.bare_names == ("oil pump", "pump")


def test_one_side_only_needs_no_side_in_its_name(tmp_path):
    (item,) = load(tmp_path, "- name: oil pump\n  sides: [right]\n")
    assert (item.id, item.group, item.side) == ("right-oil-pump", "right-oil-pump", Side.RIGHT)
    assert item.name == "right oil pump"
    assert item.aliases == ("oil pump right", "oil pump")
    assert item.bare_names == ()


def test_a_difference_is_of_one_side_only(tmp_path):
    left, right = load(
        tmp_path,
        """\
        - name: oil pressure
          sides: [left, right]
          reading: psi
          limit: {low: 20, unit: psi, reference: handbook}
          right:
            also: generator oil pressure
            limit: {low: 25, unit: psi, reference: handbook}
        """,
    )
    assert (left.limit.low, right.limit.low) == (Decimal(20), Decimal(25))
    assert "generator oil pressure" in right.aliases
    assert "generator oil pressure" not in left.aliases


def test_a_count_and_the_references_may_differ(tmp_path):
    left, right, *_ = load(
        tmp_path,
        """\
        - name: bolts
          sides: [left, right]
          count: 4
          needs: lamp
          left: {count: 6, needs: [], reopened_by: lamp}
        - name: lamp
        """,
    )
    assert (left.expected, right.expected) == (6, 4)
    assert (left.needs, right.needs) == ((), ("lamp",))
    assert (left.reopened_by, right.reopened_by) == (("lamp",), ())


def test_a_reference_to_a_mirrored_item_is_to_the_same_side_or_to_both(tmp_path):
    by_id = load(
        tmp_path,
        """\
        - name: plug
          sides: [left, right]
        - name: duct
          sides: [left, right]
          needs: plug
        - name: bag
          needs: plug
        - name: tag
          needs: right-plug
        """,
    ).by_id
    assert by_id["left-duct"].needs == ("left-plug",)
    assert by_id["right-duct"].needs == ("right-plug",)
    assert by_id["bag"].needs == ("left-plug", "right-plug")
    assert by_id["tag"].needs == ("right-plug",)


MIRRORED = """\
    - station: left bay
      phase: stopped
      side: left
      items:
        - name: plug
        - name: gauge
          reading: bar
        - name: duct
          needs: plug
    - station: middle
      phase: stopped
      items:
        - name: lamp
    - station: right bay
      phase: running
      side: right
      mirrors: left-bay
      without: gauge
      plus:
        - name: battery
          needs: plug
    """


def test_a_station_mirrors_another(tmp_path):
    left, _, right = load(tmp_path, stations=MIRRORED).stations
    assert [item.id for item in left.items] == ["left-plug", "left-gauge", "left-duct"]
    assert [item.id for item in right.items] == ["right-plug", "right-duct", "right-battery"]
    assert (right.id, right.phase) == ("right-bay", "running")
    assert all(item.station == "right-bay" for item in right.items)
    assert right.items[1].needs == ("right-plug",)
    assert right.items[2].needs == ("right-plug",)


def test_what_is_on_one_side_only_keeps_its_bare_name(tmp_path):
    by_id = load(tmp_path, stations=MIRRORED).by_id
    assert "gauge" in by_id["left-gauge"].aliases
    assert "battery" in by_id["right-battery"].aliases
    assert by_id["left-plug"].bare_names == ("plug",)


def test_a_fault_on_a_mirrored_side_is_told_where_it_is_written(tmp_path):
    path, where = write(
        tmp_path, card("", stations=MIRRORED.replace("reading: bar", "reading: ¦br"))
    )
    with pytest.raises(SourceError, match="unknown unit 'br'") as caught:
        load_card(path)
    assert caught.value.where == where


REFUSED = {
    "mirrors nothing": (
        ("mirrors: left-bay", "mirrors: ¦left-bey"),
        "'left-bey' is no station",
        "Did you mean 'left-bay'?",
    ),
    "mirrors itself": (
        ("mirrors: left-bay", "mirrors: ¦right-bay"),
        "not on opposite sides",
        "side: left",
    ),
    "mirrors a station without a side": (
        ("mirrors: left-bay", "mirrors: ¦middle"),
        "not on opposite sides",
        "side: left",
    ),
    "mirrors the same side": (
        ("side: right\n      mirrors: left-bay", "side: left\n      mirrors: ¦left-bay"),
        "not on opposite sides",
        "side: right",
    ),
    "mirrors a mirror": (
        (
            "side: left\n      items:\n        - name: plug",
            "side: left\n      mirrors: ¦right-bay\n      plus:\n        - name: plug",
        ),
        "'right bay' mirrors a station itself",
        "whose items are written out",
    ),
    "without what is not there": (
        ("without: gauge", "without: [¦gage]"),
        "'gage' is no item there",
        "Did you mean 'gauge'?",
    ),
    "plus without mirrors": (
        ("      mirrors: left-bay\n      without: gauge\n      plus:", "      ¦plus:"),
        "belong to a station that mirrors another",
        "Write 'mirrors'",
    ),
    "items and mirrors": (
        ("      plus:", "      ¦items: [{name: tag}]\n      plus:"),
        "has no items of its own",
        "under 'plus'",
    ),
    "sides within a side": (
        ("- name: plug\n", "- name: plug\n          ¦sides: [left]\n"),
        "stands at a station that is itself left",
        "Remove 'sides'",
    ),
    "difference without sides": (
        ("- name: lamp\n", "- name: lamp\n          ¦right: {also: lantern}\n"),
        "'lamp' has no sides",
        "sides: [left, right]",
    ),
    "side that is none": (
        ("side: right", "side: ¦upper"),
        "'left' or 'right'",
        "Correct the value",
    ),
}


@pytest.mark.parametrize("fault", REFUSED)
def test_is_refused_at_its_place(tmp_path, fault):
    (old, new), message, what_to_do = REFUSED[fault]
    assert old in MIRRORED
    path, where = write(tmp_path, card("", stations=MIRRORED.replace(old, new, 1)))
    with pytest.raises(SourceError) as caught:
        load_card(path)
    assert message in str(caught.value)
    assert what_to_do in caught.value.what_to_do
    assert caught.value.where == where
