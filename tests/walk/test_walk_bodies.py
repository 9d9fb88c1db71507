"""What the entries hold: the fields of each kind, as docs/record-format.md tells them."""

from __future__ import annotations

import json

import pytest
import rfc8785
from test_walk_dialogues import DIALOGUES, Dialogue, by_title
from walk_booth import run
from walk_cards import TRAINER

from voicewalk.walk.messages import Json

COMMON = {"kind", "input", "answers"}
FIELDS = {
    "item": {
        "item", "name", "station", "result", "accepted", "state", "reading", "count",
        "discrepancy", "reason", "replaces", "reopens", "owner", "by",
        "seen_before", "second",
    },
    "remark": {"item", "transcript"},
    "asked back": {"candidates", "offered", "denied", "failures", "way"},
    "question": {"question", "item", "group", "call"},
    "question dropped": {"question", "entry", "reopens", "failures", "open"},
    "disregarded": {"entry", "item", "reopens"},
    "confirmation": {"entry", "item", "finding", "entered", "said", "reopens"},
    "command": {"command", "item", "entry", "open", "unconfirmed"},
    "interrupted": {"gap_ms", "reopens", "device", "rate", "other"},
    "stood by": {"seconds"},
    "silent": {"seconds"},
    "status": {"item", "entry", "status", "proposed", "was"},
    "handed over": {"by", "to", "open"},
    "acknowledged": {"told", "of", "by"},
    "identity": {"said", "matches", "last", "reopens", "hearing"},
    "clock stepped": {"by_ms"},
    "device lost": {"reason"},
    "device back": {"device", "rate", "other"},
    "sound lost": {"lost_ms", "before"},
    "closed": {"satisfactory", "discrepancies", "not_inspected", "not_applicable", "caution"},
    "started": {"subject", "identity", "inspector", "second", "card", "items", "device", "rate"},
}  # fmt: skip


def bodies(talk: str) -> list[Json]:
    return [body for _, body in run(TRAINER, talk).record[1:]]


def body(talk: str) -> Json:
    """The last entry, without its input."""
    return {name: value for name, value in bodies(talk)[-1].items() if name != "input"}


@by_title
def test_a_body_has_the_fields_of_its_kind_and_is_plain_json(dialogue: Dialogue):
    for _, one in run(dialogue.card, dialogue.talk).record:
        assert set(one) <= COMMON | FIELDS[str(one["kind"])]
        # RFC 8785 (the rfc8785 package) refuses what has no one canonical form.
        assert json.loads(rfc8785.dumps(one)) == one


def test_every_kind_is_seen():
    kinds = {body["kind"] for one in DIALOGUES for _, body in run(one.card, one.talk).record}
    assert kinds == set(FIELDS)


def test_the_start():
    (_, first), *_ = run(TRAINER, "").record
    assert first == {
        "kind": "started",
        "input": {"type": "start", "identity": "EX-1", "inspector": "inspector A"},
        "subject": "aircraft",
        "identity": "EX-1",
        "inspector": "inspector A",
        "card": {"id": "tests", "title": "walk for tests", "version": "1", "digest": "c0ffee"},
        "items": 16,
    }


def test_a_plain_result_with_its_input():
    assert bodies("> radome: satisfactory") == [
        {
            "kind": "item",
            "input": {
                "type": "call",
                "meaning": {"act": "satisfactory", "item": "radome"},
                "words": "radome: satisfactory",
                "heard": {"how": "sound", "clip": "ab"},
            },
            "item": "radome",
            "name": "radome",
            "station": "nose",
            "result": "satisfactory",
            "accepted": "understood",
        }
    ]


