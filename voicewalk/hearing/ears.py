"""The whole of hearing: a clip in, a verdict out, with everything that led to it.

Noise reduction, both listeners, pooling, the judge. Deterministic for the same clip, card,
vocabulary and versions. Which clip to hear is ``audio``'s; what follows is ``walk``'s.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voicewalk.card.model import Card
from voicewalk.hearing import denoise, phoneme_model, word_model
from voicewalk.hearing.denoise import NoiseReducer
from voicewalk.hearing.heard import Candidate, Heard
from voicewalk.hearing.judge import FEATURES, Judgement, Sound, load_judge
from voicewalk.hearing.lexicon import Lexicon, load_entries
from voicewalk.hearing.listeners import PhonemeListener, WordListener
from voicewalk.hearing.phoneme_model import PhonemeModel
from voicewalk.hearing.pool import Hearing, Pooled, pool
from voicewalk.hearing.word_model import WordModel
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Expectation
from voicewalk.language.vocabulary import Vocabulary

Floats = NDArray[np.float32]

VERSIONS = {
    "phonemes": phoneme_model.VERSION,
    "words": word_model.VERSION,
    "noise reduction": denoise.VERSION,
}

QUIET_DB = 30.0
"""From this signal-to-noise ratio on, noise reduction has nothing to do and is left out: it
takes as long as all else together."""


class Listeners:
    """Both listeners over the graph of one card, without a judge.

    Args:
        lexicon: the lexicon file of the vocabulary's language.

    Raises:
        ModelError: a model's file is missing or altered.
    """

    def __init__(self, card: Card, vocabulary: Vocabulary, lexicon: Path) -> None:
        self.graph = phrase_graph(card, vocabulary)
        self._reduce = NoiseReducer()
        phonemes = PhonemeModel()
        words = Lexicon(load_entries(lexicon), phonemes.spell)
        self._phonemes = PhonemeListener(phonemes, words, self.graph)
        self._words = WordListener(WordModel(), words, self.graph)
        self._threads = ThreadPoolExecutor(1, "word-listener")

    def listen(self, samples: Floats, snr_db: float) -> list[Hearing]:
        """A clip (mono, 16 kHz, -1 to 1) in both listeners' ears, noise reduced where there
        is any."""
        quiet = self._reduce(samples) if snr_db < QUIET_DB else samples
        second = self._threads.submit(self._words.hear, quiet)
        return [self._phonemes.hear(quiet), second.result()]

    def transcribe(self, samples: Floats) -> str:
        """What the word listener writes when nothing holds it: a help, and no evidence."""
        return self._words.hear(samples).text


class Ears(Listeners):
    """Two listeners and a judge for one card.

    Raises:
        ModelError: a model's file or the judge's calibration is missing or altered.
    """

    def __init__(self, card: Card, vocabulary: Vocabulary, lexicon: Path) -> None:
        super().__init__(card, vocabulary, lexicon)
        critical = [item for item in card if item.critical]
        names = frozenset(name for item in critical for name in (item.id, item.group))
        self.judge = load_judge(names)

    def hear(self, samples: Floats, sound: Sound, expectation: Expectation) -> Heard:
        """Hear one clip: mono, 16 kHz, -1 to 1, with some silence around the speech."""
        hearings = self.listen(samples, sound.snr_db)
        pooled = pool(self.graph, hearings)
        return _heard(self.judge(pooled, sound, expectation), hearings, sound)


def _heard(judgement: Judgement, hearings: list[Hearing], sound: Sound) -> Heard:
    return Heard(
        verdict=judgement.verdict,
        candidates=tuple(Candidate(p.meaning, p.words) for p in judgement.candidates),
        probability=judgement.probability,
        how="sound",
        evidence=_evidence(judgement, hearings, sound),
    )


def _evidence(judgement: Judgement, hearings: list[Hearing], sound: Sound) -> dict[str, object]:
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
            "snr": f"{sound.snr_db:.0f}",
            **{n: f"{v:.2f}" for n, v in zip(FEATURES, judgement.features, strict=False)},
            "others": [f"{p.words}: {p.total:.1f}" for p in judgement.ranked[1:4]],
        },
        "versions": dict(VERSIONS),
    }


def _listener(hearing: Hearing, best: Pooled | None) -> dict[str, str]:
    score = "" if best is None else f"{best.scores[hearing.name]:.1f}"
    return {"name": hearing.name, "text": hearing.text, "score": score}
