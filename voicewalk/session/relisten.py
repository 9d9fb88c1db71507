"""Hears every sound of a record again, with the models of today and a wider search.

The card and its vocabularies are those that the record keeps, and what the walk would have
understood at each call is played again; so what differs is the hearing. The record is never
changed: what is found is written beside it (``record.relistened``).
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from voicewalk import __version__
from voicewalk.audio.frames import RATE, Samples
from voicewalk.card.load import lexicon_path
from voicewalk.card.model import Card
from voicewalk.errors import RecordError, VoicewalkError
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.language.meaning import NO_CALL, Expectation, Meaning
from voicewalk.language.scope import ENGLISH
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry
from voicewalk.record.clip import decode_clip
from voicewalk.record.export import card_of
from voicewalk.record.file import RecordReader
from voicewalk.record.relistened import (
    Finding,
    Relistened,
    Relistening,
    Writer,
    read_relistened,
)
from voicewalk.record.verify import Examined, examine
from voicewalk.session.equipment import open_ears
from voicewalk.session.opening import words_of
from voicewalk.session.sounds import Hears
from voicewalk.session.trust import CUT, FAINT, QUIET, is_quiet, trusted
from voicewalk.settings import WalkSettings
from voicewalk.walk.codec import decode
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import SECOND, Call, Json, Unclear
from voicewalk.walk.replay import ReplayMismatch, listened

WIDTH = 3
"""How much wider the search is than on a walk: nobody waits for the answer."""

LESS_SURE = 0.1
"""A call is less sure than it was where its probability has fallen by more: a chosen bound. Of the
recorded calls of the demo none fell at all, although a wider search finds more rivals."""


@dataclass(frozen=True, slots=True)
class Done:
    """What came of one record.

    Attributes:
        lines: all that is known of its sounds, those heard earlier too.
        heard: how many of them were heard just now.
        without_sound: entries whose sound is gone, taken out or damaged.
        trouble: why nothing more could be heard; "" where all was.
        stopped: it was stopped before the end.
    """

    record: Path
    lines: tuple[Relistened, ...] = ()
    heard: int = 0
    without_sound: int = 0
    trouble: str = ""
    stopped: bool = False


def relisten(
    record: Path,
    told: Callable[[Relistened], None] = lambda _: None,
    stopped: Callable[[], bool] = lambda: False,
) -> Done:
    """Hear a record again, as far as that was not done before with the same models.

    Args:
        told: is told each line when it has been written.
        stopped: asked before each sound; where it says so, the next time goes on from there.
    """
    lines: list[Relistened] = []
    heard = without = 0
    try:
        examined = examine(record)
        again = _Again(record, examined)
        known = again.known()
        lines += known.lines
        for line in again.lines(known, stopped):
            if line is None:
                without += 1
                continue
            lines.append(line)
            heard += 1
            told(line)
    except _Stopped:
        return Done(record, tuple(lines), heard, without, stopped=True)
    except VoicewalkError as error:
        return Done(record, tuple(lines), heard, without, str(error.args[0]))
    return Done(record, tuple(lines), heard, without)


class _Stopped(Exception):  # noqa: N818 - no error
    """Somebody wishes to go on later."""


class _Again:
    """One record's sounds, and the ears for them.

    Raises:
        VoicewalkError: the record keeps no card that can be read, or there are no ears for it.
    """

    def __init__(self, record: Path, examined: Examined) -> None:
        self._record = record
        self._examined = examined
        card = card_of(examined)
        if card is None:
            raise RecordError(
                f"{record}: it keeps no card that this program can read",
                "Hear it again with the version of the program that made it.",
            )
        self._card = card
        self._versions = versions(card, vocabulary_of(card).language)

    def known(self) -> Relistening:
        """What was heard before with the same models; nothing where they were others."""
        known = read_relistened(self._record, self._examined)
        same = known is not None and dict(known.versions) == self._versions
        return known if known is not None and same else Relistening(self._versions, ())

    def lines(self, known: Relistening, stopped: Callable[[], bool]) -> Iterator[Relistened | None]:
        """A line for each entry with a sound that is not known; ``None`` where it is gone."""
        done = {one.seq for one in known.lines}
        todo = [entry for entry in self._examined.entries if _is_call(entry)]
        todo = [entry for entry in todo if entry.seq not in done]
        if not todo:
            return
        expected = expectations(self._card, self._examined.entries)
        writer = Writer(self._record, self._examined.report.root, known)
        heard: dict[tuple[str, Expectation], Heard] = {}  # two entries may have one sound
        with RecordReader.open(self._record) as reader:
            for entry in todo:
                if stopped():
                    raise _Stopped
                try:
                    samples = decode_clip(reader.clip(bodies.clip_of(entry.body)))
                except (RecordError, ValueError):  # gone, taken out, damaged: "verify" tells why
                    yield None
                    continue
                expectation = expected.get(entry.seq) or _guessed(entry)
                key = bodies.clip_of(entry.body), expectation
                if key not in heard:
                    heard[key] = _hear(ears_of(self._card), samples, entry, expectation)
                line = self._compared(entry, heard[key])
                writer.append(line)
                yield line

    def _compared(self, entry: Entry, heard: Heard) -> Relistened:
        given = decode(entry.body["input"])
        assert isinstance(given, Call | Unclear)
        item = bodies.text(entry.body, "item")
        words = given.words if isinstance(given, Call) else ""
        asked = [said for _, said in given.candidates] if isinstance(given, Unclear) else []
        return Relistened(
            seq=entry.seq,
            hash=entry.hash,
            finding=finding(given, heard),
            item=item,
            name=bodies.text(entry.body, "name"),
            result=bodies.text(entry.body, "result"),
            critical=item in self._card.by_id and self._card.by_id[item].critical,
            was=words or " or ".join(asked),
            was_probability=bodies.text(given.heard, "probability"),
            now=tuple(one.words for one in heard.candidates),
            probability=f"{heard.probability:.3f}",
            reason=bodies.text(heard.evidence, "judge", "reason"),
        )


def finding(given: Call | Unclear, heard: Heard) -> Finding:
    """What is heard now against what was made of it then."""
    now = [one.meaning for one in heard.candidates]
    verdict = Verdict.OUTSIDE if now and now[0].act in NO_CALL else heard.verdict
    if isinstance(given, Unclear):
        return _of_unclear([meaning for meaning, _ in given.candidates], now, verdict)
    match verdict:
        case Verdict.OUTSIDE:
            return Finding.OUTSIDE
        case Verdict.UNCLEAR:
            return Finding.UNCLEAR
        case Verdict.ASK:
            return Finding.ASKED if given.meaning in now else Finding.OTHER
    if now[0] != given.meaning:
        return Finding.OTHER
    was = _probability(given)
    less = was is not None and heard.probability < was - LESS_SURE
    return Finding.LESS_SURE if less else Finding.AGREES


def _of_unclear(asked: list[Meaning], now: list[Meaning], verdict: Verdict) -> Finding:
    """It was asked back then: that it is not understood now either is the same again."""
    if verdict is not Verdict.UNDERSTOOD:
        return Finding.AGREES
    return Finding.SURER if not asked or now[0] in asked else Finding.OTHER


def _probability(given: Call) -> float | None:
    try:
        return float(bodies.text(given.heard, "probability"))
    except ValueError:
        return None


def _is_call(entry: Entry) -> bool:
    """Whether an entry's sound was taken for a call, clear or not. A remark's is free speech."""
    if not bodies.clip_of(entry.body):
        return False
    try:
        given = decode(entry.body.get("input"))
    except (ValueError, TypeError, AttributeError):
        return False
    return isinstance(given, Call | Unclear)


def expectations(card: Card, entries: tuple[Entry, ...]) -> dict[int, Expectation]:
    """By entry, what the walk would have understood just then; as far as this version of the
    program plays the record as it was."""
    walk = Walk(card, WalkSettings(), words_of(vocabulary_of(card)))
    of_walk = [one for one in entries if bodies.of_the_walk(one.body)]
    by_seq = {one.seq: one for one in of_walk}
    found: dict[int, Expectation] = {}
    try:
        for seq, listen in listened(walk, ((one.seq, one.body) for one in of_walk)):
            spoke = bodies.text(by_seq[seq].body, "input", "by")
            second = listen.second or Expectation()
            found[seq] = second if spoke == SECOND else listen.expectation
    except ReplayMismatch:  # made by another version: the rest is guessed
        pass
    return found


def _guessed(entry: Entry) -> Expectation:
    """That the entry's item was asked for, and that a question was open."""
    return Expectation(item=bodies.text(entry.body, "item"), question=True)


