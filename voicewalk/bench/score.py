"""Counts what became of the calls of a benchmark, with 95 % intervals. Pure; nothing listens.

A call is understood at once, asked back with the right meaning among those named, asked back
wrongly, or not understood; a wrong entry is anything understood that was not called. Other
speech is accepted where anything at all is understood in it; talk near a call that is understood
as such is refused.

Speech near a call is counted apart: it is recorded where anything is understood in it that would
change the record, but an opposite may be entered as what it says. Of two calls in one breath both
must be entered, or asked about; one of them alone is a loss that nobody notices.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from math import sqrt

from voicewalk.bench.observe import Piece, Trial
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.judge import Judge
from voicewalk.language.meaning import NO_CALL, Act, Expectation, Meaning, without_side
from voicewalk.language.near import enters
from voicewalk.language.talk import Near

EARS = "ears"


class Outcome(StrEnum):
    """What became of one recording."""

    UNDERSTOOD = "understood"
    ASKED_RIGHT = "asked_right"
    ASKED_WRONG = "asked_wrong"
    NOT_UNDERSTOOD = "not_understood"
    WRONG_ENTRY = "wrong_entry"
    REFUSED = "refused"
    ACCEPTED = "outside_accepted"
    NEAR_RECORDED = "near_recorded"
    NEAR_RIGHT = "near_right"
    NEAR_ASKED = "near_asked"
    NEAR_REFUSED = "near_refused"
    MERGED_BOTH = "merged_both"
    MERGED_ASKED = "merged_asked"
    MERGED_REFUSED = "merged_refused"
    MERGED_LOST = "merged_lost"
    MERGED_WRONG = "merged_wrong"


CALLS = (
    Outcome.UNDERSTOOD,
    Outcome.ASKED_RIGHT,
    Outcome.ASKED_WRONG,
    Outcome.NOT_UNDERSTOOD,
    Outcome.WRONG_ENTRY,
)
OUTSIDE = (Outcome.REFUSED, Outcome.ACCEPTED)
NEAR = (
    Outcome.NEAR_RECORDED,  # wrong
    Outcome.NEAR_RIGHT,  # an opposite entered as what it says
    Outcome.NEAR_ASKED,
    Outcome.NEAR_REFUSED,  # or taken for what enters nothing: an item's name, "next"
)
MERGED = (
    Outcome.MERGED_BOTH,  # in their order
    Outcome.MERGED_ASKED,  # what is not entered is asked about
    Outcome.MERGED_REFUSED,  # nothing of it is entered
    Outcome.MERGED_LOST,  # wrong: one is entered, and the other neither entered nor asked about
    Outcome.MERGED_WRONG,  # wrong: something else is entered, or in the other order
)
"""The outcomes of each class of recordings; each recording has one of its own class."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One listener's word on one piece: what it understood, or what it asks about."""

    understood: Meaning | None = None
    asks: tuple[Meaning, ...] = ()


Answers = Callable[[Piece, Expectation], Answer]


def of_ears(judge: Judge) -> Answers:
    """The answers of the product: all listeners, judged."""

    def answer(piece: Piece, expectation: Expectation) -> Answer:
        judgement = judge(list(piece.pooled), piece.sound, expectation)
        meanings = tuple(p.meaning for p in judgement.candidates)
        calls = tuple(meaning for meaning in meanings if meaning.act not in NO_CALL)
        if judgement.verdict is Verdict.UNDERSTOOD and calls == meanings:
            return Answer(understood=meanings[0])
        return Answer(asks=calls)

    return answer


def of_peer(name: str) -> Answers:
    """The answers of a peer."""
    return lambda piece, _: Answer(understood=dict(piece.peers)[name])


def outcome(trial: Trial, answers: Answers) -> Outcome:
    """What became of a recording; where it fell into pieces, each is a call of its own."""
    said = [answers(piece, trial.expectation) for piece in trial.pieces]
    understood = [one.understood for one in said if one.understood is not None]
    if trial.near is not None:
        asked = [meaning for one in said for meaning in one.asks]
        merged = trial.near.kind is Near.TWO_CALLS and trial.near.meanings
        return (_merged if merged else _near)(trial.near.meanings, understood, asked)
    if trial.truth is None:
        return Outcome.ACCEPTED if understood else Outcome.REFUSED
    if any(not is_harmless(meaning, trial.truth) for meaning in understood):
        return Outcome.WRONG_ENTRY
    if trial.truth in understood:
        return Outcome.UNDERSTOOD
    asks = [meaning for one in said for meaning in one.asks]
    if trial.truth in asks:
        return Outcome.ASKED_RIGHT
    return Outcome.ASKED_WRONG if asks else Outcome.NOT_UNDERSTOOD


def _near(
    right: Sequence[Meaning], understood: Sequence[Meaning], asks: Sequence[Meaning]
) -> Outcome:
    """Of speech that may enter nothing but what is right."""
    entered = [meaning for meaning in understood if enters(meaning)]
    if not _all_harmless(entered, right):
        return Outcome.NEAR_RECORDED
    if entered:
        return Outcome.NEAR_RIGHT
    return Outcome.NEAR_ASKED if asks else Outcome.NEAR_REFUSED


