"""The judge: from the pooled meanings to understood, ask back, unclear, or not for the tool.

The probability comes from a logistic model fitted on named data (``calibration``). Beside it
stand rules that no probability overrules: no listener may clearly prefer another meaning, a near
pair that is close is asked back, and a bare number counts only where a number is expected.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np

from voicewalk.hearing.calibration import Calibration, Thresholds, features_of
from voicewalk.hearing.evidence import Evidence, Sound, doublings, letters_of
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.pool import Pooled
from voicewalk.hearing.prior import unasked
from voicewalk.hearing.unexplained import doubts, left_over, stating, word_beyond, words_of
from voicewalk.language.meaning import (
    LEADING,
    NO_CALL,
    Act,
    Command,
    Expectation,
    Meaning,
    without_side,
)
from voicewalk.language.numbers import teens_for_tens

_MOST_LEAD = 8.0
"""Log-odds beyond this say no more: what is wrong then was not among the meanings at all."""

_SMALL_LEAD = 3.0
"""Up to here a meaning is doubted for the others' sake, odds of 20 to 1."""

_MOST_MARGIN = 20.0

_ANSWERS = (Act.COMMAND, Act.SIDE, Act.CHOICE, Act.ACKNOWLEDGED)
"""What only answers a question: to ask about such a word takes longer than to say it again."""

_SPELLED = 5.0
"""By how much the evidence must prefer an identity to any other meaning. Whether it is that of the
walk decides everything that follows, and to say it again takes three seconds. At 2.5 (the
learnt margin of a pair) two of 216 made calls were taken for an identity one sign off, by 4.3 and
4.6; of those understood rightly without noise an eighth stands out by less than 6."""

_MOST_LOST = 30.0
"""Nats: what fits worse than this is nothing of what was said."""

_MOST_LEFT = 12.0
"""Letters: with more left over it is other speech, and more of it says no more."""

_SENTENCE_DB = 10.0
"""Below it a call is asked back that is said as a sentence ("the throttle is cut off"), and in
quiet where its small words are not just so in the first listener's text. Noise hides a short word
at its beginning: "is the throttle cut off" and "until the throttle is cut off" were heard so at 0
and 5 dB, with nothing left unexplained; and "the" can stand for any three letters ("mind")."""

_LOUD, _BEHIND, _LOUD_BEHIND = 0.11, 0.28, 0.05
"""Seconds of speech as loud as the words that may lie behind them in quiet, and less of it where
as much speech of any loudness does: 99 of 100 calls have none. In noise, where the end of speech
is found late, calls have as much behind them as another's word adds."""

_HARMLESS = LEADING | {Command.NEGATIVE}
"""What may be taken at once though it was faint: it enters nothing, confirms and withdraws nothing.
Of so quiet a word a part is lost in the noise, and the rest may be another."""

_QUIET_DB = 20.0
"""From here on noise is no reason for two listeners to err alike."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict with its reasons; ``features`` in the order of ``features_of``.

    Attributes:
        candidates: what was understood, or the one or two meanings that are worth asking about:
            never a third guess, and never talk. What is understood may be: it is told so.
    """

    verdict: Verdict
    ranked: tuple[Pooled, ...]
    probability: float
    features: tuple[float, ...]
    reason: str
    candidates: tuple[Pooled, ...] = ()


def unconfirmed(sound: Sound) -> bool:
    """Whether a clip is faint and no listener can tell that it holds speech: then it holds none."""
    return sound.faint and sound.span is None


def rank(pooled: Iterable[Pooled]) -> list[Pooled]:
    """Likeliest first, by the listeners' evidence and the weight of such a call."""
    return sorted(pooled, key=lambda one: -one.odds)


def pair(one: Meaning, other: Meaning) -> bool:
    """Whether two meanings differ in one thing only, as near pairs do: another number, the
    other side, another state, or good against a defect of the same item."""
    differing = {f.name for f in fields(Meaning) if getattr(one, f.name) != getattr(other, f.name)}
    if "group" in differing:  # a side is lost, and with it what kind of name this is
        differing.add("item")
    return len(differing - {"act", "group"}) <= 1 or (
        "act" in differing and (one.item, one.group) == (other.item, other.group)
    )


def ahead(best: Pooled, other: Pooled) -> float:
    """By how much the best meaning stands out from another one.

    No weight helps a number against another, or a unit: a reading far off the limits, or in
    another unit, is rare, and just what must not be bent into a good one.
    """
    one, two = best.meaning, other.meaning
    numbers = bool(one.value and two.value) and bool(one.unit) is bool(two.unit)
    by_odds = best.odds - other.odds
    return min(by_odds, best.evidence - other.evidence) if numbers and pair(one, two) else by_odds