def _hear(ears: Hears, samples: Samples, entry: Entry, expectation: Expectation) -> Heard:
    measured = bodies.part(entry.body, "input", "heard", "sound")
    snr_db, level = _measure(measured, "snr_db"), _measure(measured, "level_dbfs")
    notes = bodies.texts(measured, "notes")  # what was not trusted on the walk is not here
    faint = FAINT in notes
    heard = ears.hear(samples, Sound(len(samples) / RATE, snr_db, faint), expectation)
    return trusted(heard, cut=CUT in notes, quiet=QUIET in notes or is_quiet(level), faint=faint)


def _measure(measured: Json, name: str) -> float:
    try:
        return float(bodies.text(measured, name))
    except ValueError:
        return 0.0


_ears: dict[tuple[str, ...], Hears] = {}
"""Those of the last card: a folder mostly holds many walks of one."""


def ears_of(card: Card) -> Hears:
    """The ears for a card; the same for the same card and words."""
    key = (card.digest, *card.vocabulary_digests.values())
    if key not in _ears:
        _ears.clear()
        _ears[key] = open_ears(card, vocabulary_of(card), WIDTH)
    return _ears[key]


def versions(card: Card, language: str) -> dict[str, str]:
    """What a hearing depends on besides the sound and the record."""
    common = {"program": __version__, "search": str(WIDTH)}
    if language != ENGLISH:
        from voicewalk.hearing.vosk_model import digest, find_model

        return {**common, "vosk": version("vosk"), "vosk model": digest(find_model(language))}
    from voicewalk.hearing.calibration import CALIBRATION
    from voicewalk.hearing.ears import VERSIONS

    files = {"calibration": CALIBRATION, "lexicon": lexicon_path(card)}
    digests = {name: hashlib.sha256(one.read_bytes()).hexdigest() for name, one in files.items()}
    return {**common, **VERSIONS, **digests}
