"""What a paper card asks: a box or a line for every answer, and all that a person must know."""

from __future__ import annotations

import json

import pytest

from voicewalk.card.load import card_path, load_card, shipped
from voicewalk.card.model import Kind
from voicewalk.card.sheet import card_sheet

WORDS = ("satisfactory", "not inspected", "not applicable")
INVENTED = "invented for the demonstration, not for use on any aircraft"
TURBOPROP = load_card(card_path("light-turboprop"))


def sheet(card):
    return card_sheet(card, WORDS, "2031-04-02")


def asked(card):
    stations = sheet(card)["stations"]
    return {item["name"]: item for station in stations for item in station["items"]}


@pytest.mark.parametrize("name", shipped())
def test_every_item_of_every_card_can_be_answered(name):
    card = load_card(card_path(name))
    found = asked(card)
    assert list(found) == [item.name for item in card]
    assert [one["number"] for one in found.values()] == [str(n) for n in range(1, len(card) + 1)]
    for item in card:
        one = found[item.name]
        assert one["boxes"][-2:] == ["not inspected", "not applicable"]
        if item.kind is Kind.STATE:
            assert one["boxes"][:-2] == [state.name for state in item.states]
        elif item.kind is Kind.CONDITION:
            assert one["boxes"][:-2] == ["satisfactory"]
        else:
            assert one["boxes"][:-2] == []
            assert one["blanks"]
        if item.limit:
            assert any(item.limit.reference in note for note in one["notes"])


@pytest.mark.parametrize(
    ("name", "notes"),
    [
        (
            "left tyre pressure",
            [
                f"limit: 200 to 220 psi; {INVENTED}",
                "below 160 psi: remove the wheel and the other one on its axle",
                "below 180 psi: remove the wheel",
                "below 200 psi: inspect, inflate and log",
                f"both sides within 10 psi of each other; {INVENTED}",
            ],
        ),
        (
            "oxygen pressure",
            [
                "least: 1350 psi at 20 degree fahrenheit, 1500 psi at 70 degree fahrenheit,"
                " 1650 psi at 120 degree fahrenheit, by oxygen temperature (33), on the straight"
                f" line between points; {INVENTED}"
            ],
        ),
        ("flight controls", ["first: move them to all stops", "after control lock (24)"]),
        ("nose gear pin", ["installed: leaves it open"]),
        ("pitot covers", ["counts left pitot cover (9), right pitot cover (10)"]),
        ("left hydraulic line", []),
    ],
)
def test_what_the_paper_says_of_an_item(name, notes):
    assert asked(TURBOPROP)[name]["notes"] == notes


def test_numbers_are_written_with_their_unit_or_how_many_there_should_be():
    assert asked(TURBOPROP)["left tyre pressure"]["blanks"] == [["", "psi"]]
    counted = asked(TURBOPROP)["gear pins"]["blanks"]
    assert counted == [["installed", "of 5"], ["removed", "of 5"]]
    jet = asked(load_card(card_path("jet-trainer")))
    assert jet["left static wicks"]["blanks"] == [["", "of 3"]]


def test_a_hold_point_says_who_confirms():
    assert asked(TURBOPROP)["propeller area"]["hold"] == "crew chief"
    assert asked(TURBOPROP)["mirror"]["hold"] == ""


def test_what_a_second_person_confirms_is_marked():
    card = load_card(card_path("two-person-check"))
    marks = [one["second"] for one in asked(card).values()]
    assert marks == [item.second for item in card]
    assert True in marks


def test_critical_items_are_marked():
    card = load_card(card_path("jet-trainer"))
    assert [one["critical"] for one in asked(card).values()] == [item.critical for item in card]


@pytest.mark.parametrize("name", shipped())
def test_it_is_plain_data_and_tells_which_card_it_is(name):
    card = load_card(card_path(name))
    data = json.loads(json.dumps(sheet(card)))
    assert data["digest"] == card.digest
    assert data["caution"] == card.caution
    assert card.version in data["about"]
    assert "printed 2031-04-02" in data["about"]
