"""The present result of every item."""

from __future__ import annotations

from walk_cards import TRIO

from voicewalk.walk.entries import Entered
from voicewalk.walk.ledger import Ledger
from voicewalk.walk.terms import Accepted, Result

GOOD, BAD = Result.SATISFACTORY, Result.DISCREPANCY


def entry(item: str, result: Result = GOOD, **more: object) -> Entered:
    return Entered(item, item, "bay", result, Accepted.UNDERSTOOD, **more)


def test_a_new_ledger_has_everything_open():
    ledger = Ledger(TRIO)
    assert ledger.open == ("lamp", "pump", "recheck")
    assert ledger.latest is None
    assert set(ledger.counts().values()) == {0}


def test_entering_gives_a_new_ledger_and_leaves_the_old_one():
    empty = Ledger(TRIO)
    assert empty.enter(2, entry("pump")).open == ("lamp", "recheck")
    assert empty.open == ("lamp", "pump", "recheck")


def test_the_open_items_ahead_begin_after_an_item_and_come_round():
    ledger = Ledger(TRIO)
    assert ledger.open_after("") == ("lamp", "pump", "recheck")
    assert ledger.open_after("lamp") == ("pump", "recheck", "lamp")
    assert ledger.open_after("recheck") == ("lamp", "pump", "recheck")
    assert ledger.enter(2, entry("pump")).open_after("lamp") == ("recheck", "lamp")


def test_a_replacing_entry_takes_the_place_of_all_from_the_one_it_names():
    three = Ledger(TRIO).enter(2, entry("lamp", BAD)).enter(3, entry("lamp", BAD))
    three = three.enter(4, entry("lamp", BAD))
    assert [one.seq for one in three.of("lamp")] == [2, 3, 4]
    assert [one.seq for one in three.enter(5, entry("lamp", replaces=3)).of("lamp")] == [2, 5]


def test_a_discrepancy_outweighs_what_stands_beside_it():
    ledger = Ledger(TRIO).enter(2, entry("lamp", BAD)).enter(3, entry("lamp", GOOD))
    assert ledger.result("lamp") is BAD
    assert ledger.counts()[BAD] == 1


def test_a_withdrawn_entry_opens_its_item_and_does_not_bring_back_another():
    ledger = Ledger(TRIO).enter(2, entry("lamp")).enter(3, entry("lamp", BAD, replaces=2))
    ledger = ledger.withdraw(3)
    assert ledger.is_open("lamp")
    assert ledger.of("lamp") == ()
    assert "lamp" in ledger.standing  # it had a result once


def test_withdrawing_what_does_not_stand_changes_nothing():
    ledger = Ledger(TRIO).enter(2, entry("lamp"))
    assert ledger.withdraw(7) == ledger


def test_an_item_opened_again_is_open_until_it_is_entered():
    ledger = Ledger(TRIO).enter(2, entry("recheck")).enter(3, entry("pump", reopens=("recheck",)))
    assert ledger.open == ("lamp", "recheck")
    assert ledger.result("recheck") is None
    assert [one.seq for one in ledger.of("recheck")] == [2]
    assert ledger.enter(4, entry("recheck", replaces=2)).open == ("lamp",)


def test_the_latest_is_the_newest_of_a_closed_item():
    ledger = Ledger(TRIO).enter(2, entry("recheck")).enter(3, entry("lamp"))
    latest = ledger.latest
    assert latest
    assert latest.seq == 3
    before = ledger.reopen(("lamp",)).latest
    assert before
    assert before.seq == 2
