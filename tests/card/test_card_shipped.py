"""The cards in ``grammars/``: they load, are whole, and can be told apart by ear's spelling."""

from __future__ import annotations

import pytest

from voicewalk.card.load import card_path, load_card, shipped
from voicewalk.card.model import Card, Kind, Readback, Side
from voicewalk.card.spoken import fold
from voicewalk.language.vocabulary import vocabulary_of

JET = load_card(card_path("jet-trainer"))
VEHICLE = load_card(card_path("vehicle-daily"))
TURBOPROP = load_card(card_path("light-turboprop"))
KOREAN = load_card(card_path("tow-tractor-korean"))
TWO = load_card(card_path("two-person-check"))
CARDS = pytest.mark.parametrize("card", [JET, VEHICLE], ids=lambda card: card.id)


@CARDS
def test_its_words_fit_its_vocabulary(card):
    assert vocabulary_of(card).language == "en"


@CARDS
def test_every_kind_of_item_is_on_it(card):
    assert {item.kind for item in card} >= set(Kind) - {Kind.SERVICING}


@CARDS
def test_ids_lead_back_to_items(card):
    assert [card.by_id[item.id] for item in card] == list(card)
    assert len(card) == len(list(card))


@CARDS
def test_mirrored_items_come_in_pairs_that_differ_in_side_only(card):
    pairs = [members for members in card.groups.values() if len(members) > 1]
    assert pairs
    for left, right in pairs:
        assert (left.side, right.side) in [(Side.LEFT, Side.RIGHT), (Side.RIGHT, Side.LEFT)]
        assert left.bare_names == right.bare_names == (left.name.removeprefix(f"{left.side} "),)
        assert right.id == f"{right.side}-{right.group}"
        for key in ("kind", "states", "unit", "limit", "expected", "defects", "critical", "line"):
            assert getattr(left, key) == getattr(right, key)


@CARDS
def test_names_are_a_few_plain_words(card):
    for item in card:
        bare = item.name.removeprefix(f"{item.side} ") if item.side else item.name
        assert 1 <= len(bare.split()) <= 5, item.name


@CARDS
def test_no_name_is_another_followed_by_what_can_be_said_of_it(card):
    """ "engine bay" + "recheck" may not be both an item and an item with a result."""
    words = vocabulary_of(card)
    for item in card:
        answers = [words.satisfactory, words.not_inspected, words.not_applicable, *words.places]
        answers += [defect for name in item.defects for defect in words.families[name].defects]
        said = {word for term in answers for word in term.words}
        said |= {word for state in item.states for word in (state.name, *state.words)}
        for other in card:
            if other.name.startswith(f"{item.name} "):
                rest = other.name.removeprefix(f"{item.name} ")
                assert not [word for word in said if fold(rest).startswith(fold(word))], other.name


@CARDS
def test_limits_are_said_to_be_invented(card):
    limits = [item.limit for item in card if item.limit]
    assert len(limits) >= 8
    assert all("invented for the demonstration, not for use on any" in x.reference for x in limits)


@CARDS
def test_the_caution_defers_and_declares_nothing(card):
    assert "demonstration" in card.caution
    assert "licensed practice rule" in card.caution
    assert "does not declare" in card.caution


@CARDS
def test_every_good_state_can_be_denied(card):
    """Whoever says "not latched" must find those words: else only "latched" could be heard."""
    for item in card:
        bad = {
            word for state in item.states if not state.good for word in (state.name, *state.words)
        }
        good = [word for state in item.states if state.good for word in (state.name, *state.words)]
        assert [word for word in good if f"not {word}" not in bad] == [], item.name


def test_the_jet_trainer_has_the_whole_walk():
    assert 112 <= len(JET) <= 122
    phases = list(dict.fromkeys(station.phase for station in JET.stations))
    assert phases == ["power off", "power on", "recheck", "closing"]


def test_covers_and_pins_are_counted_as_often_as_they_were_removed():
    """What was fitted must be seen again: fitted = removed = stowed (trade practice)."""
    for stowed in ("covers-and-plugs-stowed", "gear-pins-stowed"):
        item = JET.by_id[stowed]
        assert item.expected == len(item.needs)
        assert all("removed" in [s.name for s in JET.by_id[n].states] for n in item.needs)
    assert JET.by_id["equipment-brought"].expected == JET.by_id["equipment-taken-back"].expected