def close_to(best: Pooled, others: Iterable[Pooled], limits: Thresholds) -> list[Pooled]:
    """Those of the others from which the best does not stand out, in their order."""

    def needed(other: Pooled) -> float:
        if best.meaning.act is Act.IDENTITY:
            return _SPELLED
        if not pair(other.meaning, best.meaning):
            return limits.near
        alike = teens_for_tens(other.words.split(), best.words.split())
        return limits.alike if alike else limits.pair

    return [one for one in others if ahead(best, one) < needed(one)]


def unsettled(
    best: Pooled,
    seen: Mapping[str, float],
    close: Sequence[Pooled],
    sound: Sound,
    limits: Thresholds,
    deep: Iterable[str] = (),
) -> str:
    """Why a person must be asked whatever the probability; "" for no reason.

    Args:
        seen: the features by their names.
        deep: listeners whose score of the whole call is a measure of what it leaves out.
    """
    quiet = float(np.clip(sound.snr_db / _QUIET_DB, 0, 1))

    def between(noisy: float, clear: float) -> float:
        return noisy + (clear - noisy) * quiet

    if seen["doubt"]:
        return "a word of doubt that the call does not hold"
    if best.meaning.act not in NO_CALL and (said := stating(best.words)):
        heard = words_of(next(iter(best.texts.values()), best.words))
        if sound.snr_db < _SENTENCE_DB or not said.issubset(heard):
            return "a sentence whose first word may be another"
    first = next(iter(best.texts.values()), "")
    if word_beyond(best.words, first) or (
        seen["unexplained"] > between(limits.noisy_unexplained, limits.unexplained)
    ):
        return "more was said than the call"
    most = _LOUD_BEHIND if sound.behind > _BEHIND else _LOUD
    if sound.snr_db >= _QUIET_DB and sound.loud > most:
        return "more was said behind the call"
    total = between(limits.noisy_total, limits.total)
    if any(seen[f"{name} total"] < total for name in deep):
        return "the call is not all that was said"
    dissent = between(limits.noisy_dissent, limits.dissent)
    if any(seen[f"{name} margin"] < -dissent for name in limits.least):
        return "the listeners differ"
    if any(seen[name] < least for name, least in limits.least.items()):
        return "one listener hears little of it"
    if close:
        return "two meanings are close"
    return "too faint to be taken at once" if sound.faint and not harmless(best.meaning) else ""


def harmless(meaning: Meaning) -> bool:
    """Whether a meaning, were it wrong, would cost no more than an answer that nobody wanted."""
    return meaning.act is Act.COMMAND and meaning.command in _HARMLESS


def lead(ranked: Sequence[Pooled]) -> float:
    """The log-odds of the best of ``ranked`` against all the others together."""
    odds = np.array([one.odds for one in ranked])
    others = odds[1:] - odds[0]
    return float(-np.logaddexp.reduce(others)) if len(others) else np.inf


def features(ranked: Sequence[Pooled], sound: Sound, weigh: Evidence) -> tuple[float, ...]:
    """The judge's view of the best of ``ranked`` (at least one), as ``features_of`` names it."""
    best, others = ranked[0], ranked[1:]
    length = letters_of(best.words)
    ahead_of_all = min(_MOST_LEAD, lead(ranked))
    seen = {
        "lead": ahead_of_all,
        "small lead": min(_SMALL_LEAD, ahead_of_all),
        "pace": min(3.0, abs(doublings(best.words, sound))),
        "length": float(np.log2(length)),
        "snr": float(np.clip(sound.snr_db, -5, 30)) / 10,
        "bare": float(unasked(best.meaning, Expectation())),
        "prior": best.prior,
    }
    first, *others_wrote = best.texts.values() or (None,)
    denied = doubts(best.words, [first] if first else [])
    seen |= {
        "doubt": float(min(2, len(denied))),
        "doubt elsewhere": float(min(2, len(doubts(best.words, others_wrote)))),
    }
    left = left_over(best.words, " ".join(words_of(best.words if first is None else first)))
    seen |= {
        "unexplained": min(_MOST_LEFT, left.letters),
        "lost": min(_MOST_LEFT, left.lost),
    }

    def margin(name: str) -> float:
        def alone(one: Pooled) -> float:
            return weigh({name: one.scores[name]}, best.words, sound)

        rival = max((alone(one) for one in others), default=-np.inf)
        return float(np.clip(alone(best) - rival, -_MOST_MARGIN, _MOST_MARGIN))

    for name in weigh.listeners:
        score = best.scores[name]
        seen |= {
            name: _per_letter(score, length),
            f"{name} total": float(np.clip(score, -_MOST_LOST, 0.0)),
            f"own {name}": _per_letter(best.free[name], length),
            f"{name} in lead": _per_letter(score, length) * ahead_of_all / _MOST_LEAD,
            f"{name} bare": _per_letter(score, length) * seen["bare"],
            f"{name} margin": margin(name),
        }
    return tuple(seen[name] for name in features_of(weigh.listeners))


