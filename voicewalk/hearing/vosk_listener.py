"""Vosk held to a card's phrases, for languages that no other listener knows.

What it hears is read by the same phrase graph as everything else. Its model learns only which
word may follow which, so it may hear words that make no call, and it is sure of them: words of
its list come with full confidence for speech that has none of them. So what it hears is never
evidence alone: ``single`` are the ears that ask all of it back. Of a wording that is put to it
it can only say whether one of its readings is that.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from voicewalk.card.model import Card
from voicewalk.card.said import where_said
from voicewalk.card.source import together
from voicewalk.errors import SourceError
from voicewalk.hearing.listeners import Starts, Traits
from voicewalk.hearing.vosk_model import Reading, VoskModel
from voicewalk.hearing.vosk_phrases import phrases_of
from voicewalk.hearing.wording import Guess, Part, Wording, spoken
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.parse import parse

Floats = NDArray[np.float32]

READINGS = 10
"""Readings asked for of a clip. Small models give two or three: their beam is narrow."""

TRAITS = Traits("vosk", read=READINGS, taken=2, deep=False, reduced=True)
"""A meaning for each reading is read; of those asked about, a third guess would help nobody."""


UNHEARD = -30.0
"""The score of a wording that none of its readings is: nats, as low as the judge sees."""


class VoskHearing:
    """One clip in the ears of Vosk."""

    traits = TRAITS
    span = None  # held to the card's words, it would find some in noise too

    def __init__(self, graph: PhraseGraph, readings: list[Reading], unknown: str) -> None:
        self._graph = graph
        self._readings = readings
        self._unknown = unknown

    @property
    def text(self) -> str:
        """What it hears, held to the card's words; it may be no call."""
        return self._readings[0].text if self._readings else ""

    @property
    def free(self) -> float:
        """The log-likelihood of its best reading: it hears nothing that the list does not hold."""
        return self._readings[0].score if self._readings else 0.0

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        """The score of the reading that each wording is, relative to the best one's."""
        readings = {reading.text: reading.score - self.free for reading in self._readings[::-1]}
        return [readings.get(" ".join(spoken(wording)), UNHEARD) for wording in wordings]

    @property
    def foreign(self) -> bool:
        """Whether it hears nothing, or speech that is none of the card's words."""
        return not self.text or self._unknown in self.text.split()

    def guesses(self, count: int) -> list[Guess]:
        """The ``count`` likeliest meanings, best first; a score is relative to the best reading.

        Readings with unknown speech, and words that make no call, are none.
        """
        best: dict[object, Guess] = {}
        for reading in self._readings:
            for meaning in parse(self._graph, reading.text):
                wording = (Part(tuple(reading.text.split()), number=False),)
                guess = Guess(meaning, (wording,), reading.score - self._readings[0].score)
                best.setdefault(meaning, guess)
        return list(best.values())[:count]

    def only(self) -> bool:
        """Whether all its readings mean the same."""
        meanings = [parse(self._graph, reading.text) for reading in self._readings]
        return (
            bool(meanings)
            and len(meanings[0]) == 1
            and meanings.count(meanings[0]) == len(meanings)
        )


class VoskListener:
    """Vosk over the phrase graph of one card.

    Args:
        card: where its words are written, for the errors.

    Raises:
        SourceError: the model does not know a word of the graph, with the word's place. Vosk
            itself would leave the word out of its phrases, and hear another.
    """

    traits = TRAITS

    def __init__(self, model: VoskModel, card: Card, graph: PhraseGraph) -> None:
        if faults := list(_missing(model, card, graph)):
            raise together(faults)
        self._model = model
        self._graph = graph
        self._phrases = {
            answers: json.dumps(
                [*phrases_of(graph, answers=answers), model.unknown], ensure_ascii=False
            )
            for answers in (False, True)
        }

    def hear(self, samples: Floats, starts: Starts = (0,)) -> VoskHearing:
        """Hear a clip: mono, 16 kHz, -1 to 1.

        Args:
            starts: where in the graph calls may begin. It tells only whether a call may name no
                item, since one was asked for: anywhere but at the graph's first state.
        """
        readings = self._model.hear(samples, self._phrases[starts != (0,)], READINGS)
        return VoskHearing(self._graph, readings, self._model.unknown)


def _missing(model: VoskModel, card: Card, graph: PhraseGraph) -> Iterator[SourceError]:
    for word in sorted(graph.words):
        if not model.knows(word):
            yield SourceError(
                where_said(card, word),
                f"the speech model {model.folder} does not know the word '{word}'",
                "Say it in words that the model knows: another term, or its parts as words.",
            )
