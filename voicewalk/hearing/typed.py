"""The typed twin: the same walk without a microphone, read by the same phrase graph.

What the graph parses is understood. Slips of the keyboard are mended word by word, but what
was mended is asked back: a mended word is a guess. Talk near a call is understood as such: the
walk tells that it is no result.
"""

from __future__ import annotations

from itertools import islice, product

from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.match import best_matches
from voicewalk.language.meaning import NO_CALL
from voicewalk.language.parse import parse, tokens

LIKE = 0.6
"""Least likeness of a typed word to a word of the graph to stand for it; one wrong letter in a
word of five scores 0.7 or more."""

MOST_LETTERS = 300
"""A longer line is no call: in the 12 s of the longest sound that is heard as one
(``AudioSettings.most_frames``) nobody says so much. Reading takes the square of it."""

MOST_MENDED, MOST_SLIPS = 30, 4
"""Words of a line that is mended, and those of them that no word of the graph is: each is compared
with all words of the graph. Common practice, no source."""

TRIED = 64
"""Mended texts tried: words of a call times the words each might be."""


def read_typed(graph: PhraseGraph, text: str) -> Heard:
    """What a typed line means; one longer than any call means nothing."""
    if len(text) > MOST_LETTERS:
        return Heard(Verdict.UNCLEAR, (), 0.0, "typed", evidence={"how": "typed", "text": text})
    meanings = parse(graph, text)
    if len(meanings) == 1:
        verdict, found = Verdict.UNDERSTOOD, [(meanings[0], " ".join(tokens(text)))]
    else:
        read = ((one, text) for one in meanings)
        mends = ((one, mended) for mended in _mended(graph, text) for one in parse(graph, mended))
        found = list(islice(read if meanings else mends, 2))
        if any(meaning.act in NO_CALL for meaning, _ in found):
            found = []  # it may be talk, which is not asked about
        verdict = Verdict.ASK if found else Verdict.UNCLEAR
    return Heard(
        verdict=verdict,
        candidates=tuple(Candidate(meaning, words) for meaning, words in found),
        probability=1.0 if verdict is Verdict.UNDERSTOOD else 0.0,
        how="typed",
        evidence={"how": "typed", "text": text},
    )


def _mended(graph: PhraseGraph, text: str) -> list[str]:
    words, said = sorted(graph.words), tokens(text)
    slips = {word for word in said if word not in graph.words and word.isalpha()}
    if len(said) > MOST_MENDED or len(slips) > MOST_SLIPS:
        return []
    meant = {
        slip: [m.phrase for m in best_matches(slip, words, 3) if m.score >= LIKE] for slip in slips
    }
    choices = [meant.get(word) or [word] for word in said]
    return [" ".join(way) for way in islice(product(*choices), TRIED)]