def _merged(
    both: Sequence[Meaning], understood: Sequence[Meaning], asks: Sequence[Meaning]
) -> Outcome:
    """Of two calls in one breath; what waits for its side is not entered yet."""
    entered = [meaning for meaning in understood if enters(meaning)]
    if not _all_harmless(entered, both):
        return Outcome.MERGED_WRONG
    entered = [meaning for meaning in entered if meaning in both]
    missing = [meaning for meaning in both if meaning not in entered]
    if not missing:
        return Outcome.MERGED_BOTH if entered == list(both) else Outcome.MERGED_WRONG
    if not entered:
        return Outcome.MERGED_ASKED if asks else Outcome.MERGED_REFUSED
    return Outcome.MERGED_ASKED if set(missing) <= set(asks) else Outcome.MERGED_LOST


def _all_harmless(entered: Sequence[Meaning], right: Sequence[Meaning]) -> bool:
    """Whether each of these is harmless where one of ``right`` was said."""
    return all(any(is_harmless(meaning, one) for one in right) for meaning in entered)


def is_harmless(meaning: Meaning, truth: Meaning | None) -> bool:
    """The call itself; or only its item, or all of it but the side, which enter nothing and wait
    for the rest."""
    if truth is None or meaning == truth:
        return truth is not None
    truth = without_side(truth, meaning.group) or truth
    named = (meaning.item, meaning.group) == (truth.item, truth.group)
    return meaning == truth or (meaning.act is Act.ITEM and named)


def kind_of(truth: Meaning | None) -> str:
    """The kind of call: result, reading, discrepancy, command; outside for none."""
    if truth is None:
        return "outside"
    if truth.act in (Act.READING, Act.COUNT):
        return "reading"
    if truth.act is Act.DISCREPANCY:
        return "discrepancy"
    commands = (Act.COMMAND, Act.SIDE, Act.CHOICE, Act.ITEM)
    return "command" if truth.act in commands else "result"


def class_of(trial: Trial) -> str:
    """The kind of a trial's call, or in which way it is near one."""
    if trial.near is None:
        return kind_of(trial.truth)
    kind = trial.near.kind
    return kind.value if kind is Near.TWO_CALLS else f"near: {kind}"


@dataclass(slots=True)
class Group:
    """Alike trials counted.

    Attributes:
        outcomes: how often each outcome came.
        seconds: of sound with speech in it.
        busy: seconds of listening to it.
    """

    outcomes: dict[Outcome, int] = field(default_factory=lambda: dict.fromkeys(Outcome, 0))
    seconds: float = 0.0
    busy: float = 0.0

    def add(self, trial: Trial, result: Outcome) -> None:
        """Count one trial."""
        self.outcomes[result] += 1
        self.seconds += sum(piece.sound.seconds for piece in trial.pieces)
        self.busy += sum(piece.busy for piece in trial.pieces)

    def of(self, outcomes: Sequence[Outcome]) -> int:
        """How many of these there are."""
        return sum(self.outcomes[one] for one in outcomes)

    @property
    def n(self) -> int:
        """Calls."""
        return self.of(CALLS)

    @property
    def outside_n(self) -> int:
        """Recordings that were no calls, nor near one."""
        return self.of(OUTSIDE)

    def __add__(self, other: Group) -> Group:
        both = {one: self.outcomes[one] + other.outcomes[one] for one in Outcome}
        return Group(both, self.seconds + other.seconds, self.busy + other.busy)


def count(
    trials: Iterable[Trial],
    answers: Answers,
    key: Callable[[Trial], tuple[str, ...]],
) -> dict[tuple[str, ...], Group]:
    """The trials in groups, in the order in which they come up."""
    groups: dict[tuple[str, ...], Group] = defaultdict(Group)
    for trial in trials:
        groups[key(trial)].add(trial, outcome(trial, answers))
    return dict(groups)


def interval(count: int, of: int) -> tuple[float, float]:
    """The 95 % interval of a share: Wilson's score interval (E. B. Wilson, 1927)."""
    if of == 0:
        return 0.0, 1.0
    z = 1.959964
    share, spread = count / of, z * z / of
    middle = (share + spread / 2) / (1 + spread)
    half = z / (1 + spread) * sqrt(share * (1 - share) / of + spread / (4 * of))
    return max(0.0, middle - half), min(1.0, middle + half)


def as_json(
    listener: str, keys: Sequence[str], groups: dict[tuple[str, ...], Group]
) -> list[object]:
    """The groups as a list of objects, each with its keys, counts and intervals."""
    return [
        dict(zip(keys, key, strict=True))
        | {"listener": listener, "n": group.n}
        | {one.value: group.outcomes[one] for one in Outcome if one is not Outcome.REFUSED}
        | {"outside_n": group.outside_n, "near_n": group.of(NEAR), "merged_n": group.of(MERGED)}
        | {"seconds": round(group.seconds, 2), "busy_seconds": round(group.busy, 2)}
        | {"intervals": _intervals(group)}
        for key, group in groups.items()
    ]


def _intervals(group: Group) -> dict[str, list[float]]:
    return {
        one.value: [round(end, 5) for end in interval(group.outcomes[one], group.of(alike))]
        for alike in (CALLS, OUTSIDE, NEAR, MERGED)
        for one in alike
        if one is not Outcome.REFUSED
    }
