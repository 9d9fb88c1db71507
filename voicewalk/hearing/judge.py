"""The judge: from the pooled meanings to understood, ask back, unclear, or not for the tool.

The probability comes from a logistic model fitted on named data (``calibration.json``, written
by ``voicewalk bench calibrate``; nothing in it is tuned by hand). Beside it stand rules that no
probability overrules: neither listener may clearly prefer another meaning, a near pair that is
close is asked back, and a bare number counts only where a number is expected.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voicewalk.errors import ModelError
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.logistic import Logistic
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import Act, Expectation, Meaning, is_part

CALIBRATION = Path(__file__).with_name("calibration.json")

FEATURES = (
    "phonemes",  # listener A's score of the best meaning, per letter
    "words",  # listener B's, per letter
    "worst",  # the lower of the two
    "margin",  # to the second meaning, both listeners together
    "phonemes_margin",  # to listener A's best other meaning
    "words_margin",  # to listener B's
    "pace",  # how far the seconds per letter are from those of a common call, in doublings
    "letters",  # length of the call: short words are heard in anything
    "snr",  # in tens of dB
    "bare",  # 1 where no item's name holds the call, asked for or not
)

_CAP = 20.0
"""Scores and margins beyond this say no more."""

_COMMON_PACE = 0.075
"""Seconds of speech per letter of a common call, from the calibration voices; only the origin
of a feature."""

RARE = -8.0
"""Log weight of what people rarely say: a call that names no item and was not asked for, an
item named and nothing said of it, a reading without its unit, "not inspected" with no reason.
Such words lie inside most other calls. Bounded: clear speech differs by far more, so a weight
never overrules it."""


@dataclass(frozen=True, slots=True)
class Sound:
    """What is known of a clip besides its words.

    Attributes:
        seconds: of the clip, with the little silence around the speech.
        snr_db: speech against the noise around it.
    """

    seconds: float
    snr_db: float


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What a hearing must reach.

    Attributes:
        plain, critical, reading: least probabilities to be understood, by what is at stake.
        bare: the same for a call that names no item: much else sounds like so short a word.
        ask: least probability to be worth asking about.
        unclear: below it, it is not for the tool.
        dissent: by how much one listener may prefer another meaning.
        near: by how much both together must prefer the best.
    """

    plain: float
    critical: float
    reading: float
    bare: float
    ask: float
    unclear: float
    dissent: float
    near: float


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict with its reasons; ``features`` in the order of ``FEATURES``."""

    verdict: Verdict
    ranked: tuple[Pooled, ...]
    probability: float
    features: tuple[float, ...]
    reason: str

    @property
    def candidates(self) -> tuple[Pooled, ...]:
        """What was understood, or what is worth asking about: two where they are close, and
        never a third guess."""
        if self.verdict is Verdict.UNDERSTOOD:
            return self.ranked[:1]
        if self.verdict is not Verdict.ASK:
            return ()
        close = self.features[FEATURES.index("margin")] < TWO_WAYS
        return self.ranked[: 2 if close else 1]


TWO_WAYS = 4.0
"""Where the second meaning is nearer than this, asking back names both."""


def unasked(meaning: Meaning, expectation: Expectation) -> bool:
    """Whether a call neither names an item nor answers what was asked."""
    match meaning.act:
        case Act.COMMAND:
            return meaning.command in ("affirm", "negative") and not expectation.question
        case Act.SIDE:
            return not expectation.side
        case Act.CHOICE:
            return len(expectation.between) != 2
    answers = any(is_part(meaning, whole) for whole in expectation.between)
    return not (meaning.item or meaning.group or expectation.item or answers)


def weight(meaning: Meaning, expectation: Expectation) -> float:
    """The log weight of a call before it is heard; 0 for a common one."""
    match meaning.act:
        case Act.ITEM:
            part = True
        case Act.READING:
            part = not meaning.unit
        case Act.NOT_INSPECTED:
            part = not meaning.reason
        case _:
            part = False
    return RARE if part or unasked(meaning, expectation) else 0.0


def rank(pooled: list[Pooled], expectation: Expectation) -> list[Pooled]:
    """Best first, by the listeners' evidence and the weight of such a call."""
    return sorted(pooled, key=lambda p: -p.total - weight(p.meaning, expectation))


