"""Public reports of what one shift knew and the next did not: what a hand-over must tell.

Each test names its report and how it was read, as in ``test_scenarios_counts``.
"""

from __future__ import annotations

from scenario_booth import Stand

HANDED = ("hand over the walk",)


def hand_over(stand: Stand, to: str = "B2") -> list[str]:
    """All that whoever takes over hears and affirms, in order."""
    stand.type(*HANDED).identify(to)
    heard = [stand.heard_back]
    while stand.walk.memory.notices:
        stand.type("affirm")
        heard.append(stand.heard_back)
    return heard


def test_a_tool_left_in_is_named_to_the_next_shift():
    """ATSB AO-2024-006 (seen, summary): a tool stayed in an inlet over shift changes, and release
    came with the tool known to be missing."""
    tools = ("inspection lamp", "mirror", "tyre gauge", "screwdriver", "headset", "recorder")
    stand = Stand().type("tools out seven", *(f"{tool} back" for tool in tools), "tools in six")
    stand.type("torque wrench out")
    heard = " ".join(hand_over(stand))
    assert "tools. six of seven. To be called, torque wrench." in heard
    assert "Begun and open, one. torque wrench." in heard
    stand.type("propeller area confirmed clear").finish("torque-wrench", "tools")
    assert {"torque-wrench", "tools"} <= set(stand.last["open"])  # type: ignore[arg-type]
    stand.type("torque wrench not inspected because by order")
    assert stand.walk.view().question, "an override is read back, and has its reason"
    stand.type("affirm", "walkaround complete")
    assert stand.open("tools")
    assert stand.replays()


def test_what_one_shift_took_off_stays_open_for_the_next():
    """NTSB AAR-92/04 (seen): 47 screws were taken from the left edge and not passed on; the next
    shift finished the right side only."""
    stand = Stand().type("left tail panel fasteners removed")
    first, *others = hand_over(stand)
    assert "left tail panel, fasteners removed, open." in first
    assert "Not called yet" in others[0]
    stand.type("right tail panel secure")
    assert stand.of("right-tail-panel")[0]["result"] == "satisfactory"
    stand.type("propeller area confirmed clear").finish("left-tail-panel")
    assert stand.last["open"] == ["left-tail-panel"] + [
        item.id for item in stand.card if item.balances and stand.open(item.id)
    ]
    (handed,) = (body for body in stand.kept if body["kind"] == "handed over")
    assert (handed["by"], handed["to"]) == ("inspector A", "B2")
    assert stand.replays()


def test_a_leak_looked_at_by_another_needs_more_than_a_word():
    """ASRS 972525; ASRS 854067 (both seen): released as the mechanic arrived, still dripping."""
    stand = Stand().type("left hydraulic line dripping")
    heard = " ".join(hand_over(stand))
    assert "Discrepancies, one. left hydraulic line." in heard
    stand.type("left hydraulic line checked")
    assert stand.last["question"] == "value"
    stand.type("disregard", "left hydraulic line no defects")
    assert "in place of drip." in stand.heard_back
    stand.type("negative")
    assert [body["discrepancy"] for body in stand.of("left-hydraulic-line")] == [{"defect": "drip"}]


def test_clearing_a_discrepancy_clears_nothing_that_was_taken_off_for_it():
    """Common practice, no source: what was removed for access is its own item."""
    stand = Stand().type("fuel drain seep", "right tail panel fasteners removed")
    stand.type("fuel drain no defects", "affirm")
    assert not stand.open("fuel-drain")
    assert stand.open("right-tail-panel")


def test_a_temporary_repair_is_a_discrepancy_of_its_own():
    """TM 1-1520-240-BD (seen): close the fault and open a new one saying so."""
    stand = Stand().type("fuel drain seep one and a half inches", "fuel drain temporary repair")
    seep, repair = stand.of("fuel-drain")
    assert seep["discrepancy"]["grade"] == "heavy seep"  # type: ignore[index]
    assert (repair["result"], repair["replaces"]) == ("discrepancy", 2)
    assert repair["discrepancy"] == {"defect": "temporary repair"}


def test_servicing_is_called_before_and_after():
    """Common practice, no source."""
    stand = Stand().type("left engine oil before four quarts", "left engine oil after six quarts")
    assert "six quarts, two added, recorded." in stand.heard_back
    reading = stand.last["reading"]
    assert (reading["before"], reading["added"]) == ("4", "2")  # type: ignore[index]
