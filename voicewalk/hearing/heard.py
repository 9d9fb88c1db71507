"""What hearing hands to the walk: a verdict on one clip, with all that led to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from voicewalk.language.meaning import Meaning


class Verdict(StrEnum):
    """The judge's word on one clip."""

    UNDERSTOOD = "understood"
    ASK = "ask back"  # one or two candidates are worth asking about
    UNCLEAR = "not understood"  # a call, it seems, but which
    OUTSIDE = "not for the tool"  # other speech or noise: refused, nothing is kept


@dataclass(frozen=True, slots=True)
class Candidate:
    """One ranked meaning with the words it was heard in."""

    meaning: Meaning
    words: str


@dataclass(frozen=True, slots=True)
class Heard:
    """One hearing of one clip; everything the record must keep of it.

    Attributes:
        candidates: best first; the meaning accepted is ``candidates[0]``.
        probability: calibrated probability that ``candidates[0]`` is right.
        how: "sound" or "typed".
        clip: SHA-256 (hex) of the stored clip, "" for a typed call.
        evidence: each listener's own text and scores and the judge's features, JSON-ready:
            strings and nested objects of strings only, so that it can be hashed.
    """

    verdict: Verdict
    candidates: tuple[Candidate, ...]
    probability: float
    how: str
    clip: str = ""
    evidence: dict[str, object] = field(default_factory=dict)