def features(ranked: list[Pooled], sound: Sound, expectation: Expectation) -> tuple[float, ...]:
    """The judge's view of the best of ``ranked`` (at least one)."""
    best, others = ranked[0], ranked[1:]
    letters = max(1, len(best.words.replace(" ", "")))
    scores = {name: max(-3.0, score / letters) for name, score in best.scores.items()}

    def evidence(one: Pooled) -> float:
        return one.total + weight(one.meaning, expectation)

    def margin(name: str) -> float:
        rivals = [p.scores[name] for p in others]
        return float(np.clip(best.scores[name] - max(rivals, default=-np.inf), -_CAP, _CAP))

    return (
        scores["phonemes"],
        scores["words"],
        min(scores.values()),
        float(min(_CAP, evidence(best) - evidence(others[0]))) if others else _CAP,
        margin("phonemes"),
        margin("words"),
        abs(float(np.log2(max(sound.seconds, 0.05) / letters / _COMMON_PACE))),
        float(np.log2(letters)),
        float(np.clip(sound.snr_db, -5, 30)) / 10,
        float(unasked(best.meaning, Expectation())),
    )


class Judge:
    """Judges with one calibration; ``critical`` are the ids and groups of critical items."""

    def __init__(
        self, model: Logistic, thresholds: Thresholds, critical: frozenset[str] = frozenset()
    ) -> None:
        self._model = model
        self.thresholds = thresholds
        self._critical = critical

    def __call__(self, pooled: list[Pooled], sound: Sound, expectation: Expectation) -> Judgement:
        """Judge one clip."""
        if not pooled:
            return Judgement(Verdict.OUTSIDE, (), 0.0, (), "no meaning fits")
        ranked = rank(pooled, expectation)
        seen = features(ranked, sound, expectation)
        probability = float(self._model(np.array(seen)))
        verdict, reason = self._verdict(ranked, seen, probability, expectation)
        return Judgement(verdict, tuple(ranked), probability, seen, reason)

    def _verdict(
        self,
        ranked: list[Pooled],
        seen: tuple[float, ...],
        probability: float,
        expectation: Expectation,
    ) -> tuple[Verdict, str]:
        limits = self.thresholds
        view = dict(zip(FEATURES, seen, strict=True))
        best = ranked[0].meaning
        if probability < limits.unclear:
            return Verdict.OUTSIDE, "unlike any call"
        # "Affirm" that nobody asked for answers nothing, and "negative" leads to a question:
        # neither is a result, so the walk may hear them.
        if unasked(best, expectation) and best.act is not Act.COMMAND:
            return Verdict.UNCLEAR, "names no item, and none was asked for"
        if probability < limits.ask:
            return Verdict.UNCLEAR, "too unsure to ask about"
        if unasked(best, Expectation()) and probability < limits.bare:
            return Verdict.UNCLEAR, "short, and too unsure to ask about"
        if min(view["phonemes_margin"], view["words_margin"]) < -limits.dissent:
            return Verdict.ASK, "the listeners differ"
        if view["margin"] < limits.near:
            return Verdict.ASK, "two meanings are close"
        if probability < self._least(best, expectation):
            return Verdict.ASK, "not sure enough for what is at stake"
        return Verdict.UNDERSTOOD, "both listeners agree"

    def _least(self, meaning: Meaning, expectation: Expectation) -> float:
        limits = self.thresholds
        item = meaning.item or meaning.group or expectation.item
        least = limits.critical if item in self._critical else limits.plain
        return max(least, limits.reading) if meaning.value or meaning.size else least


def _thresholds(data: object) -> Thresholds:
    if not isinstance(data, dict):
        raise ValueError("no thresholds")
    values = {name: value for name, value in data.items() if type(value) is float}
    wrong = [name for name in data if not values.get(name, -1.0) >= 0.0]
    if wrong:
        raise ValueError(f"no threshold: {', '.join(wrong)}")
    return Thresholds(**values)


def load_judge(critical: frozenset[str], path: Path = CALIBRATION) -> Judge:
    """The judge of a calibration file.

    Raises:
        ModelError: the file is missing, or of another form.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        model = data["model"]
        if model["features"] != list(FEATURES):
            raise ValueError("it was written for other features")
        logistic = Logistic(
            np.array(model["mean"]),
            np.array(model["scale"]),
            np.array(model["weights"]),
            float(model["bias"]),
        )
        return Judge(logistic, _thresholds(data["thresholds"]), critical)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ModelError(
            f"the judge's calibration {path} cannot be used: {error}",
            "Restore it from the repository, or write it anew with voicewalk bench calibrate.",
        ) from error
