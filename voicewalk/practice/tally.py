"""Counts what became of each word of the phrases, and finds safer ways to say the weak ones.

A few phrases prove nothing about one word; what they show is where to look. So counts are
given as they are, and a safer way is one that was itself heard each time, or that lies further,
by its sound, from whatever else could be said there.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from voicewalk.language.phonetic import distance
from voicewalk.practice.terms import Terms, Way
from voicewalk.practice.trial import Outcome, Trial, words_heard

WEAK = 1 / 3
"""From this share of its times on, a word that was asked back or missed is weak."""

SUGGESTED = 2
"""Other ways named for one that is weak."""

CLEARER = 0.05
"""An untried way is named where its nearest rival is further off by so much, of 1."""

DIGITS = {"nine": "niner", "five": "fife", "four": "fower", "oh": "zero"}
"""Radiotelephony's own words for digits: ICAO Annex 10 vol. II, 5.2.1.4.3.1. From memory."""


@dataclass
class WordTally:
    """What became of one word.

    Attributes:
        counts: by outcome.
        taken_for: what was heard in its place, where that is known.
    """

    word: str
    counts: Counter[Outcome] = field(default_factory=Counter)
    taken_for: Counter[str] = field(default_factory=Counter)

    @property
    def said(self) -> int:
        """How many times it was said."""
        return self.counts.total()

    @property
    def failed(self) -> int:
        """How many times it was asked back or missed."""
        return self.said - self.counts[Outcome.HEARD]

    @property
    def weak(self) -> bool:
        """Whether it failed too often."""
        return self.failed >= max(1, WEAK * self.said)


@dataclass(frozen=True, slots=True)
class Safer:
    """Advice about one way to say a term.

    Attributes:
        words: what was said; ``weak`` are those of its words that are weak.
        instead: other ways, the safest first; none where there is none to name.
    """

    words: str
    weak: tuple[str, ...]
    instead: tuple[str, ...]


def tally(trials: Iterable[Trial]) -> list[WordTally]:
    """Every word said, the weakest first: those missed oftenest, then those asked back."""
    tallies: dict[str, WordTally] = {}
    for trial in trials:
        for one in words_heard(trial):
            word = tallies.setdefault(one.word, WordTally(one.word))
            word.counts[one.outcome] += 1
            if one.taken_for:
                word.taken_for[one.taken_for] += 1
    return sorted(
        tallies.values(),
        key=lambda w: (-w.counts[Outcome.MISSED], -w.counts[Outcome.ASKED], w.word),
    )


def advice(trials: Sequence[Trial], terms: Terms) -> list[Safer]:
    """What to say instead of each term that holds a weak word, in the order of weakness."""
    weak = [one.word for one in tally(trials) if one.weak]
    said: dict[str, list[Way]] = {}
    tried: dict[str, Counter[bool]] = defaultdict(Counter)
    for trial in trials:
        for way in terms.within(trial.phrase.text):
            said.setdefault(way.text, []).append(way)
            tried[way.text][trial.outcome is Outcome.HEARD] += 1
    found: dict[str, Safer] = {}
    for word in weak:
        for text, ways in said.items():
            its = tuple(part for part in weak if part in ways[0].words)
            if word in its and text not in found:
                found[text] = Safer(text, its, tuple(_safer(ways, terms, weak, tried)))
        if word in DIGITS:
            found[word] = Safer(word, (word,), (DIGITS[word],))
    return list(found.values())


def _safer(
    ways: Sequence[Way], terms: Terms, weak: Sequence[str], tried: Mapping[str, Counter[bool]]
) -> Iterator[str]:
    """Other ways to say the same that hold no weak word: first those that were heard here each
    time, then those untried that lie further from their rivals. "Pounds" may be a pressure or a
    mass: where words have two meanings, another way must have both."""
    same = set.intersection(*({other.text for other in terms.others(way)} for way in ways))
    ranked: set[tuple[int, float, str]] = set()
    for way in dict.fromkeys(ways):
        least = _clear(way, terms) + CLEARER
        for other in terms.others(way):
            clear = _clear(other, terms)
            heard = tried.get(other.text, Counter())
            sound = not set(other.words) & set(weak) and (heard[True] or clear >= least)
            if sound and other.text in same:
                ranked.add((-heard[True], -clear, other.text))
    yield from (text for _, _, text in sorted(ranked)[:SUGGESTED])


def _clear(way: Way, terms: Terms) -> float:
    """How unlike the nearest thing of its sort a way sounds, 0 to 1."""
    return min((distance(way.text, rival.text) for rival in terms.rivals(way)), default=1.0)
