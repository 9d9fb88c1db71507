"""Public reports in which a second person let pass what was wrong: what the record must show.

Each test names its report and how it was read, as in ``test_scenarios_counts``.
"""

from __future__ import annotations

import pytest
from scenario_booth import Stand

TYRE = "left tyre pressure"


def stand() -> Stand:
    return Stand(card="two-person-check")


def findings(stand: Stand) -> list[str]:
    return [str(body["finding"]) for body in stand.kept if body["kind"] == "confirmation"]


def test_ports_are_confirmed_one_by_one_and_silence_confirms_none():
    """ATSB AO-2021-040; ASRS 1170264 (both seen): ports stayed taped, their removal "confirmed"."""
    walk = stand().type("left static port satisfactory").silent()
    assert findings(walk) == ["silence"]
    view = walk.walk.view()
    assert view.unconfirmed == ("left-static-port",)
    assert "right-static-port" in view.open
    walk.type("both static ports satisfactory")
    assert walk.walk.view().unconfirmed == ("left-static-port", "right-static-port")
    walk.second("affirm")  # it is of the one that was asked about, and of no other
    assert walk.walk.view().unconfirmed == ("right-static-port",)
    assert walk.replays()


def test_a_panel_of_one_side_is_never_confirmed_by_the_other():
    """NTSB AAR-92/04 (cause seen, shift detail second-hand): screws taken out on one side only were
    put back."""
    walk = stand().type("left tail panel fasteners removed", "right tail panel secure")
    walk.second("secure")
    assert walk.walk.view().unconfirmed == ()
    assert walk.open("left-tail-panel")
    walk.type("walkaround complete")
    assert walk.last["kind"] == "command"
    walk.second("left tail panel secure")  # nobody has called it: there is nothing to confirm
    assert walk.last["kind"] == "command"
    walk.type("left tail panel secure")
    assert walk.walk.view().unconfirmed == ("left-tail-panel",)


def test_another_voice_does_not_close_a_leak():
    """ASRS 972525; ASRS 854067 (both seen): released while the fluid was still dripping."""
    walk = stand().type("left hydraulic line dripping")
    walk.second("left hydraulic line satisfactory")
    leak, other = walk.kept[-2:]
    assert (leak["discrepancy"], other["finding"]) == ({"defect": "drip"}, "differs")
    assert (other["entered"], other["said"]) == ("drip", "satisfactory")
    assert walk.open("left-hydraulic-line")
    walk.type("left hydraulic line satisfactory")
    assert walk.last["question"] == "confirm", "the leak would vanish"


@pytest.mark.parametrize(
    ("called", "answered", "finding"),
    [
        ("nine five", "five five", "differs"),
        ("nine five", "nine five", "confirmed"),
        ("nine five", "niner five", "confirmed"),
        ("nine five", "ninety five psi", "confirmed"),
        ("nine five", "nine five millimetres", "differs"),
        ("nine five", "affirm", "no answer"),
        ("nine five", "roger", "no answer"),
        ("nine five", "wilco", "no answer"),
        ("nine five", "satisfactory", "no answer"),
        ("nine five", "negative", "negative"),
        ("fifty", "fifteen", "differs"),
        ("fifteen", "fifty", "differs"),
        ("two two", "two", "differs"),
        ("two two two", "two two", "differs"),
        ("one two one", "one one", "differs"),
        ("nine zero point five", "nine zero", "differs"),
    ],
)
def test_a_number_is_compared_digit_by_digit(called: str, answered: str, finding: str):
    """NASA Directline 1 (seen); hearback study, NTRS 19890007398 (abstract seen): wrong numbers are
    read back and let pass. Lost digits: as speech recognisers lose them."""
    walk = stand().type(f"{TYRE} {called} psi").second(answered)
    assert findings(walk) == [finding]
    (entry,) = walk.of("left-tyre-pressure")
    assert walk.last["entered"] == f"{entry['reading']['value']} psi"  # type: ignore[index]
    assert walk.last["input"]["meaning"]["act"], "what was said is kept"  # type: ignore[index]
    view = walk.walk.view()
    opened = finding in ("differs", "negative")
    assert ("left-tyre-pressure" in view.open) is opened
    assert bool(view.unconfirmed) is (finding == "no answer")
    assert walk.replays()


def test_silence_is_no_confirmation():
    """NASA Directline 1 (seen): an unchallenged readback proves nothing."""
    walk = stand().type(f"{TYRE} nine five psi").silent()
    assert findings(walk) == ["silence"]
    assert walk.heard_back.endswith("left tyre pressure, no answer. To be confirmed.")
    assert walk.walk.view().unconfirmed == ("left-tyre-pressure",)


def test_the_question_does_not_tell_the_number():
    walk = stand().type(f"{TYRE} nine five psi")
    assert walk.said[-1] == "Second, confirm left tyre pressure. Say the reading."


def test_a_new_reading_is_confirmed_anew_and_the_first_is_kept():
    """NTSB AAR-02/01 (second-hand): measured again, and the plan was reversed."""
    walk = stand().type("left brake wear pin three millimetres").second("three")
    walk.type("left brake wear pin two millimetres")
    first, then = walk.of("left-brake-wear-pin")
    assert (first["result"], then["result"]) == ("satisfactory", "discrepancy")
    assert then["replaces"] == 2
    assert walk.walk.view().unconfirmed == ("left-brake-wear-pin",), "the old one is void"
    walk.second("three")
    assert findings(walk) == ["confirmed", "differs"]
    assert walk.replays()


def test_no_walk_is_closed_before_all_is_confirmed():
    walk = stand().finish()
    assert walk.last["kind"] == "command"
    assert len(walk.last["unconfirmed"]) == 13  # type: ignore[arg-type]
    for _ in range(13):
        walk.second("affirm")
    assert walk.heard_back.endswith("No item is open. Say, walkaround complete.")
    walk.type("walkaround complete")
    assert walk.last["kind"] == "closed"
    assert walk.replays()
