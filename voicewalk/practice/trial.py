"""One phrase spoken in practice: what became of it, and which of its words are to blame.

A phrase that was understood clears all its words. Otherwise the words are compared by sound
with what was heard instead: with the wrong candidate, else with what the first listener wrote
when nothing held it. Those that differ are to blame; where none does, all are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain

from voicewalk.hearing.heard import Candidate, Verdict
from voicewalk.language.numbers import parse_number
from voicewalk.language.parse import tokens
from voicewalk.language.phonetic import align, phonemes, weight
from voicewalk.language.phrases import Phrase
from voicewalk.language.runs import number_runs

MISHEARD = 0.3
"""A word of which so large a part is lost or replaced was heard as something else, in a free
transcript. "Tire" for "tyre" is the same sounds; "tie" lost a third. Our own choice, no source."""


class Outcome(StrEnum):
    """What became of a phrase, or of a word of it."""

    HEARD = "heard"
    ASKED = "asked back"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class Trial:
    """One phrase as it was spoken and heard.

    Attributes:
        verdict: the judge's, or that of a cut clip; ``None`` where no speech was found.
        candidates: as heard, best first.
        transcript: what the first listener wrote when nothing held it.
        level_dbfs, snr_db: of the speech; 0 where none was found.
        clipped: the microphone was driven into full scale.
    """

    phrase: Phrase
    verdict: Verdict | None
    candidates: tuple[Candidate, ...] = ()
    transcript: str = ""
    level_dbfs: float = 0.0
    snr_db: float = 0.0
    clipped: bool = False

    @property
    def outcome(self) -> Outcome:
        """Heard is understood rightly at once; asked back is with the right candidate."""
        right = [one.meaning == self.phrase.meaning for one in self.candidates]
        if self.verdict is Verdict.UNDERSTOOD and right[:1] == [True]:
            return Outcome.HEARD
        return Outcome.ASKED if self.verdict is Verdict.ASK and any(right) else Outcome.MISSED

    @property
    def mistaken(self) -> str:
        """The words of another call for which this one was taken, without a question."""
        wrong = self.verdict is Verdict.UNDERSTOOD and self.outcome is Outcome.MISSED
        return self.candidates[0].words if wrong else ""

    @property
    def instead(self) -> str:
        """The words of the best wrong candidate."""
        wrong = (c.words for c in self.candidates if c.meaning != self.phrase.meaning)
        return next(wrong, "")


@dataclass(frozen=True, slots=True)
class WordHeard:
    """One word of a phrase; ``taken_for`` is what was heard in its place, "" for nothing or
    where it is not known."""

    word: str
    outcome: Outcome
    taken_for: str = ""


def words_heard(trial: Trial) -> list[WordHeard]:
    """Each word of the phrase, in order."""
    words = tokens(trial.phrase.text)
    if trial.outcome is Outcome.HEARD:
        return [WordHeard(word, Outcome.HEARD) for word in words]
    blamed = _differing(words, trial.instead, 0.0) if trial.instead else {}
    if not blamed and trial.transcript:
        blamed = _differing(words, trial.transcript, MISHEARD)
    if not blamed:
        blamed = dict.fromkeys(range(len(words)), "")
    return [
        WordHeard(word, trial.outcome, blamed[at])
        if at in blamed
        else WordHeard(word, Outcome.HEARD)
        for at, word in enumerate(words)
    ]


def _differing(words: Sequence[str], text: str, least: float) -> dict[int, str]:
    """The places of words of which more than ``least`` is lost in ``text``, each with the words
    that stand there. Where none is, those after which ``text`` has a word more."""
    others = _numbers_as_said(tokens(text), words)
    sounds = [phonemes(word) for word in words]
    heard = [phonemes(word) for word in others]
    owners = [at for at, sound in enumerate(sounds) for _ in sound]
    places = [at for at, sound in enumerate(heard) for _ in sound]
    lost, added = [0.0] * len(words), [0.0] * len(words)
    partners: dict[int, dict[int, None]] = defaultdict(dict)
    last = 0
    for i, j, cost in align(tuple(chain(*sounds)), tuple(chain(*heard))):
        last = last if i is None else owners[i]
        (added if i is None else lost)[last] += cost
        if j is not None:
            partners[last][places[j]] = None
    taken = {at: " ".join(others[p] for p in partners[at]) for at in range(len(words))}
    for costs in (lost, added):
        blamed = [at for at, cost in enumerate(costs) if cost > least * weight(sounds[at])]
        if blamed:
            return {at: taken[at] if taken[at] != words[at] else "" for at in blamed}
    return {}


def _numbers_as_said(others: Sequence[str], words: Sequence[str]) -> list[str]:
    """``others`` with each number that was said written as it was said."""
    said = {parse_number(words[begin:end]): words[begin:end] for begin, end in number_runs(words)}
    found: list[str] = []
    last = 0
    for begin, end in number_runs(others):
        run = others[begin:end]
        found += [*others[last:begin], *said.get(parse_number(run), run)]
        last = end
    return [*found, *others[last:]]