ITEMS = [
    (
        "> left-tyre-pressure: reading 140 psi",
        {
            "reading": {
                "spoken": "left-tyre-pressure: reading 140 psi",
                "value": "140",
                "unit": "psi",
                "within": False,
                "limit": {
                    "low": "200",
                    "high": "220",
                    "unit": "psi",
                    "reference": "invented for tests",
                },
            },
            "discrepancy": {"defect": "below limit"},
        },
    ),
    (
        "> strut: reading 2.5",
        {
            "reading": {
                "spoken": "strut: reading 2.5",
                "value": "2.5",
                "unit": "inch",
                "within": True,
                "limit": {"low": "2.5", "unit": "inch", "reference": "invented for tests"},
            }
        },
    ),
    (
        "> brake-pin: reading 0.25 inch",
        {"reading": {"spoken": "brake-pin: reading 0.25 inch", "value": "0.25", "unit": "inch"}},
    ),
    ("> gear-pins: count 5", {"count": {"seen": "5", "expected": "5"}}),
    (
        "> gear-pins: count 3",
        {"count": {"seen": "3", "expected": "5"}, "discrepancy": {"defect": "wrong count"}},
    ),
    ("> door: state locked", {"state": "locked"}),
    ("> door: state not locked", {"state": "not locked", "discrepancy": {"defect": "not locked"}}),
    (
        "> radome: defect cut size 0.5 inch outboard",
        {
            "discrepancy": {
                "defect": "cut",
                "place": "outboard",
                "size": "0.5",
                "size_unit": "inch",
            }
        },
    ),
    ("> radome: not inspected no stand", {"reason": "no stand"}),
    ("> radome: satisfactory\n> radome: defect cut", {"replaces": 2}),
    ("> bay-recheck: satisfactory\n> engine-run: satisfactory", {"reopens": ["bay-recheck"]}),
    ("> @tyre: satisfactory\n> left", {"answers": [2]}),
]


@pytest.mark.parametrize(("talk", "fields"), ITEMS, ids=[talk for talk, _ in ITEMS])
def test_what_an_item_holds(talk: str, fields: Json):
    assert fields.items() <= body(talk).items()


def test_the_number_as_spoken_is_kept_when_a_question_completes_the_call():
    made = body("> @tyre-pressure: reading 205 psi\n> right")
    assert made["reading"]["spoken"] == "@tyre-pressure: reading 205 psi"


def test_a_question_holds_the_call_as_far_as_it_is_understood():
    assert body("> : defect cut\n> @tyre:") == {
        "kind": "question",
        "question": "which side",
        "group": "tyre",
        "call": {
            "meaning": {"act": "discrepancy", "group": "tyre", "defect": "cut"},
            "words": ": defect cut",
        },
        "answers": [2],
    }


def test_an_unclear_call_is_kept_as_heard_and_its_candidates_as_understood():
    _, asked = bodies("> @tyre: defect cut\n> ? left")
    assert asked["input"] == {
        "type": "unclear",
        "candidates": [{"meaning": {"act": "side", "side": "left"}, "words": "left"}],
        "heard": {"how": "sound"},
    }
    assert asked["candidates"] == [
        {
            "meaning": {"act": "discrepancy", "item": "left-tyre", "defect": "cut"},
            "words": "@tyre: defect cut",
        }
    ]


def test_no_more_than_two_candidates_are_asked_about():
    asked = body("> ? radome: satisfactory | radome: defect cut | radome: defect worn")
    assert [one["words"] for one in asked["candidates"]] == [
        "radome: satisfactory",
        "radome: defect cut",
    ]


def test_both_entries_of_a_correction_hold_the_same_input():
    *_, withdrawn, entered = bodies("> left-tyre: defect cut\n> correction, right-tyre: defect cut")
    assert withdrawn["kind"] == "disregarded"
    assert withdrawn["input"] == entered["input"]
    assert withdrawn["input"]["meaning"]["corrects"] is True


def test_an_affirmed_call_holds_the_affirm_and_points_to_what_was_asked():
    *_, made = bodies("> oxygen: reading 1600 psi\n> affirm")
    assert made["input"]["meaning"] == {"act": "command", "command": "affirm"}
    assert made["answers"] == [2]
    assert made["reading"]["spoken"] == "oxygen: reading 1600 psi"
