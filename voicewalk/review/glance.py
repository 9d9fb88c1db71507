"""One record at a glance: all that the first page needs of it, and what a check of it found.

Reads a record's file as a whole, which takes some tenths of a second: ``catalogue`` keeps what
comes out. A file that cannot be read is a glance too, and a bad one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from voicewalk.card.model import Card
from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.chain import Entry
from voicewalk.record.export import card_in
from voicewalk.record.file import RecordReader
from voicewalk.record.relistened import ENDING as HEARD_AGAIN
from voicewalk.record.relistened import Relistening, read_relistened
from voicewalk.record.report import caution
from voicewalk.record.review import Answers, answers
from voicewalk.record.summary import Summary, summary
from voicewalk.record.verify import Report, examine, unopened
from voicewalk.review.needs import Case, Grade, Need, grade_of, needs

Stamp = tuple[int, ...]
"""Sizes and times of a record's file, of what SQLite keeps beside it, and of what its sounds were
heard as later."""

_BESIDE = ("", "-wal", HEARD_AGAIN)


class State(StrEnum):
    """How far a walk is."""

    UNDER_WAY = "under way"
    NOT_CLOSED = "not closed"
    CLOSED = "closed"
    UNREADABLE = "cannot be read"


@dataclass(frozen=True)
class Glance:
    """A record at a glance.

    Attributes:
        name: the record's file name without its ending.
        stamp: of the file that this was read from.
        results: by item id, the result of each item that is not open.
        counts: how many items have each result, by its name; with "open" and "items".
        decided: the lead's last decision in words, "" before any.
        signed: the roles in which people have signed.
    """

    name: str
    stamp: Stamp
    state: State
    report: Report
    subject: str = ""
    identity: str = ""
    inspector: str = ""
    card_id: str = ""
    card_title: str = ""
    caution: str = ""
    begun: str = ""
    ended: str = ""
    results: Mapping[str, str] = field(default_factory=dict)
    counts: Mapping[str, int] = field(default_factory=dict)
    needs: tuple[Need, ...] = ()
    decided: str = ""
    signed: tuple[str, ...] = ()

    @property
    def grade(self) -> Grade:
        """The worst of its needs."""
        return grade_of(self.needs)


@dataclass(frozen=True)
class Walked:
    """A record read for its own page."""

    entries: tuple[Entry, ...]
    told: Summary
    answers: Answers
    card: Card | None
    glance: Glance

    def entry(self, seq: int) -> Entry | None:
        """The entry of this number."""
        return next((entry for entry in self.entries if entry.seq == seq), None)


def stamp_of(path: Path) -> Stamp:
    """Sizes and times of the file and of what lies beside it; empty where it is gone."""
    found: list[int] = []
    for beside in _BESIDE:
        try:
            status = Path(f"{path}{beside}").stat()
        except OSError:
            if not beside:
                return ()
        else:
            found += (status.st_size, status.st_mtime_ns)
    return tuple(found)


def look(path: Path) -> Glance:
    """The record at a glance; never an error."""
    try:
        return read(path).glance
    except RecordError as error:
        return unreadable(path, unopened(path, error))


def unreadable(path: Path, report: Report) -> Glance:
    """Of a file that is no record, or no whole one."""
    finding = wording.plain("; ".join(report.findings))
    need = Need(Grade.CRITICAL, "cannot be read", "", finding)
    return Glance(
        path.stem, stamp_of(path), State.UNREADABLE, report, identity=path.stem, needs=(need,)
    )


def read(path: Path, known: Glance | None = None) -> Walked:
    """All of a record, checked; what is known of the same state of its file is not checked again.

    Raises:
        RecordError: it cannot be opened or read as a record.
    """
    stamp = stamp_of(path)
    again: Relistening | None = None
    if known is None or known.stamp != stamp or known.state is State.UNREADABLE:
        examined = examine(path)
        entries, texts, report = examined.entries, examined.texts, examined.report
        again = read_relistened(path, examined)
        known = None
    else:
        with RecordReader.open(path) as record:
            entries, texts, report = tuple(record.entries()), record.texts(), known.report
    told = summary(entries)
    given = answers(entries)
    card = card_in(texts, told.started)
    if known is None:
        state = _state(path, told)
        under_way = state is State.UNDER_WAY
        heard_again = again.lines if again else ()
        case = Case(entries, told, report, given, card, under_way, heard_again)
        known = _glance(path, stamp, state, case)
    return Walked(entries, told, given, card, known)


def _glance(path: Path, stamp: Stamp, state: State, case: Case) -> Glance:
    told, given = case.told, case.answers
    started = told.started
    release = given.release
    counts = {
        "satisfactory": told.count("satisfactory"),
        "discrepancy": told.count("discrepancy"),
        "not inspected": told.count("not inspected"),
        "not applicable": told.count("not applicable"),
        "open": told.open_count,
        "items": bodies.number(started, "items"),
    }
    return Glance(
        name=path.stem,
        stamp=stamp,
        state=state,
        report=case.report,
        subject=wording.plain(bodies.text(started, "subject")),
        identity=wording.plain(bodies.text(started, "identity")) or path.stem,
        inspector=wording.inspectors(started, told.handed_over),
        card_id=bodies.text(started, "card", "id"),
        card_title=wording.plain(bodies.text(started, "card", "title")),
        caution=caution(told),
        begun=told.begun,
        ended=told.ended,
        results=told.results,
        counts=counts,
        needs=needs(case),
        decided=wording.plain(bodies.text(release.body, "words")) if release else "",
        signed=tuple(wording.plain(bodies.text(one.body, "role")) for one in given.signed),
    )


def _state(path: Path, told: Summary) -> State:
    """A writer at work keeps a lock file beside its record; a crash leaves it there too."""
    if told.closed:
        return State.CLOSED
    return State.UNDER_WAY if Path(f"{path}-lock").exists() else State.NOT_CLOSED
