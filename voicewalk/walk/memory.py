"""What the walk knows, and how each kept entry changes it.

Pure. The memory follows from the entries alone, in their order: that is why a record played
into a fresh machine reproduces itself. Only ``said`` does not; no entry depends on it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum

from voicewalk.card.model import Card, Item
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.settings import WalkSettings
from voicewalk.walk.entries import (
    Asked,
    AskedBack,
    Back,
    Closed,
    Commanded,
    Disregarded,
    Dropped,
    Entered,
    Entry,
    Identified,
    Lost,
    Remarked,
    Resumed,
    Started,
    Stepped,
    StoodBy,
)
from voicewalk.walk.ledger import Ledger
from voicewalk.walk.messages import Say
from voicewalk.walk.questions import Question, asking_back
from voicewalk.walk.terms import Ask
from voicewalk.walk.words import Words


class WalkState(StrEnum):
    """The states of the transition table."""

    NEW = "new"
    WALKING = "walking"
    ASKING = "asking"  # walking, and a question is pending
    STANDING_BY = "standing by"
    CLOSED = "closed"


@dataclass(frozen=True)
class Memory:
    """Everything the walk knows.

    Attributes:
        phase: the state, but ``ASKING``, which follows from ``questions``.
        seq: number of the last kept entry.
        questions: pending ones, the one asked now last.
        tried: an unclear call that is no question just now: the caller is to say it again.
        leading: the tool names the items, since "next" or a refused close.
        current: the item just named or asked for; bare results belong to it.
        spoken_of: the item last spoken of, for remarks.
        entered: number of the result entered last, whatever became of it.
        stood_by: number of the last "stand by".
        identify: after an interruption, the walk goes on only once its identity was said.
        said: what was said last, for "say again".
        words: in which results and commands are read back.
    """

    card: Card
    settings: WalkSettings
    ledger: Ledger
    words: Words
    phase: WalkState = WalkState.NEW
    seq: int = 0
    identity: str = ""
    inspector: str = ""
    questions: tuple[Question, ...] = ()
    tried: Question | None = None
    leading: bool = False
    current: str = ""
    spoken_of: str = ""
    entered: int = 0
    stood_by: int = 0
    identify: bool = False
    said: tuple[Say, ...] = field(default=(), compare=False)

    @property
    def state(self) -> WalkState:
        """The state of the transition table."""
        if self.phase is WalkState.WALKING and self.questions:
            return WalkState.ASKING
        return self.phase

    @property
    def asked(self) -> Question | None:
        """The question that was asked last and is to be answered first."""
        return self.questions[-1] if self.questions else None

    @property
    def stand_by_timer(self) -> str:
        """Runs out when the caller has stood by for longer than the card allows."""
        return f"stand-by-{self.stood_by}"

    @property
    def last(self) -> str:
        """Id of the item confirmed last, "" for none."""
        latest = self.ledger.latest()
        return latest.entered.item if latest else ""

    @property
    def ahead(self) -> tuple[str, ...]:
        """The open items as they lie ahead: from where the walk is, then from the start."""
        return self.ledger.open_after((self.leading and self.current) or self.last)

    def expectation(self) -> Expectation:
        """What would be understood now. It guides the hearing; it never makes a result."""
        if self.phase is not WalkState.WALKING:
            return Expectation()
        asked = self.asked
        sides = {self.item(m.item).side for m in asked.meanings if m.item} if asked else set()
        return Expectation(
            item=(asked.item if asked else "") or self.current,
            likely=self.ahead,
            question=asked is not None and asked.ask in (Ask.CONFIRM, Ask.HEARD),
            side=asked is not None and (asked.ask is Ask.WHICH_SIDE or len(sides) > 1),
            between=asked.meanings if asked and asked.ask is Ask.HEARD else (),
        )

    def name(self, item: str) -> str:
        """How an item is called aloud; "" for none."""
        return self.card.by_id[item].name if item else ""

    def names(self, items: tuple[str, ...]) -> str:
        """Names as one text, in the order of ``items``."""
        return ", ".join(self.name(item) for item in items)

    def item(self, item: str) -> Item:
        """Raises ``ValueError`` for an id that the card does not have."""
        if item not in self.card.by_id:
            raise ValueError(f"the card has no item '{item}'")
        return self.card.by_id[item]

    def check(self, meaning: Meaning) -> None:
        """Raises ``ValueError`` for a call on something that the card does not have."""
        if meaning.item:
            self.item(meaning.item)
        if meaning.group and meaning.group not in self.card.groups:
            raise ValueError(f"the card has no group '{meaning.group}'")


def fresh(card: Card, settings: WalkSettings, words: Words) -> Memory:
    """The memory of a walk that has not begun."""
    return Memory(card, settings, Ledger(card), words)


def evolve(memory: Memory, seq: int, entry: Entry) -> Memory:
    """The memory after ``entry`` was kept under the number ``seq``."""
    left = tuple(one for one in memory.questions if one.seq not in entry.answers)
    tried = memory.tried if isinstance(entry.what, _BESIDE) else None
    memory = replace(memory, seq=seq, questions=left, tried=tried)
    match entry.what:
        case Started(identity=identity, inspector=inspector):
            return replace(memory, phase=WalkState.WALKING, identity=identity, inspector=inspector)
        case Entered() as entered:
            return _entered(memory, seq, entered)
        case Disregarded(entry=withdrawn, item=item) if withdrawn not in entry.answers:
            ledger = memory.ledger.withdraw(withdrawn).reopen(entry.what.reopens)
            return _named(replace(memory, ledger=ledger), item)
        case Dropped(reopens=items):
            return replace(memory, ledger=memory.ledger.reopen(items))
        case Asked(question=ask, call=call):
            memory = replace(memory, spoken_of=call.meaning.item or memory.spoken_of)
            return _asking(memory, Question(seq, ask, (call,), call.meaning.corrects))
        case AskedBack() as back:
            return _asked_back(memory, asking_back(seq, back))
        case Commanded() as commanded:
            return _commanded(memory, seq, commanded)
        case Resumed() | StoodBy() | Identified() as what:
            return _interrupted(memory, what)
        case Closed():
            return replace(memory, phase=WalkState.CLOSED)
        case _:
            return memory


def _interrupted(memory: Memory, what: Resumed | StoodBy | Identified) -> Memory:
    """Standing by until the identity was said, where the card has a rule; else going on."""
    if isinstance(what, Identified) and what.matches:
        ledger = memory.ledger.reopen(what.reopens)
        return replace(memory, phase=WalkState.WALKING, identify=False, ledger=ledger)
    if memory.card.after_interruption is None:
        return replace(memory, phase=WalkState.WALKING)
    return replace(memory, phase=WalkState.STANDING_BY, identify=True)


def _asking(memory: Memory, question: Question) -> Memory:
    return replace(memory, questions=(*memory.questions, question))


_BESIDE = (Remarked, Resumed, Stepped, Lost, Back)
"""Entries that come between an unclear call and its next try."""


def _asked_back(memory: Memory, question: Question) -> Memory:
    if question.calls or question.way:
        return _asking(memory, question)
    tried = question if question.failures else None
    return _named(replace(memory, tried=tried), question.item)


def _named(memory: Memory, item: str) -> Memory:
    """Bare results belong to ``item`` from now on; "" leaves it as it was."""
    if not item:
        return memory
    return replace(memory, current=item, spoken_of=item)


def _entered(memory: Memory, seq: int, entered: Entered) -> Memory:
    ledger = memory.ledger.enter(seq, entered)
    ahead = ledger.open_after(entered.item) if memory.leading else ()
    return replace(
        memory,
        ledger=ledger,
        leading=bool(ahead),
        current=ahead[0] if ahead else "",
        spoken_of=entered.item,
        entered=seq,
    )


def _commanded(memory: Memory, seq: int, commanded: Commanded) -> Memory:
    match commanded.command:
        case Act.ITEM | Command.NEGATIVE:
            return _named(memory, commanded.item)
        case Command.CORRECTION:
            question = Question(seq, Ask.CORRECTION, corrects=bool(commanded.entry))
            return _asking(_named(memory, commanded.item), question)
        case Command.REMARK:
            return _asking(memory, Question(seq, Ask.REMARK))
        case Command.NEXT:
            return replace(memory, leading=True, current=commanded.item)
        case Command.CLOSE:
            return replace(memory, leading=True, current=commanded.open[0])
        case Command.STAND_BY:
            return replace(memory, phase=WalkState.STANDING_BY, stood_by=seq)
        case Command.GOING_ON:
            return replace(memory, phase=WalkState.WALKING)
        case _:
            return memory
