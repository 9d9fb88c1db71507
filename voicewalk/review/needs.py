"""What in a record needs the lead, the worst first.

Pure: a record's entries, its card and what was found when it was checked go in, a list in words
comes out. That nothing needs the lead is no statement about what was inspected.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from enum import IntEnum

from voicewalk.card.model import Card
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.chain import Entry
from voicewalk.record.relistened import Finding, Relistened, worst_first
from voicewalk.record.report import trust
from voicewalk.record.review import Answers
from voicewalk.record.summary import (
    DISCREPANCY,
    NOT_INSPECTED,
    SATISFACTORY,
    Fate,
    Line,
    Summary,
    open_items,
)
from voicewalk.record.verify import Report
from voicewalk.walk.messages import Json

LOW_PROBABILITY = Decimal("0.99")
"""A call understood with less than this is worth hearing again: of the recorded calls of the
demo, all understood rightly, none lies below."""
LATE_MS = 60_000
"""A correction that comes later than this was not the breath after the call. Common practice, no
source."""
NAMES_TOLD = 4
"""So many names of open items are told on one line; the stations list them all."""


class Grade(IntEnum):
    """How much something needs the lead; each has a shape and a word on every page."""

    CRITICAL = 0
    DISCREPANCY = 1
    INCOMPLETE = 2
    IN_DOUBT = 3
    NOTHING = 4

    @property
    def word(self) -> str:
        """As pages say it."""
        return {4: "no exception"}.get(self, self.name.lower().replace("_", " "))


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that needs the lead.

    Attributes:
        what: what sort of thing, in a few words ("out of limit").
        about: the item's name, or "" where it is about the record.
        said: all that was found.
        seq: number of the entry that tells it, 0 for none.
        item: id of the item, "" for none.
        heard: number of the answer by which the lead has heard and agreed, 0 for none.
    """

    grade: Grade
    what: str
    about: str
    said: str
    seq: int = 0
    item: str = ""
    heard: int = 0

    @property
    def settled(self) -> bool:
        """A doubt that the lead has heard is one no more; what was found stays found."""
        return self.grade is Grade.IN_DOUBT and self.heard > 0


@dataclass(frozen=True)
class Case:
    """A record with all that its needs are told from.

    Attributes:
        under_way: somebody is walking just now: what was not called yet is no exception.
        heard_again: what the record's sounds were heard as later, where they were.
    """

    entries: tuple[Entry, ...]
    told: Summary
    report: Report
    answers: Answers
    card: Card | None = None
    under_way: bool = False
    heard_again: tuple[Relistened, ...] = ()

    def critical(self, item: str) -> bool:
        """Whether the card calls the item critical, or a hold point."""
        one = self.card.by_id.get(item) if self.card else None
        return one is not None and (one.critical or bool(one.hold))

    def name(self, item: str) -> str:
        """The item's name on the card; its id where the card is not known."""
        one = self.card.by_id.get(item) if self.card else None
        return one.name if one else wording.plain(item)


def needs(case: Case) -> tuple[Need, ...]:
    """All that needs the lead: by grade, within it in the order of the record."""
    found = (
        *_record(case),
        *_discrepancies(case),
        *_not_inspected(case),
        *_unconfirmed(case),
        *_sent_back(case),
        *_open(case),
        *_heard_again(case),
        *_doubts(case),
    )
    return tuple(sorted(found, key=lambda need: need.grade))


def grade_of(found: Iterable[Need]) -> Grade:
    """The worst of what is not settled."""
    return min((need.grade for need in found if not need.settled), default=Grade.NOTHING)


def _record(case: Case) -> Iterator[Need]:
    if not case.report.ok:
        yield Need(Grade.CRITICAL, "record not whole", "", "; ".join(trust(case.report)[:2]))
    decided = case.answers.release
    if decided is not None and bodies.kind(decided.body) == bodies.NOT_RELEASED:
        words = wording.plain(bodies.text(decided.body, "words"))
        yield Need(Grade.CRITICAL, "not released", "", words, decided.seq)


def _discrepancies(case: Case) -> Iterator[Need]:
    for line in case.told.discrepancies:
        body, item = line.entry.body, bodies.text(line.entry.body, "item")
        critical = case.critical(item)
        what = "out of limit" if bodies.part(body, "reading").get("within") is False else ""
        what = what or ("count" if bodies.part(body, "count") else "discrepancy")
        yield _about(
            case,
            line,
            Grade.CRITICAL if critical else Grade.DISCREPANCY,
            what,
        )


def _not_inspected(case: Case) -> Iterator[Need]:
    for line in case.told.lines:
        item = bodies.text(line.entry.body, "item")
        stands = line.fate is Fate.STANDS and case.told.results.get(item) == NOT_INSPECTED
        if stands and bodies.text(line.entry.body, "result") == NOT_INSPECTED:
            critical = case.critical(item)
            grade = Grade.CRITICAL if critical else Grade.INCOMPLETE
            yield _about(case, line, grade, "not inspected")


def _unconfirmed(case: Case) -> Iterator[Need]:
    """What the second person was to confirm and has not."""
    for line in case.told.unconfirmed:
        yield _about(case, line, Grade.INCOMPLETE, "not confirmed")


def _sent_back(case: Case) -> Iterator[Need]:
    last = {bodies.text(line.entry.body, "item"): line.entry.seq for line in case.told.lines}
    for item, entry in case.answers.sent_back.items():
        if last.get(item, 0) < entry.seq:
            why = wording.plain(bodies.text(entry.body, "reason"))
            yield Need(
                Grade.INCOMPLETE, "sent back", case.name(item), why, entry.seq, wording.plain(item)
            )


