"""Pooling: the likeliest meanings of all listeners, and what sounds near them, each scored by
all. A meaning that only one listener thought of is judged by the others all the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from voicewalk.hearing.evidence import Evidence, Sound
from voicewalk.hearing.listeners import Hearing
from voicewalk.hearing.wording import Guess, Wording, near_wordings, spoken
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.parse import parse

WAYS = 2
"""Wordings scored of each listener's guess: "three" and "tree" are one meaning."""

NEAR = 2
"""Of so many of the best meanings, the near wordings are scored too."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """A meaning with the scores that the listeners give it (by listener's name).

    Attributes:
        scores: relative to what each listener hears when nothing holds it.
        free: the log-probability of that, the same for all meanings of a clip.
        evidence: the log-odds that the scores are worth together, up to a constant of the clip.
        prior: the log weight of such a call before it was heard.
        texts: what each listener hears when nothing holds it, the same for all meanings of a
            clip; that of the first is the one to look in for what a call leaves out.
    """

    meaning: Meaning
    words: str
    scores: dict[str, float]
    free: dict[str, float]
    evidence: float
    prior: float = 0.0
    texts: dict[str, str] = field(default_factory=dict)

    @property
    def odds(self) -> float:
        """Log-odds that this is what was called, up to a constant of the clip."""
        return self.evidence + self.prior


def pool(
    graph: PhraseGraph,
    guessed: Sequence[tuple[Hearing, list[Guess]]],
    weigh: Evidence,
    sound: Sound,
    starts: Sequence[int] = (0,),
    prior: Callable[[Meaning], float] = lambda _: 0.0,
    width: int = 1,
) -> list[Pooled]:
    """All meanings worth judging, best first.

    Args:
        guessed: each listener's hearing of the clip with its guesses.
        starts: states of the graph at which calls may begin.
        prior: the log weight of each meaning.
        width: of the search, in common ones.
    """
    hearings = [hearing for hearing, _ in guessed]
    wordings: dict[Wording, Meaning] = {}
    for hearing, guesses in guessed:
        for guess in _likeliest(hearing, guesses, weigh, sound)[: hearing.traits.taken * width]:
            wordings.update(dict.fromkeys(guess.wordings[:WAYS], guess.meaning))
    scored = _score(wordings, hearings, weigh, sound, prior)
    near = {
        way: meaning
        for one in _best_wordings(scored)[: NEAR * width]
        for way in near_wordings(one.wording, graph.names)
        if way not in wordings and (meaning := _only_meaning(graph, way, starts)) is not None
    }
    scored = [*scored, *_score(near, hearings, weigh, sound, prior)]
    return [one.pooled for one in _best_wordings(scored)]


def _likeliest(
    hearing: Hearing, guesses: list[Guess], weigh: Evidence, sound: Sound
) -> list[Guess]:
    """A listener's guesses, likeliest first. Where they are many, a short word that is heard in
    anything stands before the call; the length tells."""
    name = hearing.traits.name
    if name not in weigh.alone:
        return guesses

    def alone(guess: Guess) -> float:
        words = " ".join(spoken(guess.wordings[0]))
        return weigh.alone[name]({name: guess.score}, words, sound)

    return sorted(guesses, key=alone, reverse=True)


@dataclass(frozen=True, slots=True)
class _Scored:
    pooled: Pooled
    wording: Wording


def _score(
    wordings: dict[Wording, Meaning],
    hearings: Sequence[Hearing],
    weigh: Evidence,
    sound: Sound,
    prior: Callable[[Meaning], float],
) -> list[_Scored]:
    """Each wording scored by every listener."""
    ways = list(wordings)
    columns = {hearing.traits.name: hearing.score(ways) for hearing in hearings}
    texts = {hearing.traits.name: hearing.text for hearing in hearings}
    free = {hearing.traits.name: hearing.free for hearing in hearings}
    scored: list[_Scored] = []
    for i, way in enumerate(ways):
        words = " ".join(spoken(way))
        scores = {name: column[i] for name, column in columns.items()}
        meaning, evidence = wordings[way], weigh(scores, words, sound)
        pooled = Pooled(meaning, words, scores, free, evidence, prior(meaning), texts)
        scored.append(_Scored(pooled, way))
    return scored


def _best_wordings(scored: list[_Scored]) -> list[_Scored]:
    """The best wording of each meaning, best meaning first; of ways that fit alike ("five" and
    "fife" are written the same) the one with more words of what was written freely."""

    def order(one: _Scored) -> tuple[float, int]:
        written = " ".join(one.pooled.texts.values()).lower().split()
        return -round(one.pooled.odds, 3), -sum(w in written for w in one.pooled.words.split())

    best: dict[Meaning, _Scored] = {}
    for one in sorted(scored, key=order):
        best.setdefault(one.pooled.meaning, one)
    return list(best.values())


def _only_meaning(graph: PhraseGraph, wording: Wording, starts: Sequence[int]) -> Meaning | None:
    meanings = parse(graph, " ".join(spoken(wording)), starts)
    return meanings[0] if len(meanings) == 1 else None
