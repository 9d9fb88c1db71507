"""What practice found, in words and as data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from voicewalk.practice.tally import Safer, WordTally, advice, tally
from voicewalk.practice.terms import Terms
from voicewalk.practice.trial import Outcome, Trial

QUIET_DBFS = -40.0
"""Speech below it is too quiet, or the microphone too far away. Common practice, no source."""

NOISY_DB = 10.0
"""Below it, far more calls are asked back: docs/decisions/0005."""

UNNAMED = 6
"""Terms without a safer way that are named, the weakest first; in great noise all are weak."""

WORDS_TOLD = 24
"""Words that were not always heard and are told, the weakest first; the data has them all."""

KEPT = "Practice writes no record and keeps no sound."


def report(trials: Sequence[Trial], terms: Terms) -> list[str]:
    """The report, line by line."""
    if not trials:
        return ["Nothing was practised.", KEPT]
    words = tally(trials)
    return [
        *_summary(trials),
        *_sound(trials),
        *_mistaken(trials),
        *_words(words),
        *_safer(advice(trials, terms)),
        KEPT,
    ]


def as_json(trials: Sequence[Trial], terms: Terms) -> dict[str, object]:
    """The report as data; levels in dB, ``None`` where no speech was found."""
    return {
        "phrases": [
            {
                **trial.phrase.to_json(),
                "outcome": trial.outcome.value,
                "taken_for": trial.instead,
                "mistaken": bool(trial.mistaken),
            }
            for trial in trials
        ],
        "level_dbfs": _middle(trial.level_dbfs for trial in _spoken(trials)),
        "snr_db": _middle(trial.snr_db for trial in _spoken(trials)),
        "clipped": sum(trial.clipped for trial in trials),
        "words": [
            {
                "word": one.word,
                "said": one.said,
                **{outcome.value: one.counts[outcome] for outcome in Outcome},
                "taken_for": dict(one.taken_for.most_common()),
                "weak": one.weak,
            }
            for one in tally(trials)
        ],
        "safer": [
            {"words": one.words, "weak": list(one.weak), "instead": list(one.instead)}
            for one in advice(trials, terms)
        ],
    }


def _spoken(trials: Sequence[Trial]) -> list[Trial]:
    return [trial for trial in trials if trial.verdict is not None]


def _middle(values: Iterator[float]) -> float | None:
    """The median, to a tenth."""
    ordered = sorted(values)
    if not ordered:
        return None
    half = len(ordered) // 2
    return round((ordered[half] + ordered[-half - 1]) / 2, 1)


def _summary(trials: Sequence[Trial]) -> Iterator[str]:
    counts = Counter(trial.outcome for trial in trials)
    yield (
        f"{_many(len(trials), 'phrase')}: {counts[Outcome.HEARD]} understood at once, "
        f"{counts[Outcome.ASKED]} asked back, {counts[Outcome.MISSED]} missed"
    )
    if silent := len(trials) - len(_spoken(trials)):
        yield f"no speech was found in {silent} of them"


def _sound(trials: Sequence[Trial]) -> Iterator[str]:
    spoken = _spoken(trials)
    level = _middle(trial.level_dbfs for trial in spoken)
    snr = _middle(trial.snr_db for trial in spoken)
    if level is None or snr is None:
        return
    yield f"level {level:.0f} dBFS, {snr:.0f} dB above the noise, in the middle of the phrases"
    if clipped := sum(trial.clipped for trial in spoken):
        yield (
            f"too loud in {_many(clipped, 'phrase')}: hold the microphone further from the mouth, "
            "or turn it down"
        )
    if level < QUIET_DBFS:
        yield "too quiet: hold the microphone nearer, or turn it up"
    if snr < NOISY_DB:
        yield "noisy: shield the microphone; more will be asked back here than in quiet"


def _mistaken(trials: Sequence[Trial]) -> Iterator[str]:
    for trial in trials:
        if trial.mistaken:
            yield f'TAKEN FOR ANOTHER CALL: "{trial.phrase.text}" for "{trial.mistaken}"'


def _words(words: Sequence[WordTally]) -> Iterator[str]:
    failed = [word for word in words if word.failed]
    yield f"{_many(len(words), 'word')}, {len(words) - len(failed)} of them always heard"
    for word in failed[:WORDS_TOLD]:
        counts = ", ".join(
            f"{outcome} {word.counts[outcome]}" for outcome in Outcome if word.counts[outcome]
        )
        taken = " or ".join(f'"{other}"' for other, _ in word.taken_for.most_common(3))
        yield (
            f"  {word.word}: said {word.said}, {counts}"
            + (f"; taken for {taken}" if taken else "")
            + ("" if word.weak else "; not weak")
        )
    if len(failed) > WORDS_TOLD:
        yield f"  and {len(failed) - WORDS_TOLD} more: --json writes them all"


def _safer(safer: Sequence[Safer]) -> Iterator[str]:
    named = [one for one in safer if one.instead]
    if named:
        yield "safer to say"
    for one in named:
        yield f'  instead of "{one.words}": ' + " or ".join(f'"{way}"' for way in one.instead)
    if unnamed := [f'"{one.words}"' for one in safer if not one.instead]:
        more = f" and {len(unnamed) - UNNAMED} more" if len(unnamed) > UNNAMED else ""
        yield (
            f"no safer way is known for {', '.join(unnamed[:UNNAMED])}{more}: speak slowly there, "
            "or have another name added to the card ('also') or to the vocabulary"
        )


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"
