"""How far a hearing is trusted, by its sound: what the judge, who hears words, does not weigh.

The one rule for a walk, for practice, and for hearing a record again.
"""

from __future__ import annotations

from dataclasses import replace

from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.meaning import NO_CALL, Act
from voicewalk.settings import AudioSettings

CUT, CLIPPED, FAINT, QUIET = "cut", "clipped", "faint", "quiet"
"""What may be wrong with the sound of a call; the record notes it by these names."""

_LEAST_DBFS = AudioSettings().least_dbfs

_ANSWERS = (Act.COMMAND, Act.SIDE, Act.CHOICE, Act.ACKNOWLEDGED, Act.IDENTITY)
"""What would itself be asked about with a question that it may answer."""


def is_quiet(level_dbfs: float, least: float = _LEAST_DBFS) -> bool:
    """Whether speech is so quiet that nothing is understood at once."""
    return level_dbfs < least


def trusted(heard: Heard, *, cut: bool, quiet: bool, faint: bool = False) -> Heard:
    """The hearing as it is taken.

    Args:
        cut: a word may be missing, and it may be a "not": it is not understood.
        quiet: the speech lies among the last bits: it is asked about before it is taken; an answer
            or a command is to be said again, louder.
        faint: it may be no speech at all: nobody is asked to say it again.
    """
    unclear = Verdict.OUTSIDE if faint else Verdict.UNCLEAR
    if heard.verdict is Verdict.OUTSIDE:
        return heard
    if cut:
        return replace(heard, verdict=unclear, candidates=())
    if not quiet or heard.verdict is Verdict.UNCLEAR or _is_no_call(heard.candidates):
        return heard
    asked = tuple(one for one in heard.candidates if one.meaning.act not in _ANSWERS)
    if asked != heard.candidates:
        return replace(heard, verdict=unclear, candidates=())
    return replace(heard, verdict=Verdict.ASK)


def _is_no_call(candidates: tuple[Candidate, ...]) -> bool:
    """Of which nothing is recorded, and which is never asked about."""
    return any(one.meaning.act in NO_CALL for one in candidates)