def _open(case: Case) -> Iterator[Need]:
    """Items that were called and are open one by one; those never called together."""
    known = {bodies.text(line.entry.body, "item"): line for line in case.told.lines}
    for item, line in known.items():
        result = bodies.text(line.entry.body, "result")
        if item not in case.told.results and result != DISCREPANCY:
            yield _about(case, line, Grade.INCOMPLETE, "open again" if line.by else "open")
    if case.under_way or not case.told.open_count:
        return
    never = (
        [item for item in open_items(case.card, case.told) if item.id not in known]
        if (case.card)
        else []
    )
    count = len(never) if case.card else case.told.open_count
    if count:
        named = ", ".join(item.name for item in never[:NAMES_TOLD])
        more = f" and {count - NAMES_TOLD} more" if count > NAMES_TOLD and never else ""
        critical = sum(case.critical(item.id) for item in never)
        marked = f", {critical} of them critical" if critical else ""
        items = "item was" if count == 1 else "items were"
        said = f"{count} {items} never called{marked}" + (f": {named}{more}" if named else "")
        yield Need(Grade.INCOMPLETE, "not closed", "", said)


def _heard_again(case: Case) -> Iterator[Need]:
    """Calls that are heard otherwise now, the most worrying first. What stands as good and was
    another call is as grave as the item, until the lead has heard it."""
    struck = {line.entry.seq for line in case.told.lines if line.struck}
    for line in worst_first(case.heard_again):
        if line.seq in struck:
            continue
        heard = _heard(case, line.seq)
        turned = line.finding is Finding.OTHER and line.result == SATISFACTORY and not heard
        grade = Grade.CRITICAL if turned and case.critical(line.item) else Grade.IN_DOUBT
        now = " or ".join(f'"{one}"' for one in line.now) or "no call"
        said = wording.plain(f'taken for "{line.was}", heard again: {now} ({line.probability})')
        name = case.name(line.item) if line.item else ""
        what = f"heard again: {line.finding}"
        yield Need(grade, what, name, said, line.seq, wording.plain(line.item), heard)


def _doubts(case: Case) -> Iterator[Need]:
    before = {line.entry.seq: line.entry for line in case.told.lines}
    for entry in case.entries:
        kind = bodies.kind(entry.body)
        if what := _DOUBTFUL.get(kind) or _doubt_about(entry, before):
            about, said = wording.telling(entry)
            said = found(entry.body) if kind == bodies.ITEM else said
            item = wording.plain(bodies.text(entry.body, "item"))
            name = case.name(item) if item else about if kind == bodies.ITEM else ""
            yield Need(Grade.IN_DOUBT, what, name, said, entry.seq, item, _heard(case, entry.seq))


_CONFIRMATION = "confirmation"
_DOUBTFUL = {
    bodies.ASKED_BACK: "asked back",
    "question dropped": "never answered",
    bodies.REMARK: "remark",
    bodies.CLOCK_STEPPED: "clock stepped",
    "interrupted": "interrupted",
    "stood by": "stood by",
    "silent": "silent",
    "device lost": "no microphone",
    "sound lost": "sound lost",
}


def _doubt_about(entry: Entry, before: dict[int, Entry]) -> str:
    """What is doubtful about an entry of an item, or about a withdrawal."""
    kind = bodies.kind(entry.body)
    if kind == _CONFIRMATION:
        finding = bodies.text(entry.body, "finding")
        return f"second person: {finding}" if finding in ("differs", "negative") else ""
    if kind == "identity":
        return "another identity" if entry.body.get("matches") is False else ""
    earlier = bodies.number(entry.body, "replaces")
    if kind == bodies.DISREGARDED:
        earlier = bodies.number(entry.body, "entry")
    if earlier in before and _late(before[earlier], entry):
        return "late correction" if kind == bodies.ITEM else "withdrawn late"
    return "unsure" if kind == bodies.ITEM and is_unsure(entry.body) else ""


def _late(earlier: Entry, entry: Entry) -> bool:
    return earlier.run != entry.run or entry.at.monotonic_ms - earlier.at.monotonic_ms > LATE_MS


def is_unsure(body: object) -> bool:
    """Whether a call was taken at once although it was heard with a low probability."""
    if bodies.text(body, "accepted") != "understood":
        return False
    try:
        return Decimal(bodies.text(body, "input", "heard", "probability")) < LOW_PROBABILITY
    except InvalidOperation:
        return False


def _heard(case: Case, seq: int) -> int:
    by = case.answers.heard.get(seq)
    return by.seq if by else 0


def _about(case: Case, line: Line, grade: Grade, what: str) -> Need:
    body, seq = line.entry.body, line.entry.seq
    name, item = (wording.plain(bodies.text(body, one)) for one in ("name", "item"))
    said = "; ".join(part for part in (found(body), line.note) if part)
    return Need(grade, what, name, said, seq, item, _heard(case, seq))


def found(body: Json) -> str:
    """What an item's entry says beside its result, short: limits without their reference."""
    read = bodies.part(body, "reading")
    bounds = {
        name: value for name, value in bodies.part(read, "limit").items() if name != "reference"
    }
    told = wording.result({**body, "reading": {**read, "limit": bounds}} if read else body)
    return told.removeprefix(wording.plain(bodies.text(body, "result"))).removeprefix(": ")
