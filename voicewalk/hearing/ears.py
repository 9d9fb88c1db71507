"""The whole of hearing: a clip in, a verdict out, with everything that led to it.

Noise reduction, the listeners, pooling, the judge. Deterministic for the same clip, card,
vocabulary and versions. Which clip to hear is ``audio``'s; what follows is ``walk``'s.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voicewalk.card.model import Card
from voicewalk.errors import ModelError
from voicewalk.hearing import denoise, letter_listener, word_listener
from voicewalk.hearing.calibration import Calibration, features_of, load_calibration
from voicewalk.hearing.denoise import NoiseReducer
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Candidate, Heard
from voicewalk.hearing.judge import Judge, Judgement
from voicewalk.hearing.letter_listener import LetterListener
from voicewalk.hearing.letter_model import LetterModel
from voicewalk.hearing.lexicon import Lexicon, load_lexicon
from voicewalk.hearing.listeners import Hearing, Listener, Starts, guessed
from voicewalk.hearing.pool import Pooled, pool
from voicewalk.hearing.prior import Prior
from voicewalk.hearing.unexplained import sound_behind
from voicewalk.hearing.word_listener import WordListener
from voicewalk.hearing.word_model import WordModel
from voicewalk.hearing.wording import Guess
from voicewalk.language.build import IDENTITY, SIDES, WAITING, phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Expectation
from voicewalk.language.vocabulary import Vocabulary

Floats = NDArray[np.float32]

TRAITS = (letter_listener.TRAITS, word_listener.TRAITS)
"""Of the listeners of ``load_listeners``, in their order."""

VERSIONS = {one.name: one.version for one in TRAITS} | {"noise reduction": denoise.VERSION}


def load_listeners(lexicon: Lexicon, graph: PhraseGraph, width: int) -> tuple[Listener, ...]:
    """The listeners of English; what the first one hears when nothing holds it is shown as heard.

    Raises:
        ModelError: a model's file is missing or altered.
    """
    return (
        LetterListener(LetterModel(), lexicon, graph, width),
        WordListener(WordModel(), lexicon, graph, width),
    )


QUIET_DB = 30.0
"""From this signal-to-noise ratio on, noise reduction has nothing to do and is left out: it
takes as long as all else together."""


def starts_of(graph: PhraseGraph, expectation: Expectation) -> Starts:
    """Where a call may begin just now: by a name, or with what answers a question."""
    asked = {expectation.item, *(name for m in expectation.between for name in (m.item, m.group))}
    ways = {SIDES: expectation.side, IDENTITY: expectation.identity}
    if expectation.item:
        asked.add(WAITING)
    names = asked | {name for name, open_ in ways.items() if open_}
    return tuple(sorted({0, *(graph.entries[name] for name in names & graph.entries.keys())}))


@dataclass(frozen=True, slots=True)
class Listened:
    """A clip in all listeners' ears, and the meanings they make of it together, best first.

    Attributes:
        sound: what is known of the clip, with where its words lie and what lies behind them.
        took: seconds of each stage, for measuring only: the record holds none of it.
    """

    hearings: list[Hearing]
    pooled: list[Pooled]
    sound: Sound
    took: dict[str, float]


class Listeners:
    """All listeners over the graph of one card, without a judge.

    Args:
        lexicon: the lexicon file of the vocabulary's language.
        width: how wide they search: 1 on a walk; more where nobody waits for an answer.

    Raises:
        ModelError: a model's file is missing or altered.
    """

    def __init__(self, card: Card, vocabulary: Vocabulary, lexicon: Path, width: int = 1) -> None:
        self.width = width
        self.calibration = load_calibration()
        self.graph = phrase_graph(card, vocabulary, answers=False)
        self.prior = Prior(card)
        self._reduce = NoiseReducer()
        self.listeners = load_listeners(load_lexicon(lexicon), self.graph, width)
        self._threads = ThreadPoolExecutor(1 + len(self.listeners), "listener")

    def listen(self, samples: Floats, sound: Sound, expectation: Expectation) -> Listened:
        """A clip (mono, 16 kHz, -1 to 1) in all listeners' ears, for those that want it with its
        noise reduced where there is any, and the meanings that they make of it."""
        begun = time.perf_counter()
        starts = starts_of(self.graph, expectation)
        # Handed in first, so that no listener can wait for it with no thread left to do it.
        quiet = self._threads.submit(self._reduced, samples, sound)

        def heard_by(listener: Listener) -> tuple[Hearing, list[Guess]]:
            clip = quiet.result() if listener.traits.reduced else samples
            return guessed(listener, clip, starts, self.width)

        hearing = [self._threads.submit(heard_by, listener) for listener in self.listeners]
        quiet.result()
        reduced = time.perf_counter()
        guesses = [one.result() for one in hearing]
        heard = time.perf_counter()
        weigh = self.calibration.evidence
        prior = partial(self.prior, expectation=expectation)
        pooled = pool(self.graph, guesses, weigh, sound, starts, prior, self.width)
        took = {
            "noise reduction": reduced - begun,
            "listening": heard - reduced,
            "pooling": time.perf_counter() - heard,
        }
        hearings = [hearing for hearing, _ in guesses]
        span = next((hearing.span for hearing in hearings if hearing.span), None)
        sound = replace(sound, span=span)
        if span is not None:
            behind, loud = sound_behind(samples, span, sound.after)
            sound = replace(sound, behind=behind, loud=loud)
        return Listened(hearings, pooled, sound, took)

    def _reduced(self, samples: Floats, sound: Sound) -> Floats:
        return self._reduce(samples) if sound.snr_db < QUIET_DB else samples

    def transcribe(self, samples: Floats) -> str:
        """What the first listener writes when nothing holds it: a help, and no evidence."""
        return self.listeners[0].hear(samples).text


def judge_of(calibration: Calibration, card: Card) -> Judge:
    """The judge who knows which items of a card are critical."""
    critical = [item for item in card if item.critical]
    return Judge(calibration, frozenset(n for item in critical for n in (item.id, item.group)))


class Ears(Listeners):
    """The listeners and a judge for one card.

    Raises:
        ModelError: a model's file or the judge's calibration is missing or altered, or the
            calibration is of other listeners.
    """

    def __init__(self, card: Card, vocabulary: Vocabulary, lexicon: Path, width: int = 1) -> None:
        super().__init__(card, vocabulary, lexicon, width)
        known = self.calibration.evidence.listeners
        if {*known} != {one.traits.name for one in self.listeners}:
            raise ModelError(
                f"the judge's calibration is of other listeners: {', '.join(known)}",
                "Write it anew with voicewalk bench calibrate.",
            )
        self.judge = judge_of(self.calibration, card)

    def hear(self, samples: Floats, sound: Sound, expectation: Expectation) -> Heard:
        """Hear one clip: mono, 16 kHz, -1 to 1, with some silence around the speech."""
        listened = self.listen(samples, sound, expectation)
        judgement = self.judge(listened.pooled, listened.sound, expectation)
        names = features_of(self.calibration.evidence.listeners)
        seen = dict(zip(names, judgement.features, strict=False))  # none where nothing fits
        return Heard(
            verdict=judgement.verdict,
            candidates=tuple(Candidate(p.meaning, p.words) for p in judgement.candidates),
            probability=judgement.probability,
            how="sound",
            evidence=_evidence(judgement, seen, listened.hearings, listened.sound),
        )


def _evidence(
    judgement: Judgement, seen: Mapping[str, float], hearings: list[Hearing], sound: Sound
) -> dict[str, object]:
    """For the record: strings, lists and objects only, numbers rounded to what they are worth."""
    best = judgement.ranked[0] if judgement.ranked else None
    return {
        "how": "sound",
        "probability": f"{judgement.probability:.3f}",
        "listeners": [_listener(hearing, best) for hearing in hearings],
        "judge": {
            "verdict": judgement.verdict.value,
            "reason": judgement.reason,
            "seconds": f"{sound.seconds:.2f}",
            **_words(sound),
            "snr": f"{sound.snr_db:.0f}",
            **{name: f"{value:.2f}" for name, value in seen.items()},
            "others": [
                f"{p.words}: {p.odds - judgement.ranked[0].odds:.1f}" for p in judgement.ranked[1:4]
            ],
        },
        "versions": dict(VERSIONS),
    }


def _words(sound: Sound) -> dict[str, str]:
    if sound.spoken is None:
        return {}
    measured = {"spoken": sound.spoken, "behind": sound.behind, "loud behind": sound.loud}
    return {name: f"{seconds:.2f}" for name, seconds in measured.items()}


def _listener(hearing: Hearing, best: Pooled | None) -> dict[str, str]:
    name = hearing.traits.name
    score = "" if best is None else f"{best.scores[name]:.1f}"
    return {"name": name, "text": hearing.text, "score": score}