def _per_letter(score: float, letters: int) -> float:
    """Nothing is better than what a listener hears by itself: where it babbles, as the word
    listener does in faint noise, any short call would be."""
    return float(np.clip(score / letters, -4.0, 0.0))


class Judge:
    """Judges with one calibration; ``critical`` are the ids and groups of critical items."""

    def __init__(self, calibration: Calibration, critical: frozenset[str] = frozenset()) -> None:
        self._calibration = calibration
        self.thresholds = calibration.thresholds
        self._critical = critical

    def __call__(self, pooled: list[Pooled], sound: Sound, expectation: Expectation) -> Judgement:
        """Judge one clip."""
        if not pooled:
            return Judgement(Verdict.OUTSIDE, (), 0.0, (), "no meaning fits")
        ranked = rank(pooled)
        if unconfirmed(sound):
            return Judgement(Verdict.OUTSIDE, tuple(ranked), 0.0, (), "no word in faint sound")
        weigh = self._calibration.evidence
        seen = features(ranked, sound, weigh)
        close = close_to(ranked[0], ranked[1:], self.thresholds)
        view = dict(zip(features_of(weigh.listeners), seen, strict=True))
        doubt = unsettled(ranked[0], view, close, sound, self.thresholds, weigh.alone)
        probability = self._calibration.probability(seen, settled=not doubt)
        verdict, reason = self._verdict(ranked[0].meaning, probability, expectation, doubt)
        candidates: tuple[Pooled, ...] = ()
        if verdict is Verdict.UNDERSTOOD:
            candidates = (ranked[0],)
        elif verdict is Verdict.ASK:
            worth = [one for one in (ranked[0], *close) if one.meaning.act not in NO_CALL]
            # To name a call and the same without its side would ask nothing.
            candidates = tuple(
                one
                for one in worth
                if one.meaning != without_side(worth[0].meaning, one.meaning.group)
            )[:2]
            if not candidates:  # talk, and no call is near it
                talk = ranked[0].meaning.act is Act.TALK
                verdict = Verdict.OUTSIDE if talk else Verdict.UNCLEAR
        if sound.faint and verdict is Verdict.UNCLEAR:  # perhaps nobody spoke: ask nobody
            verdict = Verdict.OUTSIDE
        return Judgement(verdict, tuple(ranked), probability, seen, reason, candidates)

    def _verdict(
        self, best: Meaning, probability: float, expectation: Expectation, doubt: str
    ) -> tuple[Verdict, str]:
        limits = self.thresholds
        if probability < limits.unclear:
            return Verdict.OUTSIDE, "unlike any call"
        if best.act in NO_CALL and probability >= limits.ask:
            if doubt or probability < limits.plain:
                return Verdict.ASK, "near a call, and perhaps none"
            return Verdict.UNDERSTOOD, "near a call, and none"  # the walk tells it and keeps none
        if best.act is Act.TALK:
            return Verdict.OUTSIDE, "talk, and not surely near a call"  # to somebody else
        # "Affirm" that nobody asked for answers nothing, and "negative" leads to a question:
        # neither is a result, so the walk may hear them.
        if unasked(best, expectation) and best.act is not Act.COMMAND:
            return Verdict.UNCLEAR, "names no item, and none was asked for"
        if probability < limits.ask:
            return Verdict.UNCLEAR, "too unsure to ask about"
        bare = unasked(best, Expectation())
        if bare and best.act in _ANSWERS and probability < limits.bare:
            return Verdict.UNCLEAR, "short, and too unsure to ask about"
        if doubt:
            return Verdict.ASK, doubt
        if probability < self._least(best, expectation):
            return Verdict.ASK, "not sure enough for what is at stake"
        return Verdict.UNDERSTOOD, "the listeners agree"

    def _least(self, meaning: Meaning, expectation: Expectation) -> float:
        limits = self.thresholds
        item = meaning.item or meaning.group or expectation.item
        critical = item in self._critical or meaning.act is Act.IDENTITY
        least = limits.critical if critical else limits.plain
        if unasked(meaning, Expectation()):
            least = max(least, limits.bare)
        return max(least, limits.reading) if meaning.value or meaning.size else least
