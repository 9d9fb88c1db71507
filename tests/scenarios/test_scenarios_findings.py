"""Public reports of readings, leaks and wrong readbacks: what the record must show.

Each test names its report and how it was read, as in ``test_scenarios_counts``.
"""

from __future__ import annotations

import pytest
from scenario_booth import Stand


def cleared() -> Stand:
    """An aircraft whose hold point is confirmed."""
    return Stand().type("propeller area confirmed clear")


def test_a_leak_is_not_closed_by_a_word():
    """ASRS 972525; ASRS 854067 (both seen): released while the fluid was still dripping."""
    stand = Stand().type("left hydraulic line dripping", "left hydraulic line checked")
    assert stand.last["question"] == "value"
    stand.type("satisfactory")
    assert "in place of drip." in stand.heard_back
    stand.type("negative")
    (leak,) = stand.of("left-hydraulic-line")
    assert leak["discrepancy"] == {"defect": "drip"}


def test_a_tyre_is_read_and_not_looked_at():
    """NTSB AAR-10/02 (seen, summary); ASRS 143434 (seen): eyes cannot tell a low tyre."""
    stand = Stand().type("left tyre pressure looks good")
    assert stand.heard_back == "left tyre pressure. Say a reading in p s i."
    stand.type("one four zero")
    reading = stand.last["reading"]
    assert (reading["value"], reading["unit"], reading["within"]) == ("140", "psi", False)  # type: ignore[index]
    assert reading["limit"]["low"] == "200"  # type: ignore[index]
    assert stand.last["result"] == "discrepancy"
    assert "one four zero p s i, below limit two zero zero" in stand.heard_back


def test_a_checked_bottle_keeps_its_number():
    """NASA Callback 258; ASRS 579173 (both seen): papers were right, and no oxygen flowed."""
    stand = cleared().type("oxygen temperature seven zero", "oxygen pressure four five zero")
    assert "below limit one five zero zero" in stand.heard_back
    stand.type("stand by", "going on", "oxygen pressure checked")
    (read,) = stand.of("oxygen-pressure")
    assert (read["reading"]["value"], read["result"]) == ("450", "discrepancy")  # type: ignore[index]
    assert stand.open("oxygen-flow")


def test_two_numbers_for_one_reading_are_both_kept():
    """NASA Directline 1, hearback study (seen): wrong readbacks are let pass."""
    stand = Stand().type(
        "left tyre pressure two one five psi", "left tyre pressure two five one psi"
    )
    first, second = stand.of("left-tyre-pressure")
    assert first["reading"]["value"] == "215"  # type: ignore[index]
    assert second["reading"]["value"] == "251"  # type: ignore[index]
    assert second["replaces"] == 2
    assert "earlier entry replaced" in stand.heard_back


def test_a_lower_reading_later_does_not_hide_the_first():
    """NTSB AAR-02/01 (second-hand): a second measurement reversed the plan."""
    stand = Stand().type("left tyre pressure one nine zero psi")
    stand.type("left tyre pressure two zero five psi")
    assert stand.last["question"] == "confirm"  # the discrepancy would vanish
    stand.type("affirm")
    low, good = stand.of("left-tyre-pressure")
    assert (low["result"], good["result"], good["accepted"]) == (
        "discrepancy",
        "satisfactory",
        "confirmed",
    )
    assert stand.replays()


@pytest.mark.parametrize(
    ("degrees", "low"), [("two zero", "1350"), ("four five", "1425"), ("eight zero", "1530")]
)
def test_a_pressure_is_judged_for_its_temperature(degrees: str, low: str):
    """Oxygen charts, such as that of TM 1-1510-262-10 (seen): the limit falls with the cold."""
    stand = cleared().type(f"oxygen temperature {degrees}", "oxygen pressure one four five zero")
    assert stand.last["reading"]["limit"]["low"] == low  # type: ignore[index]
    assert stand.last["result"] == ("satisfactory" if int(low) <= 1450 else "discrepancy")


@pytest.mark.parametrize("before", [(), ("oxygen temperature one three zero",)])
def test_without_a_chart_value_nothing_is_judged(before: tuple[str, ...]):
    stand = cleared().type(*before, "oxygen pressure one eight zero zero")
    assert stand.last["result"] == "open"
    assert "no chart value, still open" in stand.heard_back
    stand.type("oxygen temperature seven zero", "oxygen pressure one eight zero zero")
    assert not stand.open("oxygen-pressure")


# FAA-style action bands (references: memory): the card's own numbers, its worst band first.
@pytest.mark.parametrize(
    ("psi", "then"),
    [
        ("one five niner", "remove the wheel and the other one on its axle"),
        ("one six zero", "remove the wheel"),
        ("one eight zero", "inspect, inflate and log"),
        ("two zero zero", None),
    ],
)
def test_a_reading_tells_what_follows(psi: str, then: str | None):
    stand = Stand().type(f"left tyre pressure {psi.replace('niner', 'nine')}")
    assert stand.last["reading"].get("then") == then  # type: ignore[union-attr]
    assert ("The card says" in stand.heard_back) == (then is not None)


def test_two_good_tyres_that_differ_are_a_discrepancy():
    stand = Stand().type("left tyre pressure two zero five", "right tyre pressure two one six")
    assert stand.last["discrepancy"] == {"defect": "sides differ"}
    assert stand.last["reading"]["difference"] == "11"  # type: ignore[index]
    stand.type("correction", "right tyre pressure two one five")
    assert stand.last["result"] == "satisfactory"


def test_nobody_goes_on_before_the_hold_point_is_confirmed():
    """A hold point is confirmed by a named role; common practice, no source."""
    stand = Stand().type("flight controls free")
    assert stand.heard_back == "Hold. First, propeller area, by crew chief."
    assert not stand.of("flight-controls")
    stand.type("flight controls not free")  # a discrepancy is never held back
    assert stand.last["result"] == "discrepancy"
    stand.type("propeller area not inspected because no access")
    assert stand.open("propeller-area")
    stand.type("propeller area confirmed clear")
    assert (stand.last["result"], stand.last["by"]) == ("satisfactory", "crew chief")


def test_an_operational_check_says_what_to_do():
    stand = Stand().type("flight controls")
    assert "Do this, move them to all stops." in stand.heard_back
