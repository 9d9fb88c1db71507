"""A word of a call is found at the place where it is written, and nowhere but there."""

from __future__ import annotations

import pytest

from voicewalk.card.load import load_card
from voicewalk.card.said import where_said

CARD = """id: small
title: casing # not spoken: the title
version: "1"
subject: pump
caution: A card for tests with a valve.
vocabularies: [english, shop]
stations:
  - station: valve room
    phase: stopped
    items:
      - name: pump casing # valve
        also: outer shell / housing
        defects: bearing
      - name: valve
        sides: [left, right]
        state: {good: open, bad: [not open, half way]}
        left: {also: twin valve}
      - name: shaft
        reading: psi
        limit: {low: 1, unit: psi, reference: the shaft itself}
"""
SHOP = """language: en
families:
  bearing: {defects: [galled / galling]}
"""


@pytest.fixture
def card(tmp_path):
    (tmp_path / "shop.yaml").write_text(SHOP, encoding="utf-8")
    path = tmp_path / "card.yaml"
    path.write_text(CARD, encoding="utf-8")
    return load_card(path)


@pytest.mark.parametrize(
    ("word", "file", "place"),
    [
        ("casing", "card.yaml", "11:15"),
        ("housing", "card.yaml", "12:15"),
        ("valve", "card.yaml", "14:15"),
        ("open", "card.yaml", "16:23"),
        ("half", "card.yaml", "16:45"),
        ("twin", "card.yaml", "17:22"),
        ("shaft", "card.yaml", "18:15"),
        ("galling", "shop.yaml", "3:23"),
        ("second", "english.yaml", None),
        ("left", "english.yaml", None),  # in the card it is only a setting
        ("psi", "card.yaml", "1:1"),  # a unit is no text of the card
        ("nowhere", "card.yaml", "1:1"),
    ],
)
def test_is_found_where_it_is_written(card, word, file, place):
    path, _, found = where_said(card, word).partition(".yaml:")
    assert f"{path}.yaml".endswith(f"/{file}")
    assert place is None or found == place


def test_a_word_of_sides_that_no_vocabulary_has_is_at_its_item(tmp_path):
    (tmp_path / "english.yaml").write_text("families: {general: {}}\n", encoding="utf-8")
    path = tmp_path / "card.yaml"
    path.write_text(CARD.replace("[english, shop]", "english").replace("bearing", "general"))
    assert where_said(load_card(path), "left") == f"{path}:14:1"
