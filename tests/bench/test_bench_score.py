"""What became of each recording, counted; and the interval of a share against SciPy's."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from bench_trials import CUT, GOOD, NAMED, NOTHING, PRESSURE, near_trial, piece, pooled, trial
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from voicewalk.bench import score
from voicewalk.bench.score import (
    Answer,
    Group,
    Outcome,
    as_json,
    class_of,
    count,
    interval,
    kind_of,
    of_ears,
    of_peer,
    outcome,
)
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.judge import Judgement
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.language.talk import Near

HEARD = "heard"


def taken(meaning: Meaning | None = None, *asks: Meaning):
    """A piece that was understood as a meaning, or asked about, or neither."""
    return piece(peers={HEARD: meaning, **{f"ask {n}": one for n, one in enumerate(asks)}})


def answers(piece, expectation) -> Answer:
    """Reads what ``taken`` wrote."""
    first, *asks = (meaning for _, meaning in piece.peers)
    return Answer(first, tuple(asks))


OTHER_TYRE = replace(GOOD, item="left-main-tyre")


@pytest.mark.parametrize(
    ("truth", "pieces", "became"),
    [
        (GOOD, [taken(GOOD)], Outcome.UNDERSTOOD),
        (GOOD, [taken(None, GOOD)], Outcome.ASKED_RIGHT),
        (GOOD, [taken(None, CUT, GOOD)], Outcome.ASKED_RIGHT),
        (GOOD, [taken(None, CUT)], Outcome.ASKED_WRONG),
        (GOOD, [taken(None, CUT, OTHER_TYRE)], Outcome.ASKED_WRONG),
        (GOOD, [taken()], Outcome.NOT_UNDERSTOOD),
        (GOOD, [], Outcome.NOT_UNDERSTOOD),
        (GOOD, [taken(CUT)], Outcome.WRONG_ENTRY),
        (GOOD, [taken(OTHER_TYRE)], Outcome.WRONG_ENTRY),
        (GOOD, [taken(replace(GOOD, corrects=True))], Outcome.WRONG_ENTRY),
        (GOOD, [taken(Meaning(Act.COMMAND, command=Command.NEXT))], Outcome.WRONG_ENTRY),
        (PRESSURE, [taken(replace(PRESSURE, value="90"))], Outcome.WRONG_ENTRY),
        (PRESSURE, [taken(replace(PRESSURE, unit=""))], Outcome.WRONG_ENTRY),
        (None, [taken()], Outcome.REFUSED),
        (None, [], Outcome.REFUSED),
        (None, [taken(None, GOOD)], Outcome.REFUSED),  # a question enters nothing
        (None, [taken(GOOD)], Outcome.ACCEPTED),
        (None, [taken(NAMED)], Outcome.ACCEPTED),
        (None, [taken(), taken(GOOD), taken()], Outcome.ACCEPTED),
    ],
)
def test_what_became_of_a_recording(truth, pieces, became):
    assert outcome(trial(truth, *pieces), answers) is became


OTHER_NAMED = replace(NAMED, item="left-main-tyre")


@pytest.mark.parametrize(
    ("pieces", "became"),
    [
        ([taken(), taken(GOOD)], Outcome.UNDERSTOOD),
        ([taken(NAMED), taken(GOOD)], Outcome.UNDERSTOOD),
        ([taken(NAMED), taken()], Outcome.NOT_UNDERSTOOD),  # its item waits for the rest
        ([taken(NAMED), taken(None, GOOD)], Outcome.ASKED_RIGHT),
        ([taken(NAMED), taken(None, CUT)], Outcome.ASKED_WRONG),
        ([taken(GOOD), taken(CUT)], Outcome.WRONG_ENTRY),
        ([taken(CUT), taken(GOOD)], Outcome.WRONG_ENTRY),
        ([taken(OTHER_NAMED), taken(GOOD)], Outcome.WRONG_ENTRY),
        ([taken(None, CUT), taken(GOOD)], Outcome.UNDERSTOOD),
    ],
)
def test_each_piece_of_a_recording_is_a_call_of_its_own(pieces, became):
    assert outcome(trial(GOOD, *pieces), answers) is became


def test_a_group_named_for_the_group_that_was_called_is_harmless():
    called = Meaning(Act.SATISFACTORY, group="tyre")
    named = Meaning(Act.ITEM, group="tyre")
    assert outcome(trial(called, taken(named)), answers) is Outcome.NOT_UNDERSTOOD
    assert outcome(trial(called, taken(replace(named, group="door"))), answers) is (
        Outcome.WRONG_ENTRY
    )


LEFT_DOOR = Meaning(Act.STATE, item="left-door", state="unlatched")


@pytest.mark.parametrize(
    ("heard", "became"),
    [
        (replace(LEFT_DOOR, item="", group="door"), Outcome.NOT_UNDERSTOOD),
        (Meaning(Act.ITEM, group="door"), Outcome.NOT_UNDERSTOOD),
        (replace(LEFT_DOOR, item="", group="door", state="latched"), Outcome.WRONG_ENTRY),
        (replace(LEFT_DOOR, item="", group="bay"), Outcome.WRONG_ENTRY),
        (replace(LEFT_DOOR, item="right-door"), Outcome.WRONG_ENTRY),
    ],
)
def test_a_call_heard_without_its_side_waits_for_the_side(heard, became):
    assert outcome(trial(LEFT_DOOR, taken(heard)), answers) is became


def test_what_is_asked_for_is_handed_to_the_listener():
    asked = Expectation(item="nose-tyre")
    seen = []

    def curious(piece, expectation):
        seen.append(expectation)
        return Answer()

    outcome(trial(GOOD, taken(), taken(), expectation=asked), curious)
    assert seen == [asked, asked]


@pytest.mark.parametrize("verdict", Verdict)
def test_the_ears_answer_with_their_candidates(verdict):
    """Understood is the first; all others are asked about, and only where it is asked back."""
    good, cut = pooled(GOOD, "nose tyre good", -1.0), pooled(CUT, "nose tyre cut", -2.0)
    told = {Verdict.UNDERSTOOD: (good,), Verdict.ASK: (cut, good)}.get(verdict, ())

    def judge(found, sound, expectation):
        assert (found, sound.seconds, expectation) == ([good, cut], 2.0, NOTHING)
        return Judgement(verdict, (good, cut), 0.9, (), "", told)

    expected = {
        Verdict.UNDERSTOOD: Answer(understood=GOOD),
        Verdict.ASK: Answer(asks=(CUT, GOOD)),
    }.get(verdict, Answer())
    assert of_ears(judge)(piece(good, cut), NOTHING) == expected


def test_a_peer_answers_with_what_it_heard():
    heard = piece(peers={"one": GOOD, "other": None})
    assert of_peer("one")(heard, NOTHING) == Answer(understood=GOOD)
    assert of_peer("other")(heard, NOTHING) == Answer()


@pytest.mark.parametrize(
    ("truth", "kind"),
    [
        (None, "outside"),
        (GOOD, "result"),
        (Meaning(Act.STATE, item="door", state="latched"), "result"),
        (Meaning(Act.NOT_INSPECTED, item="door"), "result"),
        (Meaning(Act.NOT_APPLICABLE), "result"),
        (PRESSURE, "reading"),
        (Meaning(Act.COUNT, value="3"), "reading"),
        (CUT, "discrepancy"),
        (Meaning(Act.COMMAND, command=Command.NEXT), "command"),
        (Meaning(Act.SIDE, side="left"), "command"),
        (Meaning(Act.CHOICE, choice="first"), "command"),
        (NAMED, "command"),
    ],
)
def test_kinds_of_calls(truth, kind):
    assert kind_of(truth) == kind


# --- near calls, and two calls in one breath ----------------------------------------------

POOR = Meaning(Act.DISCREPANCY, item="nose-tyre", defect="unserviceable")
NEXT = Meaning(Act.COMMAND, command=Command.NEXT)
TAKEN_BACK = Meaning(Act.COMMAND, command=Command.DISREGARD)


@pytest.mark.parametrize(
    ("kind", "right", "pieces", "became"),
    [
        (Near.QUESTION, [], [], Outcome.NEAR_REFUSED),
        (Near.QUESTION, [], [taken()], Outcome.NEAR_REFUSED),
        (Near.QUESTION, [], [taken(None, GOOD)], Outcome.NEAR_ASKED),
        (Near.QUESTION, [], [taken(GOOD)], Outcome.NEAR_RECORDED),
        (Near.QUESTION, [], [taken(OTHER_TYRE)], Outcome.NEAR_RECORDED),
        (Near.QUESTION, [], [taken(CUT)], Outcome.NEAR_RECORDED),
        (Near.ORDER, [], [taken(None, GOOD), taken(GOOD)], Outcome.NEAR_RECORDED),
        (Near.BEHIND, [], [taken(GOOD), taken(TAKEN_BACK)], Outcome.NEAR_RECORDED),
        (Near.BEHIND, [], [taken(TAKEN_BACK)], Outcome.NEAR_RECORDED),
        (Near.FUTURE, [], [taken(NEXT)], Outcome.NEAR_REFUSED),
        (Near.FUTURE, [], [taken(NAMED)], Outcome.NEAR_REFUSED),
        (Near.OPPOSITE, [POOR], [taken(POOR)], Outcome.NEAR_RIGHT),
        (Near.OPPOSITE, [POOR], [taken(NAMED), taken(POOR)], Outcome.NEAR_RIGHT),
        (Near.OPPOSITE, [POOR], [taken(CUT)], Outcome.NEAR_RECORDED),  # more than was said
        (Near.OPPOSITE, [POOR], [taken(GOOD)], Outcome.NEAR_RECORDED),
        (Near.OPPOSITE, [POOR], [taken(POOR), taken(GOOD)], Outcome.NEAR_RECORDED),
        (Near.OPPOSITE, [POOR], [taken(None, POOR, GOOD)], Outcome.NEAR_ASKED),
        (Near.TWO_CALLS, [], [taken(GOOD)], Outcome.NEAR_RECORDED),  # of another card
    ],
)
def test_what_became_of_speech_near_a_call(kind, right, pieces, became):
    assert outcome(near_trial(kind, right, *pieces), answers) is became


@pytest.mark.parametrize(
    ("pieces", "became"),
    [
        ([taken(GOOD), taken(OTHER_TYRE)], Outcome.MERGED_BOTH),
        ([taken(NAMED), taken(GOOD), taken(OTHER_TYRE)], Outcome.MERGED_BOTH),
        ([taken(GOOD), taken(None, OTHER_TYRE, CUT)], Outcome.MERGED_ASKED),
        ([taken(None, GOOD)], Outcome.MERGED_ASKED),
        ([taken(None, CUT)], Outcome.MERGED_ASKED),
        ([taken()], Outcome.MERGED_REFUSED),
        ([], Outcome.MERGED_REFUSED),
        ([taken(NAMED)], Outcome.MERGED_REFUSED),
        ([taken(GOOD)], Outcome.MERGED_LOST),
        ([taken(OTHER_TYRE)], Outcome.MERGED_LOST),
        ([taken(GOOD), taken()], Outcome.MERGED_LOST),
        ([taken(GOOD), taken(None, CUT)], Outcome.MERGED_LOST),
        ([taken(OTHER_TYRE), taken(GOOD)], Outcome.MERGED_WRONG),
        ([taken(GOOD), taken(OTHER_TYRE), taken(GOOD)], Outcome.MERGED_WRONG),
        ([taken(CUT)], Outcome.MERGED_WRONG),
        ([taken(GOOD), taken(OTHER_TYRE), taken(CUT)], Outcome.MERGED_WRONG),
        ([taken(TAKEN_BACK)], Outcome.MERGED_WRONG),
    ],
)
def test_what_became_of_two_calls_in_one_breath(pieces, became):
    both = (GOOD, OTHER_TYRE)
    assert outcome(near_trial(Near.TWO_CALLS, both, *pieces), answers) is became


def test_the_same_call_twice_is_two_calls():
    both = (GOOD, GOOD)
    twice = near_trial(Near.TWO_CALLS, both, taken(GOOD), taken(GOOD))
    assert outcome(twice, answers) is Outcome.MERGED_BOTH


def test_of_a_call_that_waits_for_its_side_nothing_is_entered():
    other = replace(LEFT_DOOR, item="right-door")
    waits = replace(LEFT_DOOR, item="", group="door")
    both = near_trial(Near.TWO_CALLS, (LEFT_DOOR, other), taken(waits))
    assert outcome(both, answers) is Outcome.MERGED_REFUSED


def test_each_class_has_outcomes_of_its_own():
    classes = (score.CALLS, score.OUTSIDE, score.NEAR, score.MERGED)
    assert sorted(one for alike in classes for one in alike) == sorted(Outcome)


def test_classes_of_trials():
    assert class_of(trial(GOOD)) == kind_of(GOOD)
    assert class_of(trial(None)) == "outside"
    assert class_of(near_trial(Near.QUESTION, [])) == "near: question"
    assert class_of(near_trial(Near.TWO_CALLS, [GOOD, GOOD])) == "two calls"


# --- counting ------------------------------------------------------------------------------

CALLS = [
    trial(GOOD, taken(GOOD), snr="clean"),
    trial(GOOD, taken(GOOD), snr="10"),
    trial(GOOD, taken(CUT), snr="10"),
    trial(CUT, taken(None, GOOD), snr="10"),
    trial(None, taken(GOOD), snr="10"),
    trial(None, taken(), taken(), snr="10"),
    trial(None, snr="10"),
]


def by_level(one) -> tuple[str, ...]:
    return (one.snr,)


def test_trials_are_counted_in_their_groups_in_order():
    groups = count(CALLS, answers, by_level)
    assert list(groups) == [("clean",), ("10",)]
    ten = groups["10",]
    assert (ten.n, ten.outside_n) == (3, 3)
    assert {one: many for one, many in ten.outcomes.items() if many} == {
        Outcome.UNDERSTOOD: 1,
        Outcome.WRONG_ENTRY: 1,
        Outcome.ASKED_WRONG: 1,
        Outcome.ACCEPTED: 1,
        Outcome.REFUSED: 2,
    }


def test_seconds_of_speech_and_of_listening_are_added_up():
    group = Group()
    group.add(
        trial(GOOD, piece(seconds=2.0, took={"a": 0.5, "b": 0.25}), piece(seconds=1.5)),
        Outcome.UNDERSTOOD,
    )
    group.add(trial(None, piece(seconds=0.5, took={"a": 1.0})), Outcome.REFUSED)
    assert (group.seconds, group.busy) == (4.0, 1.75)


outcomes = st.lists(st.sampled_from(Outcome), max_size=20)


def counted(results) -> Group:
    group = Group()
    for result in results:
        group.add(trial(GOOD, piece(seconds=1.5, took={"a": 0.5})), result)
    return group


@given(outcomes, outcomes)
def test_groups_add_up(one, other):
    both = counted(one) + counted(other)
    assert both == counted([*one, *other])
    beside = both.of(score.NEAR) + both.of(score.MERGED)
    assert both.n + both.outside_n + beside == len(one) + len(other)
    assert both.n == sum(result in score.CALLS for result in [*one, *other])


# --- the interval --------------------------------------------------------------------------


@given(st.integers(1, 5000).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_the_interval_is_that_of_scipy(part):
    hits, of = part
    expected = binomtest(hits, of).proportion_ci(confidence_level=0.95, method="wilson")
    assert interval(hits, of) == pytest.approx((expected.low, expected.high), abs=1e-6)


def test_of_none_nothing_is_known():
    assert interval(0, 0) == (0.0, 1.0)


# --- JSON ----------------------------------------------------------------------------------

KEYS = {
    "snr", "n", "understood", "asked_right", "asked_wrong", "not_understood", "wrong_entry",
    "outside_n", "outside_accepted", "seconds", "busy_seconds", "listener", "intervals",
    "near_n", "near_recorded", "near_right", "near_asked", "near_refused", "merged_n",
    "merged_both", "merged_asked", "merged_refused", "merged_lost", "merged_wrong",
}  # fmt: skip


def test_groups_are_written_with_their_counts_and_intervals():
    groups = count(CALLS, answers, by_level)
    clean, ten = as_json("ears", ("snr",), groups)
    assert json.loads(json.dumps(ten)) == ten
    assert ten.keys() == clean.keys() == KEYS
    counts = {"n": 3, "understood": 1, "asked_right": 0, "asked_wrong": 1, "not_understood": 0}
    counts |= {"wrong_entry": 1, "outside_n": 3, "outside_accepted": 1, "seconds": 12.0}
    assert {key: ten[key] for key in counts} == counts
    assert (ten["snr"], ten["listener"]) == ("10", "ears")
    assert clean["n"] == 1
    expected = {"understood": 1, "asked_right": 0, "asked_wrong": 1, "not_understood": 0}
    expected |= {"wrong_entry": 1, "outside_accepted": 1}
    beside = {key for key in KEYS if key.startswith(("near_", "merged_"))} - {"near_n", "merged_n"}
    assert ten["intervals"].keys() == expected.keys() | beside
    assert all(ten["intervals"][name] == [0.0, 1.0] for name in beside)  # of none
    for name, hits in expected.items():
        assert ten["intervals"][name] == [round(end, 5) for end in interval(hits, 3)]


@given(outcomes)
def test_the_shares_of_calls_written_are_one_together(results):
    (group,) = as_json("ears", ("snr",), {("clean",): counted(results)})
    of_calls = ("understood", "asked_right", "asked_wrong", "not_understood", "wrong_entry")
    assert sum(group[name] for name in of_calls) == group["n"]
    assert 0 <= group["outside_accepted"] <= group["outside_n"]
    for beside in ("near", "merged"):
        shares = (key for key in group if key.startswith(f"{beside}_") and key != f"{beside}_n")
        assert sum(group[name] for name in shares) == group[f"{beside}_n"]
    assert all(0 <= low <= high <= 1 for low, high in group["intervals"].values())


def test_keys_and_groups_must_fit():
    with pytest.raises(ValueError, match="zip"):
        as_json("ears", ("snr", "source"), {("clean",): Group()})
