"""Records with sounds that stand for calls, and ears that hear in them what a test says."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicewalk.card.model import Card
from voicewalk.clock import Instant
from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.build import phrase_graph
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.clip import Clip, encode_clip
from voicewalk.record.file import RecordFile
from voicewalk.session.opening import words_of
from voicewalk.settings import WalkSettings
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import Append, Appended, Call, Listen, RemarkSpoken, Start, Unclear

AT = "2031-04-02T06:00:00.000Z"


@dataclass(frozen=True)
class Said:
    """A call as the record takes it.

    Attributes:
        text: the call; the words asked back, parted by "|", for an unclear one.
    """

    text: str
    probability: str = "0.990"
    verdict: Verdict = Verdict.UNDERSTOOD
    remark: bool = False
    notes: tuple[str, ...] = ()


def sound(number: int) -> Clip:
    """A sound by whose length it can be told from others."""
    return encode_clip(np.zeros(1600 + number, np.float32), number)


def ended(record: Path) -> None:
    """A process that is ended while it hears."""
    os._exit(1)


class Maker:
    """Makes a record of calls, and knows what the walk would have understood at each."""

    def __init__(self, card: Card) -> None:
        self.card = card
        self.graph = phrase_graph(card, vocabulary_of(card))
        self.expected: list[Listen] = []

    def record(self, path: Path, said: Iterable[Said], sounds: Iterable[Clip] = ()) -> Path:
        """A record of these calls, in sounds that stand for them where none are given."""
        given_sounds = dict(enumerate(sounds))
        walk = Walk(self.card, WalkSettings(), words_of(vocabulary_of(self.card)))
        texts = self.card.texts.values()
        at = Instant(AT, 1)
        with RecordFile.create(path, program="v 0", recorder="r", at=at, texts=texts) as record:

            def give(given, clip=None):
                effects = walk.receive(given)
                while any(isinstance(one, Append) for one in effects):
                    append = next(one for one in effects if isinstance(one, Append))
                    effects = walk.receive(Appended(record.append(append.body, at, clip)))
                return next((one for one in effects if isinstance(one, Listen)), None)

            listen = give(Start("M07", "Tamsin Orlo"))
            for number, one in enumerate(said):
                self.expected.append(listen)
                clip = given_sounds.get(number) or sound(number)
                listen = give(self._input(one, clip), clip) or listen
        return path

    def _input(self, one: Said, clip: Clip):
        evidence = {
            "how": "sound",
            "clip": clip.sha256,
            "probability": one.probability,
            "sound": {"snr_db": "30", "notes": list(one.notes)},
        }
        if one.remark:
            return RemarkSpoken(one.text, evidence)
        if one.verdict is Verdict.UNDERSTOOD:
            return Call(self.meaning(one.text), one.text, evidence)
        texts = [text for text in one.text.split("|") if text]
        return Unclear(tuple((self.meaning(text), text) for text in texts), evidence)

    def meaning(self, text: str):
        (meaning,) = parse(self.graph, text)
        return meaning


class Ears:
    """Hears in each sound what the test says, by the number of the sound."""

    def __init__(self, maker: Maker, heard: dict[int, Said]) -> None:
        self._maker = maker
        self._heard = heard
        self.asked: list[tuple[int, object]] = []

    def hear(self, samples, sound, expectation) -> Heard:
        number = len(samples) - 1600
        self.asked.append((number, expectation))
        one = self._heard[number]
        texts = [text for text in one.text.split("|") if text]
        return Heard(
            one.verdict,
            tuple(Candidate(self._maker.meaning(text), text) for text in texts),
            float(one.probability),
            "sound",
            evidence={"how": "sound", "judge": {"reason": "as the test says"}},
        )

    def transcribe(self, samples) -> str:
        raise AssertionError("no remark is written down again")
