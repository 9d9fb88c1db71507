"""Public reports of covers, pins, plugs and tools left on or in: what the record must show.

Each test names its report and how it was read: *seen*, an official page or a verbatim copy;
*second-hand*, read about elsewhere. Numbers and limits are the card's, invented.
"""

from __future__ import annotations

import pytest
from scenario_booth import Stand

from voicewalk.walk.messages import RemarkSpoken


def refused(stand: Stand, *items: str) -> None:
    """The walk does not close, and its refusal names these."""
    while stand.walk.view().question:
        stand.type("disregard")
    stand.type("propeller area confirmed clear")
    stand.finish(*items)
    assert stand.last["command"] == "walkaround complete"
    assert set(items) <= set(stand.last["open"])  # type: ignore[arg-type]
    assert "stays open" in stand.heard_back
    assert stand.replays()


def test_three_covers_on_and_two_off():
    """ATSB AO-2018-053, safety notice 003 (seen): the certifier did not know of the covers."""
    stand = Stand().type("probe covers fitted by ramp three", "probe covers removed two")
    count = stand.last["count"]
    assert (count["expected"], count["seen"], count["open"]) == ("3", "2", "1")  # type: ignore[index]
    fitted = {"state": "installed", "seen": "3", "entry": 2, "by": "ramp"}
    assert count["counted"] == [fitted]  # type: ignore[index]
    assert stand.last["by"] == "inspector A"
    assert "still open" in stand.heard_back
    refused(stand, "probe-covers")
    stand.type("probe covers removed three")
    assert not stand.open("probe-covers")
    assert stand.last["result"] == "satisfactory"


def test_a_word_that_the_covers_are_off_calls_no_cover():
    """ATSB news item, event of 27 May 2022 (seen): removal certified, nobody saw or heard it."""
    stand = Stand().type("pitot covers removed", "covers done", "disregard", "remark")
    stand.receive(RemarkSpoken("all covers are off", {"how": "sound"}))
    assert stand.last["transcript"] == "all covers are off"
    assert stand.of("pitot-covers") == []
    refused(stand, "left-pitot-cover", "right-pitot-cover", "pitot-covers")


def test_a_count_of_flags_is_no_count_of_covers():
    """ATSB occurrence brief, 8 May 2024 (seen): one flag had torn off its cover."""
    stand = Stand().type("pitot cover off")
    assert "Left or right?" in stand.heard_back
    stand.type("left", "pitot covers removed two")
    assert stand.last["count"]["not_called"] == ["right-pitot-cover"]  # type: ignore[index]
    assert "right pitot cover" in stand.heard_back
    refused(stand, "right-pitot-cover", "pitot-covers")


def test_three_of_five_pins():
    """ATSB AO-2021-026 (seen): one pin in each main leg stayed in; the gear did not retract."""
    stand = Stand().type("pins in five", "nose gear pin out", "left main gear pin out")
    stand.type("right main gear pin out", "all pins out")
    assert stand.heard_back == (
        "gear pins. three of five. To be called, left door pin, right door pin."
    )
    stand.type("five")  # a number does not fill a place either
    assert stand.last["result"] == "open"
    refused(stand, "left-door-pin", "right-door-pin", "gear-pins")
    stand.type("left door pin out", "right door pin out", "pins out five")
    assert stand.last["result"] == "satisfactory"
    assert not stand.open("gear-pins")


def test_one_call_for_many_ports():
    """ATSB AO-2021-040; ASRS 1170264 (both seen): tape stayed on after others were cleared."""
    stand = Stand().type("static ports satisfactory")
    assert stand.last["question"] == "which side"
    stand.type("both")
    sides = [body["item"] for body in stand.kept[-2:]]
    assert sides == ["left-static-port", "right-static-port"]
    assert "left static port, satisfactory, recorded. right static port" in stand.heard_back
    stand.type("both intake plug removed")  # a call of two places that the card does not allow
    assert stand.last["kind"] == "question"
    assert stand.open("left-intake-plug", "right-intake-plug")


def test_right_plug_out_and_the_left_one_is_somebody_elses():
    """ASRS 321187 (seen): each thought the other would take the left plug."""
    stand = Stand().type("right intake plug removed", "left intake plug in")
    stand.type("left intake plug he will take it")
    assert "Who has it?" in stand.heard_back
    stand.type("ramp")
    assert (stand.last["owner"], stand.last["result"]) == ("ramp", "open")
    stand.type("plugs done")
    assert stand.heard_back == "intake plugs. one of two. To be called, left intake plug."
    refused(stand, "left-intake-plug", "intake-plugs")
    stand.type("left intake plug removed", "plugs out two")
    assert not stand.open("left-intake-plug", "intake-plugs")


def test_controls_free_does_not_call_the_lock():
    """NTSB GAA19CA085 (seen, reprint): the checklist was skipped and the lock left in."""
    stand = Stand().type("propeller area confirmed clear", "flight controls free")
    assert "Still open before flight controls, control lock." in stand.heard_back
    assert stand.open("control-lock")
    refused(stand, "control-lock")


def test_seven_tools_out_and_six_in():
    """ATSB AO-2024-006 (seen, summary): a tool stayed in an inlet for 34 flights."""
    stand = Stand().type("tools out seven")
    brought = ("inspection lamp", "mirror", "tyre gauge", "screwdriver", "headset", "recorder")
    stand.type(*(f"{tool} back" for tool in brought), "tools in six")
    assert stand.last["count"]["not_called"] == ["torque-wrench"]  # type: ignore[index]
    assert "Missing, one. To be called, torque wrench." in stand.heard_back
    stand.type("tools not inspected because by order")  # a reason does not balance it
    assert (stand.last["result"], stand.last["reason"]) == ("open", "by order")
    refused(stand, "torque-wrench", "tools")


def test_the_right_panel_does_not_close_the_left():
    """NTSB AAR-92/04 (cause seen): one shift took screws out, the next closed the other side."""
    stand = Stand().type("left tail panel fasteners removed", "right tail panel secure")
    assert stand.open("left-tail-panel")
    assert not stand.open("right-tail-panel")
    refused(stand, "left-tail-panel")


@pytest.mark.parametrize("word", ["done", "checked", "looks good", "same as the other side"])
@pytest.mark.parametrize(
    "item", ["left tyre pressure", "left intake plug", "tools", "left propeller blades"]
)
def test_words_that_state_nothing_close_nothing(word: str, item: str):
    """Responses state the status or the value (Degani and Wiener, second-hand)."""
    stand = Stand().type(f"{item} {word}")
    assert stand.last["kind"] == "question"
    stand.type(word)
    assert [body["kind"] for body in stand.kept] == ["started", "question"]


def test_a_door_that_is_closed_is_not_locked():
    """TAIC, cargo door open at take-off, 9 April 2010 (second-hand): the handle was not home."""
    stand = Stand().type("cargo door closed")
    assert stand.last["result"] == "open"
    refused(stand, "cargo-door")
