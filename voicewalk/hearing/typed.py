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

TRIED = 64
"""Mended texts tried: words of a call times the words each might be."""


def read_typed(graph: PhraseGraph, text: str) -> Heard:
    """What a typed line means."""
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
    words = sorted(graph.words)
    choices = [
        [word]
        if word in graph.words or not word.isalpha()
        else [m.phrase for m in best_matches(word, words, 3) if m.score >= LIKE] or [word]
        for word in tokens(text)
    ]
    return [" ".join(way) for way in islice(product(*choices), TRIED)]
