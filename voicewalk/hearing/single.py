"""Ears with one listener, for languages that have no second one: they take nothing at its word.

With one listener nothing is recorded without an affirmed readback. So a result, however clear,
is asked back. Understood at once are only answers to a question of the tool's own and commands
that record no result, and only where every reading of the clip agrees. No probability is
claimed: there is nothing to calibrate one with. Reasons stand in docs/decisions/0007.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voicewalk.card.model import Card
from voicewalk.hearing import denoise
from voicewalk.hearing.denoise import NoiseReducer
from voicewalk.hearing.ears import QUIET_DB
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.hearing.prior import unasked
from voicewalk.hearing.vosk_listener import VoskHearing, VoskListener
from voicewalk.hearing.vosk_model import VoskModel
from voicewalk.hearing.wording import Guess, spoken
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import LEADING, NO_CALL, Act, Command, Expectation, Meaning
from voicewalk.language.vocabulary import Vocabulary

Floats = NDArray[np.float32]

ANSWERS = frozenset({Command.AFFIRM, Command.NEGATIVE})
"""What is said to a readback. Were these asked back, no answer would ever arrive."""


def judge_alone(hearing: VoskHearing, expectation: Expectation) -> tuple[Verdict, list[Guess], str]:
    """The verdict on what one listener heard, the meanings it is about, and the reason."""
    if hearing.foreign:
        return Verdict.OUTSIDE, [], "none of the card's words"
    read = hearing.guesses(hearing.traits.read)
    guesses = [g for g in read if not unasked(g.meaning, expectation)]
    if not guesses:
        return Verdict.OUTSIDE, [], "words that make no call"
    best = guesses[0].meaning
    if best.act in NO_CALL:
        return Verdict.OUTSIDE, [], "talk, not a call"
    if _is_answer(best):
        if hearing.only():
            return Verdict.UNDERSTOOD, guesses[:1], "an answer, and nothing else fits"
        return Verdict.OUTSIDE, [], "an answer, but not surely"
    if best.command in LEADING and hearing.only():
        return Verdict.UNDERSTOOD, guesses[:1], "a command that records no result"
    calls = [guess for guess in guesses if guess.meaning.act not in NO_CALL]
    worth = [guess for guess in calls if not _is_answer(guess.meaning)]
    return Verdict.ASK, worth[: hearing.traits.taken], "one listener alone"


def _is_answer(meaning: Meaning) -> bool:
    return meaning.act is Act.CHOICE or meaning.command in ANSWERS


class SingleEars:
    """Vosk alone, for one card.

    Raises:
        SourceError: the model does not know a word of the card or of its vocabularies.
    """

    def __init__(self, card: Card, vocabulary: Vocabulary, model: VoskModel) -> None:
        self._listener = VoskListener(model, card, phrase_graph(card, vocabulary))
        self._versions = {**model.versions, "noise reduction": denoise.VERSION}
        self._reduce = NoiseReducer()

    def hear(self, samples: Floats, sound: Sound, expectation: Expectation) -> Heard:
        """Hear one clip: mono, 16 kHz, -1 to 1, with some silence around the speech."""
        quiet = self._reduce(samples) if sound.snr_db < QUIET_DB else samples
        asked = bool(expectation.item or expectation.side or expectation.between)
        hearing = self._listener.hear(quiet, () if asked else (0,))
        verdict, guesses, reason = judge_alone(hearing, expectation)
        if sound.faint:  # held to the card's words, it cannot tell noise from a word
            verdict, guesses, reason = Verdict.OUTSIDE, [], "too faint"
        heard = hearing.guesses(hearing.traits.read)
        return Heard(
            verdict=verdict,
            candidates=tuple(Candidate(g.meaning, _words(g)) for g in guesses),
            probability=0.0,
            how="sound",
            evidence={
                "how": "sound",
                "listeners": [
                    {
                        "name": hearing.traits.name,
                        "text": hearing.text,
                        "score": _score(guesses),
                    }
                ],
                "judge": {
                    "verdict": verdict.value,
                    "reason": reason,
                    "seconds": f"{sound.seconds:.2f}",
                    "snr": f"{sound.snr_db:.0f}",
                    "others": [
                        f"{_words(g)}: {g.score:.1f}" for g in heard if g not in guesses[:1]
                    ],
                },
                "versions": dict(self._versions),
            },
        )

    def transcribe(self, samples: Floats) -> str:
        """Nothing: free speech takes Vosk longer than it lasts, and the walk waits for it."""
        return ""


def _words(guess: Guess) -> str:
    return " ".join(spoken(guess.wordings[0]))


def _score(guesses: list[Guess]) -> str:
    return f"{guesses[0].score:.1f}" if guesses else ""
