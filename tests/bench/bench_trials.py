"""Trials made by hand: what a benchmark counts, without a listener."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from voicewalk.bench.clips import Recording
from voicewalk.bench.observe import Piece, Trial
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import Act, Expectation, Meaning
from voicewalk.language.near import NearCall
from voicewalk.language.talk import Near

NOTHING = Expectation()
GOOD = Meaning(Act.SATISFACTORY, item="nose-tyre")
CUT = Meaning(Act.DISCREPANCY, item="nose-tyre", defect="cut")
NAMED = Meaning(Act.ITEM, item="nose-tyre")
PRESSURE = Meaning(Act.READING, item="nose-tyre-pressure", value="95", unit="psi")


def pooled(meaning: Meaning, words: str, score: float) -> Pooled:
    """A meaning to which both listeners give the same score, which is its evidence too."""
    scores = {"letters": score, "words": score}
    return Pooled(meaning, words, scores, {"letters": -3.0, "words": -3.0}, 2 * score)


def piece(
    *candidates: Pooled,
    seconds: float = 2.0,
    took: Mapping[str, float] | None = None,
    peers: Mapping[str, Meaning | None] | None = None,
) -> Piece:
    """A stretch of speech with what was pooled of it, and what peers took it for."""
    return Piece(candidates, Sound(seconds, 20.0), took or {}, tuple((peers or {}).items()))


def trial(
    truth: Meaning | None,
    *pieces: Piece,
    snr: str = "clean",
    speaker: str = "ann",
    source: str = "ours",
    expectation: Expectation = NOTHING,
) -> Trial:
    """One recording at one level."""
    recording = Recording(Path("x.flac"), "", speaker, source)
    return Trial(recording, snr, truth, expectation, pieces)


def near_trial(kind: Near, right: Sequence[Meaning], *pieces: Piece, snr: str = "clean") -> Trial:
    """Speech near a call of which this much may be entered."""
    near = NearCall(kind, "", "nose-tyre", tuple(right))
    recording = Recording(Path("x.flac"), "", "ann", "ours", kind)
    return Trial(recording, snr, None, NOTHING, pieces, near)
