"""The order of things: one entry at a time, nothing told before it is kept, whose turn it is."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace

import pytest
from walk_booth import SETTINGS, given, meaning, run
from walk_cards import PAIR, STOPS, TRAINER

from voicewalk.language.meaning import Expectation
from voicewalk.walk.machine import Walk
from voicewalk.walk.memory import WalkState
from voicewalk.walk.messages import (
    Append,
    Appended,
    AppendFailed,
    Effect,
    Finished,
    Input,
    Interrupted,
    Listen,
    Put,
    Say,
    SetTimer,
    Spoken,
    Start,
    Tick,
    Unclear,
)


def started() -> Walk:
    walk = Walk(TRAINER, SETTINGS)
    walk.receive(Start("EX-1", "inspector A"))
    walk.receive(Appended(1))
    return walk


def kinds(effects: tuple[Effect, ...]) -> list[type]:
    return [type(effect) for effect in effects]


def test_the_start_is_told_once_it_is_kept():
    walk = Walk(TRAINER, SETTINGS)
    assert kinds(walk.receive(Start("EX-1", "inspector A"))) == [Append]
    said, listen = walk.receive(Appended(1))
    assert isinstance(said, Say)
    assert (said.prompt, said.args["caution"]) == ("started", TRAINER.caution)
    assert isinstance(listen, Listen)


def test_a_result_is_handed_to_the_record_and_told_only_when_kept():
    walk = started()
    assert kinds(walk.receive(given("radome: satisfactory"))) == [Append]
    assert walk.view().counts == Walk(TRAINER, SETTINGS).view().counts
    assert kinds(walk.receive(Appended(2))) == [Say, Listen]
    assert walk.view().counts["satisfactory"] == 1


def test_what_comes_in_meanwhile_waits_and_is_handed_out_one_by_one():
    walk = started()
    walk.receive(given("radome: satisfactory"))
    assert kinds(walk.receive(given("left-tyre: defect cut"))) == [Listen]
    assert kinds(walk.receive(given("strut: reading 3 inch"))) == [Listen]
    assert walk.view().waiting == 3
    *_, second = walk.receive(Appended(2))
    *_, third = walk.receive(Appended(3))
    assert isinstance(second, Append)
    assert isinstance(third, Append)
    assert (second.body["item"], third.body["item"]) == ("left-tyre", "strut")
    assert kinds(walk.receive(Appended(4))) == [Say, Listen]


def test_a_failed_entry_is_told_and_tried_again_as_it_was():
    walk = started()
    (append,) = walk.receive(given("radome: satisfactory"))
    said, timer, listen = walk.receive(AppendFailed("disk full"))
    assert said == Say("not-recorded", {"reason": "disk full"})
    assert timer == SetTimer("append", SETTINGS.append_seconds)
    assert isinstance(listen, Listen)
    assert walk.receive(Tick("append")) == (append,)
    # Told once: the caller knows, and hears it again with the next call only.
    assert kinds(walk.receive(AppendFailed("disk full"))) == [SetTimer, Listen]
    assert kinds(walk.receive(given("left-tyre: defect cut"))) == [Say, Listen]
    assert walk.receive(Tick("append")) == (append,)
    again, recorded, *_ = walk.receive(Appended(2))
    assert again == Say("recording-again")
    assert isinstance(recorded, Say)
    assert recorded.prompt == "recorded-satisfactory"


def test_the_retry_timer_does_nothing_while_nothing_failed():
    walk = started()
    assert walk.receive(Tick("append")) == ()
    walk.receive(given("radome: satisfactory"))
    assert walk.receive(Tick("append")) == ()


def test_a_question_does_not_time_out_while_an_entry_is_on_its_way():
    walk = started()
    walk.receive(given("@tyre: defect cut"))
    walk.receive(Appended(2))
    walk.receive(given("clock 5"))
    assert walk.receive(Tick("question-2-again")) == ()
    assert SetTimer("question-2", SETTINGS.question_seconds) in walk.receive(Appended(3))


def test_an_interruption_while_the_record_answers_hands_nothing_out_twice():
    walk = started()
    walk.receive(given("radome: satisfactory"))
    assert kinds(walk.receive(Interrupted(5))) == [Listen]


@pytest.mark.parametrize(
    "wrong",
    [Appended(2), AppendFailed("disk full"), Start("EX-1", "inspector A")],
    ids=["nothing was handed out", "nothing could fail", "started already"],
)
def test_a_wrong_order_of_calls_is_the_programs_fault(wrong: Input):
    with pytest.raises(RuntimeError):
        started().receive(wrong)


@pytest.mark.parametrize("line", ["radome: satisfactory", "affirm", "clock 5", "device lost"])
def test_nothing_comes_before_the_start(line: str):
    with pytest.raises(RuntimeError, match="wrong order of calls"):
        Walk(TRAINER, SETTINGS).receive(given(line))


def test_the_number_of_an_entry_never_runs_back():
    walk = started()
    walk.receive(given("radome: satisfactory"))
    with pytest.raises(RuntimeError, match="out of order"):
        walk.receive(Appended(1))


@pytest.mark.parametrize("of", ["propeller:", "propeller: satisfactory", "@wheel: satisfactory"])
@pytest.mark.parametrize("unclear", ["", "? ", "? radome: satisfactory | "])
def test_an_item_of_another_card_is_refused(of: str, unclear: str):
    with pytest.raises(ValueError, match="the card has no"):
        started().receive(given(unclear + of))


def test_the_end_of_a_prompt_changes_nothing():
    walk = started()
    before = walk.memory
    assert walk.receive(Spoken("started")) == ()
    assert walk.memory == before


def test_the_closed_walk_finishes_and_listens_no_more():
    booth = run(PAIR, "> radome: satisfactory\n> plug: state out")
    booth.walk.receive(given("walkaround complete"))
    assert kinds(booth.walk.receive(Appended(4))) == [Say, Finished]
    assert booth.walk.view().state is WalkState.CLOSED


def test_memory_and_entries_cannot_be_changed():
    walk = started()
    with pytest.raises(FrozenInstanceError):
        walk.memory.seq = 7  # type: ignore[misc]


# --- what is listened for --------------------------------------------------------------------

ALL = tuple(TRAINER.by_id)


def expected(talk: str) -> Expectation:
    listen = run(TRAINER, talk).listen
    assert listen
    return listen.expectation


def test_at_the_start_the_items_are_likely_in_card_order():
    booth = run(TRAINER, "> where are we")
    assert booth.listen == Listen(Expectation(likely=ALL), put=Put(1))


def test_the_items_after_the_last_confirmed_one_are_likelier():
    likely = expected("> gear-pins: count 5").likely
    at = ALL.index("gear-pins")
    assert likely == ALL[at + 1 :] + ALL[:at]


@pytest.mark.parametrize(
    ("talk", "item", "question", "side"),
    [
        ("> radome: satisfactory", "", False, False),
        ("> strut:", "strut", False, False),
        ("> next", "radome", False, False),
        ("> next\n> : satisfactory", "left-cover", False, False),
        ("> @tyre: defect cut", "", False, True),
        ("> : defect cut", "", False, False),
        ("> strut: reading 3 psi", "strut", False, False),
        ("> oxygen: reading 1600 psi", "oxygen", True, False),
        ("> ? radome: satisfactory", "radome", True, False),
        ("> ? left-tyre: defect cut | right-tyre: defect cut", "", True, True),
        ("> ? radome: satisfactory | left-tyre: satisfactory", "", True, True),
        ("> radome: satisfactory\n> correction", "radome", False, False),
        ("> oxygen: reading 1600 psi\n> negative", "oxygen", False, False),
    ],
)
def test_what_the_hearing_is_told_to_expect(talk: str, item: str, question: bool, side: bool):
    got = expected(talk)
    assert (got.item, got.question, got.side) == (item, question, side)


@pytest.mark.parametrize(
    ("talk", "between"),
    [
        ("> radome: satisfactory", ()),
        ("> oxygen: reading 1600 psi", ()),
        ("> ? radome: satisfactory", ("radome: satisfactory",)),
        ("> ? door: state locked | door: state not locked",
         ("door: state locked", "door: state not locked")),
        ("> ? radome: satisfactory\n> negative", ()),
        ("> ? radome: satisfactory\n> negative\n> ?", ()),
        ("> ? door: state locked\n> ? next", ("next",)),
    ],
)  # fmt: skip
def test_the_hearing_is_told_between_which_calls_is_asked(talk: str, between: tuple[str, ...]):
    assert expected(talk).between == tuple(map(meaning, between))


def test_what_is_to_be_spelt_belongs_to_its_item():
    got = expected("> ? strut: reading 3 inch\n> negative\n> ?")
    assert (got.item, got.question) == ("strut", True)


def test_standing_by_nothing_is_expected():
    assert expected("> oxygen: reading 1600 psi\n> stand by") == Expectation()


def test_after_remark_free_speech_is_listened_for_and_then_no_more():
    booth = run(TRAINER, "> remark")
    assert booth.listen
    assert booth.listen.remark
    booth.hear("remark> oil below")
    assert not booth.listen.remark


def test_a_question_sets_its_timer_and_its_second_asking_another():
    booth = run(TRAINER, "> @tyre: defect cut")
    assert booth.timer == "question-2"
    booth.hear("silence")
    assert booth.timer == "question-2-again"
    booth.hear("where are we")  # somebody is there: the question has its time again
    assert booth.timer == "question-2"


@pytest.mark.parametrize(("snr", "told"), [("20", []), ("2", ["poor"]), ("10", ["fair"])])
def test_noise_is_told_where_an_identity_was_not_understood(snr: str, told: list[str]):
    walk = Walk(replace(STOPS, identity_said=True), SETTINGS)
    walk.receive(Start("EX-1", "inspector A"))
    walk.receive(Appended(1))
    sound = {"snr_db": snr, "level_dbfs": "-20", "notes": []}
    said = walk.receive(Unclear((), {"how": "sound", "sound": sound}))
    says = [one for one in said if isinstance(one, Say)]
    assert [one.args["heard"] for one in says if one.prompt == "hearing"] == told
    assert says[-1].prompt == "ask-identity"
