"""What the walk asks the record to keep: typed entries, and the JSON body of each.

Pure data. What an entry does to the walk is ``memory.evolve``; which entry follows from an
input is decided by the handlers. An entry is made once and never changed.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import ClassVar

from voicewalk.card.model import Card
from voicewalk.walk.codec import encode
from voicewalk.walk.messages import Input, Json
from voicewalk.walk.second_entry import Confirmation
from voicewalk.walk.statuses import Stated
from voicewalk.walk.terms import Accepted, Ask, Result, Utterance, Way
from voicewalk.walk.turns import (
    Acknowledged,
    FellSilent,
    HandedOver,
    Identified,
    Resumed,
    StoodBy,
)
from voicewalk.walk.values import Count, Defect, Reading, telling


@dataclass(frozen=True, slots=True)
class Started:
    """A walk has begun."""

    kind: ClassVar[str] = "started"
    card: Card
    identity: str
    inspector: str
    second: str = ""
    device: str = ""
    rate: int = 0

    def fields(self) -> Json:
        """Which card, of which digest, with which vocabularies, and how many items it has."""
        card = self.card
        return {
            "subject": card.subject,
            "identity": self.identity,
            "inspector": self.inspector,
            **telling(second=self.second),
            "card": {
                "id": card.id,
                "title": card.title,
                "version": card.version,
                "digest": card.digest,
                **telling(vocabularies=card.vocabulary_digests),
            },
            "items": len(card),
            **telling(device=self.device, rate=self.rate or None),
        }


@dataclass(frozen=True, slots=True)
class Entered:
    """A result of an item.

    Attributes:
        replaces: number of the entry in whose place this one stands, 0 for none. The item's
            entries after that one are replaced with it: an item may have two discrepancies.
        reopens: ids of items that are open again because of this entry.
        owner: who has promised to do it; the item is open.
        by: of a count that must balance, whose work was counted.
        seen_before: when an earlier record has the same discrepancy last.
        second: the second person is to confirm it.
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
    owner: str = ""
    by: str = ""
    seen_before: str = ""
    second: bool = False

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
            owner=self.owner,
            by=self.by,
            seen_before=self.seen_before,
            second=self.second or None,
        )


@dataclass(frozen=True, slots=True)
class AskedBack:
    """An unclear call, asked back for the first time or again.

    Attributes:
        candidates: the one or two calls asked about, in the light of what was asked before;
            none for "say again", and where another way is asked for.
        offered: all that were asked about so far; two at the most.
        denied: of them, those answered by "negative".
        failures: answers so far that brought no nearer.
        alone: the one candidate was heard, with no other beside it, in a clip of this entry or
            of the one before it: heard so again, it counts.
    """

    kind: ClassVar[str] = "asked back"
    candidates: tuple[Utterance, ...]
    offered: tuple[Utterance, ...] = ()
    denied: tuple[Utterance, ...] = ()
    failures: int = 0
    way: Way = Way.PLAIN
    alone: bool = False

    def fields(self) -> Json:
        """The candidates, and what else says something; ``alone`` the inputs tell."""
        return {
            "candidates": _listed(self.candidates),
            **telling(
                offered=_listed(self.offered) if self.offered != self.candidates else None,
                denied=_listed(self.denied),
                failures=self.failures or None,
                way=self.way.value,
            ),
        }


def _listed(calls: tuple[Utterance, ...]) -> list[Json]:
    return [call.to_json() for call in calls]


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
    """A question that nobody answered, or an unclear call given up. No result follows.

    Attributes:
        entry: number of the entry that asked it.
        reopens: ids of the items that the call was of, and that had a good result: what was
            called of them since is not known.
        failures: answers that brought no nearer; 0 where silence was the answer.
        open: of a call given up, ids of the items that it may have been of and that are open.
    """

    kind: ClassVar[str] = "question dropped"
    question: Ask
    entry: int
    reopens: tuple[str, ...] = ()
    failures: int = 0
    open: tuple[str, ...] = ()

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(
            question=self.question.value,
            entry=self.entry,
            reopens=list(self.reopens),
            failures=self.failures or None,
            open=list(self.open),
        )


@dataclass(frozen=True, slots=True)
class Commanded:
    """A command that changes the walk.

    Attributes:
        command: a ``Command`` value, or "item" where an item was only named.
        item: the item that bare results belong to from now on.
        entry: for "correction", the entry to be corrected; 0 where a call still asked about
            was meant.
        open, unconfirmed: for "walkaround complete", what is still open, and to be confirmed.
    """

    kind: ClassVar[str] = "command"
    command: str
    item: str = ""
    entry: int = 0
    open: tuple[str, ...] = ()
    unconfirmed: tuple[str, ...] = ()

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(
            command=self.command,
            item=self.item,
            entry=self.entry or None,
            open=list(self.open),
            unconfirmed=list(self.unconfirmed),
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
class Disregarded:
    """The last call is considered not made: ``entry`` is withdrawn, and stays visible.

    ``item`` is the one that is open again; "" where the call was only asked about. ``reopens``
    are the counts that it was a place of.
    """

    kind: ClassVar[str] = "disregarded"
    entry: int
    item: str
    reopens: tuple[str, ...] = ()

    def fields(self) -> Json:
        """The entry and its item; what is open again where there is something."""
        return {"entry": self.entry, "item": self.item, **telling(reopens=list(self.reopens))}


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
class Back:
    """The sound device is there again.

    Attributes:
        device, rate: of the microphone, where it is one.
        other: it is another one than the walk was begun with.
    """

    kind: ClassVar[str] = "device back"
    device: str = ""
    rate: int = 0
    other: bool = False

    def fields(self) -> Json:
        """Only those that say something."""
        return telling(device=self.device, rate=self.rate or None, other=self.other or None)


@dataclass(frozen=True, slots=True)
class Missing(_Plain):
    """Some of the sound went missing; as ``messages.SoundLost``."""

    kind: ClassVar[str] = "sound lost"
    lost_ms: int
    before: int


What = (
    Started
    | Entered
    | Confirmation
    | Remarked
    | AskedBack
    | Asked
    | Dropped
    | Disregarded
    | Commanded
    | Resumed
    | StoodBy
    | Identified
    | HandedOver
    | Acknowledged
    | FellSilent
    | Stated
    | Stepped
    | Lost
    | Back
    | Missing
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