def test_seat_pins_stay_in_and_gear_pins_come_out():
    good = {item.id: [s.name for s in item.states if s.good] for item in JET if "pin" in item.id}
    assert good["front-seat-pin"] == good["rear-seat-pin"] == ["installed"]
    assert good["nose-gear-pin"] == good["left-main-gear-pin"] == ["removed"]


def test_the_engine_bay_is_open_again_after_the_pumps_have_run():
    for side in ("left", "right"):
        recheck = JET.by_id[f"{side}-bay-leak-recheck"]
        assert {"hydraulic-pressure", "fuel-boost-pump"} <= set(recheck.reopened_by)
        assert JET.by_id[f"{side}-engine-bay-door"].needs == (recheck.id,)


def test_every_critical_state_and_every_signature_is_surely_heard():
    assert JET.by_id["preflight-form"].readback is Readback.CONFIRM
    assert all(item.critical for item in JET if "pin" in item.id.split("-") and item.states)


# 49 CFR 396.11(a)(1), from memory: the parts a daily report covers "at least".
PARTS = {
    "service brakes including trailer brake connections": ["service-brake", "trailer-air-hoses"],
    "parking brake": ["parking-brake"],
    "steering mechanism": ["steering-wheel", "steering-linkage"],
    "lighting devices and reflectors": ["left-headlight", "right-rear-reflector"],
    "tires": ["left-front-tyre", "right-drive-axle-tyres", "left-trailer-tyres"],
    "horn": ["horn"],
    "windshield wipers": ["left-windshield-wiper", "right-windshield-wiper"],
    "rear vision mirrors": ["left-rear-vision-mirror", "right-rear-vision-mirror"],
    "coupling devices": ["fifth-wheel", "kingpin"],
    "wheels and rims": ["left-front-wheel-rim", "right-trailer-wheel-rims"],
    "emergency equipment": ["warning-triangles", "fire-extinguisher", "spare-fuses"],
}


@pytest.mark.parametrize("part", PARTS)
def test_the_vehicle_card_has_each_part_of_the_daily_report(part):
    assert [item for item in PARTS[part] if item not in VEHICLE.by_id] == []


def test_nothing_but_the_jet_card_speaks_of_aircraft():
    def words(card: Card) -> set[str]:
        return {word for item in card for word in item.name.split()} | {card.subject}

    assert not words(VEHICLE) & {"aircraft", "pitot", "wing", "rudder", "engine"}


def test_these_cards_come_with_the_program():
    assert set(shipped()) == {JET.id, VEHICLE.id, TURBOPROP.id, KOREAN.id, TWO.id}


def test_the_korean_card_asks_only_what_can_be_said_in_korean():
    """Numbers and sides are English so far; ``vocabulary_of`` refuses them elsewhere."""
    assert vocabulary_of(KOREAN).language == "ko"
    assert {item.kind for item in KOREAN} == {Kind.CONDITION, Kind.STATE}
    assert {item.side for item in KOREAN} == {Side("")}


def test_the_korean_caution_defers_and_declares_nothing():
    assert "가상의 시연용" in KOREAN.caution  # invented, a demonstration
    assert "현장 규정이" in KOREAN.caution  # local rules
    assert "선언하지 않습니다" in KOREAN.caution  # does not declare


def test_every_good_korean_state_can_be_denied():
    """ "안" before the word, or "안 함" after it."""
    for item in KOREAN:
        bad = {state.name for state in item.states if not state.good}
        for state in (state for state in item.states if state.good):
            assert bad & {f"안 {state.name}", f"{state.name} 안 함"}, item.name


def test_a_second_person_confirms_only_where_a_card_says_so():
    assert [card.id for card in (JET, VEHICLE, TURBOPROP, KOREAN, TWO) if card.second] == [TWO.id]
    assert {item.kind for item in TWO if item.second} == set(Kind) - {Kind.SERVICING}


def test_roger_is_a_word_of_that_card_alone():
    """Heard as what it is, and in no other card's graph."""
    said = [vocabulary_of(card).acknowledged for card in (JET, VEHICLE, TURBOPROP, KOREAN)]
    assert said == [()] * 4
    assert [term.name for term in vocabulary_of(TWO).acknowledged] == ["roger", "wilco"]
