"""Public reports of readings, leaks and wrong readbacks: what the record must show.

Each test names its report and how it was read, as in ``test_scenarios_counts``.
"""

from __future__ import annotations

from scenario_booth import Stand


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
    stand = Stand().type("oxygen pressure four five zero", "stand by", "going on")
    stand.type("oxygen pressure checked")
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
