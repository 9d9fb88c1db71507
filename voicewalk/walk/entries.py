"""What the walk asks the record to keep: typed entries, and the JSON body of each.

Pure data. What an entry does to the walk is ``memory.evolve``; which entry follows from an
input is decided by the handlers. An entry is made once and never changed.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from decimal import Decimal
from enum import StrEnum
from typing import ClassVar, NamedTuple

from voicewalk.card.model import Card, Limit
from voicewalk.language.meaning import Meaning
from voicewalk.walk.codec import encode
from voicewalk.walk.messages import Input, Json


class Result(StrEnum):
    """The result of an item."""

    SATISFACTORY = "satisfactory"
    DISCREPANCY = "discrepancy"
    NOT_INSPECTED = "not inspected"
    NOT_APPLICABLE = "not applicable"


class Accepted(StrEnum):
    """How a call came to be accepted."""

    UNDERSTOOD = "understood"
    CONFIRMED = "confirmed"  # asked back, and "affirm" was said
    TYPED = "typed"


class Ask(StrEnum):
    """What a question asks for."""

    WHICH_SIDE = "which side"
    WHICH_ITEM = "which item"
    UNIT = "unit"
    VALUE = "value"
    REASON = "reason"
    CONFIRM = "confirm"  # an understood call is read back before it is kept
    HEARD = "asked back"  # an unclear call: was it this, or one of these two
    CORRECTION = "correction"
    REMARK = "remark"


class Utterance(NamedTuple):
    """A meaning and the words it was said in."""

    meaning: Meaning
    words: str

    def to_json(self) -> Json:
        """As the record keeps it."""
        return {"meaning": self.meaning.to_json(), "words": self.words}


def telling(**fields: object) -> Json:
    """Only the fields that say something; ``False`` does."""
    return {name: value for name, value in fields.items() if value not in (None, "", [], {})}


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading as said and as judged.

    Attributes:
        spoken: the words of the call that brought it.
        value: decimal string in ``unit``; never converted.
        within: whether ``limit`` holds; ``None`` where there is no limit.
    """

    spoken: str
    value: str
    unit: str
    within: bool | None = None
    limit: Limit | None = None

    def to_json(self) -> Json:
        """Only the fields that say something."""
        return telling(
            spoken=self.spoken,
            value=self.value,
            unit=self.unit,
            within=self.within,
            limit=self.limit and _bounds(self.limit),
        )


def _bounds(limit: Limit) -> Json:
    return telling(
        low=plain(limit.low), high=plain(limit.high), unit=limit.unit, reference=limit.reference
    )


def plain(value: Decimal | None) -> str:
    """A decimal in plain notation, "" for none."""
    return "" if value is None else format(value, "f")


@dataclass(frozen=True, slots=True)
class Count:
    """How many were seen, and how many there should be ("" where the card does not say)."""

    seen: str
    expected: str = ""

    def to_json(self) -> Json:
        """Only the fields that say something."""
        return telling(seen=self.seen, expected=self.expected)


@dataclass(frozen=True, slots=True)
class Defect:
    """What is wrong. ``size`` is a decimal string in ``size_unit``."""

    defect: str
    place: str = ""
    size: str = ""
    size_unit: str = ""

    def to_json(self) -> Json:
        """Only the fields that say something."""
        return telling(
            defect=self.defect, place=self.place, size=self.size, size_unit=self.size_unit
        )


@dataclass(frozen=True, slots=True)
class Started:
    """A walk has begun."""

    kind: ClassVar[str] = "started"
    card: Card
    identity: str
    inspector: str

    def fields(self) -> Json:
        """Which card, of which digest, and how many items it has."""
        card = self.card
        return {
            "subject": card.subject,
            "identity": self.identity,
            "inspector": self.inspector,
            "card": {
                "id": card.id,
                "title": card.title,
                "version": card.version,
                "digest": card.digest,
            },
            "items": len(card),
        }


@dataclass(frozen=True, slots=True)
class Entered:
    """A result of an item.

    Attributes:
        replaces: number of the entry in whose place this one stands, 0 for none. The item's
            entries after that one are replaced with it: an item may have two discrepancies.
        reopens: ids of items that are open again because of this entry.
    """

    kind: ClassVar[str] = "item"
    item: str
    name: str
    station: str
    result: Result
    accepted: Accepted
    state: str = ""
    reading: Reading | None = None
    count: Count | None = None
    discrepancy: Defect | None = None
    reason: str = ""
    replaces: int = 0
    reopens: tuple[str, ...] = ()

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(
            item=self.item,
            name=self.name,
            station=self.station,
            result=self.result.value,
            accepted=self.accepted.value,
            state=self.state,
            reading=self.reading and self.reading.to_json(),
            count=self.count and self.count.to_json(),
            discrepancy=self.discrepancy and self.discrepancy.to_json(),
            reason=self.reason,
            replaces=self.replaces or None,
            reopens=list(self.reopens),
        )


