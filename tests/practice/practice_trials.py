"""Trials of the jet trainer's card, as if they had been spoken."""

from __future__ import annotations

from voicewalk.card.load import card_path, load_card
from voicewalk.hearing.heard import Candidate, Verdict
from voicewalk.language.build import phrase_graph
from voicewalk.language.phrases import Phrase, phrase_of
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.practice.terms import Terms
from voicewalk.practice.trial import Trial

CARD = load_card(card_path("jet-trainer"))
WORDS = vocabulary_of(CARD)
GRAPH = phrase_graph(CARD, WORDS)
TERMS = Terms(CARD, WORDS)


def phrase(text: str) -> Phrase:
    found = phrase_of(CARD, GRAPH, text)
    assert found is not None, text
    return found


def candidate(text: str) -> Candidate:
    return Candidate(phrase(text).meaning, text)


def heard(text: str, **sound: object) -> Trial:
    return Trial(phrase(text), Verdict.UNDERSTOOD, (candidate(text),), text, **sound)


def mistaken(text: str, other: str) -> Trial:
    return Trial(phrase(text), Verdict.UNDERSTOOD, (candidate(other),), other)


def asked(text: str, *candidates: str, transcript: str = "") -> Trial:
    return Trial(phrase(text), Verdict.ASK, tuple(map(candidate, candidates)), transcript)


def missed(text: str, transcript: str = "") -> Trial:
    return Trial(phrase(text), Verdict.UNCLEAR, (), transcript)


def silent(text: str) -> Trial:
    return Trial(phrase(text), None)
