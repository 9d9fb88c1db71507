"""What practice works with: the phrases, and the microphone, a recording, or a folder of them."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from random import Random

from voicewalk.audio.frames import Samples
from voicewalk.audio.scripted import ScriptedCall
from voicewalk.audio.source import FileSource
from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Card
from voicewalk.errors import VoicewalkError
from voicewalk.language.build import phrase_graph
from voicewalk.language.phrases import Phrase, phrase_of, phrases
from voicewalk.language.scope import ENGLISH
from voicewalk.language.vocabulary import Vocabulary, vocabulary_of
from voicewalk.practice.spread import spread
from voicewalk.practice.terms import Terms
from voicewalk.practice.trial import Trial
from voicewalk.session.demo import Caller
from voicewalk.session.equipment import Calls, headset, open_ears
from voicewalk.session.practising import Show, Voice, practise
from voicewalk.session.speaking import Speaker


@dataclass(frozen=True, slots=True)
class Spoken:
    """A recording of one phrase; ``where`` names it in errors."""

    where: str
    text: str
    samples: Samples


class Practice:
    """Practice with one card.

    Args:
        name: the card's name or file.

    Raises:
        VoicewalkError: a fault of the card or its vocabulary, or it is not in English.
    """

    def __init__(self, name: str) -> None:
        self.card: Card = load_card(card_path(name))
        self._vocabulary: Vocabulary = vocabulary_of(self.card)
        if self._vocabulary.language != ENGLISH:
            raise VoicewalkError(
                "practice compares words by their sounds, and knows those of English only",
                "Name a card in English.",
            )
        self.terms = Terms(self.card, self._vocabulary)

    def draw(self, count: int, seed: int) -> list[Phrase]:
        """Phrases in which all words come up soon; the same seed draws the same."""
        return spread(phrases(self.card, self._vocabulary, Random(seed)), count)

    def at_microphone(self, drawn: list[Phrase], show: Show) -> list[Trial]:
        """Each phrase is shown and spoken, and then said into the microphone."""
        with headset(self.card, self._vocabulary, Calls()) as (source, ears, speaker):
            return practise(drawn, source, ears, speaker, show)

    def from_file(self, drawn: list[Phrase], path: Path, show: Show) -> list[Trial]:
        """The phrases as one recording has them, in their order, with a pause after each."""
        with contextlib.closing(FileSource(path)) as source:
            ears = open_ears(self.card, self._vocabulary)
            return practise(drawn, source, ears, Speaker(), show, voice=Voice.TALK)

    def from_recordings(self, recordings: Iterable[Spoken], show: Show) -> list[Trial]:
        """Each recording with its own phrase.

        Raises:
            VoicewalkError: a text is no call of the card.
        """
        graph = phrase_graph(self.card, self._vocabulary)
        given: list[Phrase] = []
        calls: list[ScriptedCall] = []
        for recording in recordings:
            if (phrase := phrase_of(self.card, graph, recording.text)) is None:
                raise VoicewalkError(
                    f"{recording.where}: '{recording.text}' is no call of the card",
                    "Correct the text, or leave the recording out.",
                )
            given.append(phrase)
            calls.append(ScriptedCall(recording.samples))
        source = Caller(calls, lambda samples, rate: None)
        ears = open_ears(self.card, self._vocabulary)
        return practise(given, source, ears, Speaker(), show, voice=Voice.RECORDINGS)
