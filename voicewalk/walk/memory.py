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
from voicewalk.walk import notices
from voicewalk.walk.confirmations import Confirmations
from voicewalk.walk.earlier import Earlier, is_far
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
    Lost,
    Remarked,
    Started,
    Stepped,
    What,
)
from voicewalk.walk.ledger import Ledger
from voicewalk.walk.messages import Input, Say, Start
from voicewalk.walk.questions import Question, asking_back
from voicewalk.walk.second_entry import Confirmation
from voicewalk.walk.statuses import Stated, Statuses
from voicewalk.walk.terms import Accepted, Ask
from voicewalk.walk.turns import Acknowledged, FellSilent, HandedOver, Identified, Resumed, StoodBy
from voicewalk.walk.words import Words


class WalkState(StrEnum):
    """The states of the transition table."""

    NEW = "new"
    WALKING = "walking"
    ASKING = "asking"  # walking, and a question is pending
    ACKNOWLEDGING = "acknowledging"  # something was told that must be acknowledged first
    STANDING_BY = "standing by"
    CLOSED = "closed"


@dataclass(frozen=True)
class Memory:
    """Everything the walk knows.

    Attributes:
        phase: the state, but ``ASKING``, which follows from ``questions``, and
            ``ACKNOWLEDGING``, which follows from ``notices``.
        seq: number of the last kept entry.
        questions: pending ones, the one asked now last.
        tried: an unclear call that is no question just now: the caller is to say it again.
        leading: the tool names the items, since "next" or a refused close.
        current: the item just named or asked for; bare results belong to it.
        spoken_of: the item last spoken of, for remarks.
        entered: number of the result entered last, whatever became of it.
        stood_by: number of the last "stand by".
        identify: at the start or after an interruption, the walk goes on only once its identity
            was said.
        handing: another inspector takes over, and is to be named.
        notices: what is to be acknowledged before anything else, the first first.
        earlier: what earlier records say.
        sweep: the open items on the shortest way, since a refused close.
        statuses: of the discrepancies on the form.
        device: name of the microphone that the walk was begun with, "" for none.
        unproved: another one is in use, and no call in it was affirmed yet: all are asked back.
        said: what was said last, for "say again".
        words: in which results and commands are read back.
        second: the second person's part.
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
    handing: bool = False
    notices: tuple[Say, ...] = ()
    earlier: Earlier = field(default_factory=Earlier)
    sweep: tuple[str, ...] = ()
    statuses: Statuses = field(default_factory=Statuses)
    second: Confirmations = field(default_factory=Confirmations)
    device: str = ""
    unproved: bool = False
    said: tuple[Say, ...] = field(default=(), compare=False)

    @property
    def state(self) -> WalkState:
        """The state of the transition table."""
        if self.phase is WalkState.WALKING and self.notices:
            return WalkState.ACKNOWLEDGING
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
    def silence_timer(self) -> str:
        """Runs out when nothing was kept for longer than the card allows."""
        return f"silence-{self.seq}"

    @property
    def last(self) -> str:
        """Id of the item confirmed last, "" for none."""
        latest = self.ledger.latest
        return latest.entered.item if latest else ""

    @property
    def ahead(self) -> tuple[str, ...]:
        """The open items as they lie ahead: on the shortest way since a refused close; else
        from where the walk is, then from the start."""
        ahead = self.ledger.open_after((self.leading and self.current) or self.last)
        if not self.leading or not self.sweep:
            return ahead
        swept = (item for item in self.sweep if self.ledger.is_open(item))
        return tuple(dict.fromkeys((*swept, *ahead)))

    def expectation(self) -> Expectation:
        """What would be understood now. It guides the hearing; it never makes a result."""
        if self.phase is not WalkState.WALKING:
            return Expectation(identity=self.identify or self.handing)
        if self.notices:
            return Expectation(question=True)
        asked = self.asked
        sides = {self.item(m.item).side for m in asked.meanings if m.item} if asked else set()
        return Expectation(
            item=(asked.item if asked else "") or self.current,
            likely=self.ahead,
            question=asked is not None and asked.ask in (Ask.CONFIRM, Ask.HEARD, Ask.STATUS),
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

    def is_far(self, item: str, meaning: Meaning) -> bool:
        """Whether a reading is far from the last one of the same aircraft: it is asked back."""
        last = self.earlier.last_reading(item, meaning.unit) if meaning.value else None
        return last is not None and is_far(meaning.value, last, self.settings.far_share)

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
    unproved = _unproved(memory, entry.what)
    memory = replace(memory, seq=seq, questions=left, tried=tried, unproved=unproved)
    match entry.what:
        case Started():
            return _started(memory, entry.what, entry.cause)
        case Entered() as entered:
            return _entered(memory, seq, entered)
        case Disregarded(entry=withdrawn, item=item) if withdrawn not in entry.answers:
            ledger = memory.ledger.withdraw(withdrawn).reopen(entry.what.reopens)
            return _named(replace(memory, ledger=ledger), item)
        case Dropped(reopens=items):
            return replace(memory, ledger=memory.ledger.reopen(items))
        case Confirmation(item=item, reopens=items) as what:
            ledger, second = memory.ledger.reopen(items), memory.second.answered(what)
            memory = replace(memory, ledger=ledger, second=second)
            return _named(memory, item) if items else memory
        case Asked(question=ask, call=call):
            memory = replace(memory, spoken_of=call.meaning.item or memory.spoken_of)
            return _asking(memory, Question(seq, ask, (call,), call.meaning.corrects))
        case AskedBack() as back:
            return _asked_back(memory, asking_back(seq, back))
        case Commanded() as commanded:
            return _commanded(memory, seq, commanded)
        case Resumed() | StoodBy() | FellSilent() | Identified() as what:
            return _interrupted(memory, what)
        case HandedOver() | Acknowledged() | Stated() as what:
            return _turned(memory, what)
        case Closed():
            return replace(memory, phase=WalkState.CLOSED)
        case _:
            return memory


def _unproved(memory: Memory, what: What) -> bool:
    """Whether the microphone in use is another one, and still to be proved."""
    if isinstance(what, Back | Resumed) and what.device:
        return what.other
    affirmed = isinstance(what, Entered) and what.accepted is Accepted.CONFIRMED
    return memory.unproved and not affirmed


def _started(memory: Memory, started: Started, cause: Input) -> Memory:
    """Walking; standing by until the identity was said, where the card wants it said first."""
    earlier = Earlier.from_json(cause.earlier) if isinstance(cause, Start) else Earlier()
    said = memory.card.identity_said
    return replace(
        memory,
        phase=WalkState.STANDING_BY if said else WalkState.WALKING,
        identify=said,
        identity=started.identity,
        inspector=started.inspector,
        earlier=earlier,
        device=started.device,
        second=Confirmations(started.second),
        notices=notices.at_start(earlier),
    )


def _turned(memory: Memory, what: HandedOver | Acknowledged | Stated) -> Memory:
    """Another inspector walks, who acknowledges message after message; or a status was given."""
    if isinstance(what, Stated):
        return replace(memory, statuses=memory.statuses.stated(what))
    if isinstance(what, Acknowledged):
        return replace(memory, notices=memory.notices[1:])
    few = memory.settings.names_spoken
    told = notices.at_hand_over(memory.card, memory.ledger, few)
    walking = replace(memory, phase=WalkState.WALKING, handing=False)
    return replace(walking, inspector=what.to, notices=told)


def _interrupted(memory: Memory, what: Resumed | StoodBy | FellSilent | Identified) -> Memory:
    """Standing by until the identity was said, where the card has a rule; else going on."""
    if isinstance(what, Identified) and what.matches:
        ledger = memory.ledger.reopen(what.reopens)
        return replace(memory, phase=WalkState.WALKING, identify=False, ledger=ledger)
    if isinstance(what, Identified):
        return memory
    reopens = what.reopens if isinstance(what, Resumed) else ()
    memory = replace(memory, handing=False, ledger=memory.ledger.reopen(reopens))
    if memory.identify:
        return memory
    if memory.card.after_interruption is None:
        return replace(memory, phase=WalkState.WALKING)
    return replace(memory, phase=WalkState.STANDING_BY, identify=True)


def _asking(memory: Memory, question: Question) -> Memory:
    return replace(memory, questions=(*memory.questions, question))


_BESIDE = (Remarked, Confirmation, Resumed, Stepped, Lost, Back)
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
    memory = replace(
        memory,
        ledger=memory.ledger.enter(seq, entered),
        second=memory.second.entered(memory.ledger, entered),
        spoken_of=entered.item,
        entered=seq,
    )
    ahead = replace(memory, current=entered.item).ahead if memory.leading else ()
    return replace(
        memory,
        leading=bool(ahead),
        current=ahead[0] if ahead else "",
        sweep=memory.sweep if ahead else (),
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
            memory = replace(memory, second=memory.second.asked_anew(), sweep=commanded.open)
            first = commanded.open[:1]
            return replace(memory, leading=bool(first), current="".join(first))
        case Command.STAND_BY:
            return replace(memory, phase=WalkState.STANDING_BY, stood_by=seq)
        case Command.HAND_OVER:
            return replace(memory, phase=WalkState.STANDING_BY, handing=True)
        case Command.GOING_ON:
            return replace(memory, phase=WalkState.WALKING, handing=False)
        case _:
            return memory
