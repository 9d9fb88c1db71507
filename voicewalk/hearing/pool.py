"""Pooling: the likeliest meanings of both listeners, and what sounds near them, each scored by
both. A meaning that only one listener thought of is judged by the other all the same."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from voicewalk.hearing.wording import Guess, Wording, near_wordings, spoken
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.parse import parse

TAKEN = {"phonemes": 12, "words": 8}
"""Meanings taken from each listener at the most."""

BEHIND = {"phonemes": 25.0, "words": 15.0}
"""A meaning so far behind its listener's best is left to the other listener to bring up."""

WAYS = 2
"""Wordings scored of each listener's guess: "three" and "tree" are one meaning."""

NEAR = 2
"""Of so many of the best meanings, the near wordings are scored too."""


class Hearing(Protocol):
    """One clip in one listener's ears."""

    name: str

    @property
    def text(self) -> str:
        """What it hears when nothing holds it."""

    def guesses(self, count: int) -> list[Guess]:
        """The likeliest meanings, best first."""

    def score(self, wordings: list[Wording]) -> list[float]:
        """The score of each wording, relative to the free decoding."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """A meaning with the scores that the listeners give it (by listener's name)."""

    meaning: Meaning
    words: str
    scores: dict[str, float]

    @property
    def total(self) -> float:
        """Both listeners' evidence together: the sum of their log-probabilities."""
        return sum(self.scores.values())


def pool(graph: PhraseGraph, hearings: list[Hearing]) -> list[Pooled]:
    """All meanings worth judging, best first."""
    wordings: dict[Wording, Meaning] = {}
    for hearing in hearings:
        guesses = hearing.guesses(TAKEN[hearing.name])
        floor = guesses[0].score - BEHIND[hearing.name] if guesses else 0.0
        for guess in guesses:
            if guess.score >= floor:
                wordings.update(dict.fromkeys(guess.wordings[:WAYS], guess.meaning))
    scored = _score(wordings, hearings)
    near = {
        way: meaning
        for best in scored[:NEAR]
        for way in near_wordings(best.wording)
        if way not in wordings and (meaning := _only_meaning(graph, way)) is not None
    }
    scored = sorted((*scored, *_score(near, hearings)), key=lambda s: -s.total)
    best: dict[Meaning, Pooled] = {}
    for one in scored:
        best.setdefault(one.meaning, Pooled(one.meaning, " ".join(spoken(one.wording)), one.scores))
    return list(best.values())


@dataclass(frozen=True, slots=True)
class _Scored:
    meaning: Meaning
    wording: Wording
    scores: dict[str, float]

    @property
    def total(self) -> float:
        return sum(self.scores.values())


def _score(wordings: dict[Wording, Meaning], hearings: list[Hearing]) -> list[_Scored]:
    """Each wording scored by every listener, the best wording of a meaning first."""
    ways = list(wordings)
    columns = {hearing.name: hearing.score(ways) for hearing in hearings}
    scored = [
        _Scored(wordings[way], way, {name: column[i] for name, column in columns.items()})
        for i, way in enumerate(ways)
    ]
    return sorted(scored, key=lambda s: -s.total)


def _only_meaning(graph: PhraseGraph, wording: Wording) -> Meaning | None:
    meanings = parse(graph, " ".join(spoken(wording)))
    return meanings[0] if len(meanings) == 1 else None
