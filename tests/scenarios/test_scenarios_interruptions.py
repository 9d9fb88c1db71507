"""Public reports of checks that were broken off: what the record must show.

Each test names its report and how it was read, as in ``test_scenarios_counts``.
"""

from __future__ import annotations

import pytest
from scenario_booth import Stand

from voicewalk.card.model import GoBack

RULES = tuple(GoBack)


def test_a_door_called_before_an_interruption_is_called_again():
    """TAIC, cargo door open at take-off, 9 April 2010 (second-hand): the checker was distracted;
    start again from the start or from the last confirmed item."""
    stand = Stand(GoBack.THREE).type("nose gear pin out", "cargo door closed", "cargo door locked")
    stand.interrupt("EX-1")
    assert "Last, cargo door. Open again, nose gear pin, cargo door." in stand.heard_back
    stand.type("left intake plug removed")  # the caller goes on one item further
    assert stand.open("cargo-door", "nose-gear-pin")
    gap, identity = stand.kept[-3:-1]
    assert gap["gap_ms"] == 240_000
    assert (identity["last"], identity["matches"]) == ("cargo-door", True)
    assert [body["state"] for body in stand.of("cargo-door")] == ["closed", "locked"]
    assert stand.replays()


def test_closed_is_not_locked_after_an_interruption_either():
    """TAIC, as above: the handle was not home."""
    stand = Stand(GoBack.RESUME).type("cargo door closed").interrupt("EX-1")
    assert "Last, cargo door." in stand.heard_back
    assert stand.open("cargo-door")


@pytest.mark.parametrize("rule", RULES)
def test_a_low_bottle_stays_low_over_an_interruption(rule: GoBack):
    """NASA Callback 258; ASRS 579173 (both seen): a check was broken off, low gauges missed."""
    stand = Stand(rule).type("propeller area confirmed clear", "oxygen temperature seven zero")
    stand.type("oxygen pressure four five zero").interrupt("EX-1")
    stand.type("propeller area confirmed clear", "oxygen pressure checked")
    assert stand.last["question"] == "value"
    (read,) = stand.of("oxygen-pressure")
    assert (read["reading"]["value"], read["result"]) == ("450", "discrepancy")  # type: ignore[index]
    assert stand.open("oxygen-flow")
    assert stand.open("oxygen-pressure") is (rule is not GoBack.RESUME)


@pytest.mark.parametrize("rule", RULES)
def test_nothing_is_called_at_another_aircraft(rule: GoBack):
    stand = Stand(rule).type("left intake plug removed").interrupt("EX-7")
    assert stand.heard_back.startswith("echo x-ray seven is another aircraft.")
    stand.type("right intake plug removed", "going on")
    assert stand.of("right-intake-plug") == []
    assert "its number" in stand.heard_back
    stand.interrupt("EX-1").type("right intake plug removed")
    assert not stand.open("right-intake-plug")
    assert stand.replays()


@pytest.mark.parametrize(
    ("called", "again"),
    [
        ((), []),
        (("inspection lamp back",), ["inspection-lamp"]),
        (("inspection lamp back", "mirror back"), ["inspection-lamp", "mirror"]),
        (
            ("inspection lamp back", "mirror back", "tyre gauge back"),
            ["inspection-lamp", "mirror", "tyre-gauge"],
        ),
        (
            ("inspection lamp back", "mirror back", "tyre gauge back", "headset back"),
            ["mirror", "tyre-gauge", "headset"],
        ),
    ],
)
def test_three_steps_back_and_never_before_the_first(called: tuple[str, ...], again: list[str]):
    """FAA aviation maintenance technician handbook, chapter 14 (second-hand, a verbatim quote)."""
    stand = Stand(GoBack.THREE).type(*called).interrupt("EX-1")
    assert stand.last.get("reopens", []) == again