@dataclass(frozen=True, slots=True)
class AskedBack:
    """An unclear call, with the one or two candidates asked about; none for "say again"."""

    kind: ClassVar[str] = "asked back"
    candidates: tuple[Utterance, ...]

    def fields(self) -> Json:
        """The candidates as they were understood in the light of what was asked before."""
        return {"candidates": [candidate.to_json() for candidate in self.candidates]}


@dataclass(frozen=True, slots=True)
class Asked:
    """A call that could not be a result yet, and what is asked about it."""

    kind: ClassVar[str] = "question"
    question: Ask
    call: Utterance

    def fields(self) -> Json:
        """The question, and the call as far as it is understood."""
        meaning = self.call.meaning
        return {
            "question": self.question.value,
            **telling(item=meaning.item, group=meaning.group),
            "call": self.call.to_json(),
        }


@dataclass(frozen=True, slots=True)
class Dropped:
    """A question that nobody answered. No result follows from it: silence never confirms.

    Attributes:
        entry: number of the entry that asked it.
        reopens: ids of the items that the call was of, and that had a good result: what was
            called of them since is not known.
    """

    kind: ClassVar[str] = "question dropped"
    question: Ask
    entry: int
    reopens: tuple[str, ...] = ()

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(question=self.question.value, entry=self.entry, reopens=list(self.reopens))


@dataclass(frozen=True, slots=True)
class Commanded:
    """A command that changes the walk.

    Attributes:
        command: a ``Command`` value, or "item" where an item was only named.
        item: the item that bare results belong to from now on.
        entry: for "correction", the entry to be corrected; 0 where a call still asked about
            was meant.
        open: for "walkaround complete", what is still open.
    """

    kind: ClassVar[str] = "command"
    command: str
    item: str = ""
    entry: int = 0
    open: tuple[str, ...] = ()

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(
            command=self.command,
            item=self.item,
            entry=self.entry or None,
            open=list(self.open),
        )


@dataclass(frozen=True, slots=True)
class Closed:
    """The walk is closed: every item has a result. It is no statement of airworthiness."""

    kind: ClassVar[str] = "closed"
    counts: dict[Result, int]
    caution: str

    def fields(self) -> Json:
        """How many items have each result, and the card's caution."""
        return {
            "satisfactory": self.counts[Result.SATISFACTORY],
            "discrepancies": self.counts[Result.DISCREPANCY],
            "not_inspected": self.counts[Result.NOT_INSPECTED],
            "not_applicable": self.counts[Result.NOT_APPLICABLE],
            "caution": self.caution,
        }


@dataclass(frozen=True, slots=True)
class _Plain:
    """An entry whose fields are written as they are."""

    def fields(self) -> Json:
        """All of them."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Remarked(_Plain):
    """Free speech; its sound is in the input's evidence. ``item`` is the one last spoken of."""

    kind: ClassVar[str] = "remark"
    item: str
    transcript: str


@dataclass(frozen=True, slots=True)
class Disregarded(_Plain):
    """The last call is considered not made: ``entry`` is withdrawn, and stays visible.

    ``item`` is the one that is open again; "" where the call was only asked about.
    """

    kind: ClassVar[str] = "disregarded"
    entry: int
    item: str


@dataclass(frozen=True, slots=True)
class Resumed(_Plain):
    """The program had stopped and goes on from its record."""

    kind: ClassVar[str] = "interrupted"
    gap_ms: int


@dataclass(frozen=True, slots=True)
class Stepped(_Plain):
    """Wall time and monotonic time drifted apart."""

    kind: ClassVar[str] = "clock stepped"
    by_ms: int


@dataclass(frozen=True, slots=True)
class Lost(_Plain):
    """The sound device is gone."""

    kind: ClassVar[str] = "device lost"
    reason: str


@dataclass(frozen=True, slots=True)
class Back(_Plain):
    """The sound device is there again."""

    kind: ClassVar[str] = "device back"


What = (
    Started
    | Entered
    | Remarked
    | AskedBack
    | Asked
    | Dropped
    | Disregarded
    | Commanded
    | Resumed
    | Stepped
    | Lost
    | Back
    | Closed
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry.

    Attributes:
        what: its content.
        cause: the input that led to it; two entries may have the same cause.
        answers: numbers of the question entries that are settled by it.
    """

    what: What
    cause: Input
    answers: tuple[int, ...] = ()

    def body(self) -> Json:
        """What the record keeps (docs/record-format.md tells the fields)."""
        return {
            "kind": self.what.kind,
            "input": encode(self.cause),
            **self.what.fields(),
            **telling(answers=sorted(self.answers)),
        }
