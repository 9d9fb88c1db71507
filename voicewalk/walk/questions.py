"""Pending questions: what a call means in their light, and which of them it settles.

Pure. Questions are kept in a stack: the newest is asked, those beneath are asked again when
it is settled, so that no call is lost because another came between. How they are worded is
``spoken``'s.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from voicewalk.card.model import Card
from voicewalk.language.meaning import Act, Command, Meaning, is_part
from voicewalk.walk.entries import AskedBack
from voicewalk.walk.terms import Ask, Utterance, Way

BOTH = "both"
"""The side of a call of both sides."""


@dataclass(frozen=True, slots=True)
class Question:
    """One pending question.

    Attributes:
        seq: number of the entry that asks it.
        calls: the call it is about; two where it is asked which was said; none for a
            correction or a remark, and where an unclear call is asked for in another way.
        corrects: the answer corrects an entry that was made.
        offered, denied, failures, way, alone: of an unclear call, as in ``AskedBack``.
    """

    seq: int
    ask: Ask
    calls: tuple[Utterance, ...] = ()
    corrects: bool = False
    offered: tuple[Utterance, ...] = ()
    denied: tuple[Utterance, ...] = ()
    failures: int = 0
    way: Way = Way.PLAIN
    alone: bool = False

    @property
    def meanings(self) -> tuple[Meaning, ...]:
        """What the calls mean."""
        return tuple(call.meaning for call in self.calls)

    @property
    def place(self) -> tuple[str, str]:
        """The item and the group that a bare answer belongs to, "" where there is none."""
        about = self.calls or self.offered
        places = {(call.meaning.item, call.meaning.group) for call in about}
        return places.pop() if len(places) == 1 else ("", "")

    @property
    def item(self) -> str:
        """The item that a bare answer belongs to, "" where there is none."""
        return self.place[0]

    @property
    def timer(self) -> str:
        """Runs out when the question was not answered; it is asked once more then."""
        return f"question-{self.seq}"

    @property
    def last_timer(self) -> str:
        """Runs out when it was not answered again; it is dropped then."""
        return f"question-{self.seq}-again"

    @property
    def affirmable(self) -> Utterance | None:
        """The call that "affirm" would accept."""
        asks = self.ask in (Ask.CONFIRM, Ask.HEARD, Ask.STATUS)
        return self.calls[0] if asks and len(self.calls) == 1 else None


def asking_back(seq: int, what: AskedBack) -> Question:
    """The question that an entry asks of an unclear call."""
    return Question(
        seq,
        Ask.HEARD,
        what.candidates,
        any(call.meaning.corrects for call in what.offered),
        what.offered,
        what.denied,
        what.failures,
        what.way,
        what.alone,
    )


def is_bare(meaning: Meaning) -> bool:
    """Whether something is said and not of what."""
    whole = (Act.COMMAND, Act.SIDE, Act.IDENTITY, Act.ACKNOWLEDGED)
    return not meaning.item and not meaning.group and meaning.act not in whole


def in_context(card: Card, call: Utterance, asked: Question | None, current: str) -> Utterance:
    """The call with what the question asked, or else the item just named, adds to it."""
    if asked and (whole := _completed(card, call.meaning, asked)):
        return whole
    if is_bare(call.meaning):
        about = asked and (asked.calls or asked.offered)
        return _of(call, *(asked.place if asked and about else (current, "")))
    return call


def _completed(card: Card, said: Meaning, asked: Question) -> Utterance | None:
    """The call asked about, completed by "left", "right" or the name of an item."""
    match asked.ask, said.act:
        case (Ask.WHICH_SIDE, Act.SIDE):
            call = asked.calls[0]
            if said.side == BOTH:
                return call._replace(meaning=replace(call.meaning, side=BOTH))
            for item in card.groups[call.meaning.group]:
                if item.side == said.side:
                    return _of(call, item.id)
        case (Ask.WHICH_SIDE, Act.ITEM):
            call = asked.calls[0]
            if said.item and card.by_id[said.item].group == call.meaning.group:
                return _of(call, said.item)
        case (Ask.VALUE, Act.READING | Act.COUNT) if is_bare(said) and not said.state:
            return _counted(card, asked.calls[0], said)
        case (Ask.WHICH_ITEM, Act.ITEM) if said.item or said.group:
            return _of(asked.calls[0], said.item, said.group)
    return None


def _counted(card: Card, call: Utterance, said: Meaning) -> Utterance | None:
    """The number that was lacking: of what was named before ("pins out", "five")."""
    meaning = call.meaning
    if meaning.act is not Act.STATE or not card.by_id[meaning.item].balances:
        return None
    return call._replace(meaning=replace(meaning, act=Act.COUNT, value=said.value))


def _of(call: Utterance, item: str, group: str = "") -> Utterance:
    return call._replace(meaning=replace(call.meaning, item=item, group=group))


_ANSWERS = (
    Command.AFFIRM,
    Command.NEGATIVE,
    Command.CORRECTION,
    Command.DISREGARD,
    Command.SAY_AGAIN,
    Command.STOP,
)
"""Commands that always mean the question itself, even where it asks about such a command."""


def narrow(card: Card, calls: tuple[Utterance, ...], said: Meaning) -> Utterance | None:
    """The one of the calls asked about that ``said`` tells: "second", the whole call, or what
    only one of them says ("left", "installed", "fifty"). ``None`` where it tells none, or fits
    both, or where only one was read: a part of it confirms no more than that part.
    """
    same = [call for call in calls if call.meaning == said]
    if said.act is Act.COMMAND:
        return same[0] if same and said.command not in _ANSWERS else None
    if len(calls) != 2 or said.corrects:
        return None
    if said.act is Act.CHOICE:
        return calls[0] if said.choice == "first" else calls[1]
    if same and said.item and said.act is not Act.ITEM:
        return same[0]
    fitting = [call for call in calls if agrees(card, said, call.meaning)]
    return fitting[0] if len(fitting) == 1 else None


def agrees(card: Card, said: Meaning, whole: Meaning) -> bool:
    """Whether ``said`` is a part of the call ``whole``, or names its side or its group."""
    if said.act is Act.SIDE:
        return bool(whole.item) and card.by_id[whole.item].side == said.side
    return is_part(said, replace(whole, group=group_of(card, whole)) if said.group else whole)


def settles(card: Card, question: Question, said: Meaning) -> bool:
    """Whether a call (in its context) is an answer to ``question``, or comes in its place."""
    match question.ask:
        case Ask.REMARK:
            return False
        case Ask.HEARD:
            return True  # that call was not understood; this one is the caller's next try
        case Ask.CORRECTION:
            return said.act is not Act.ITEM
        case Ask.STATUS:
            return said.act is Act.STATUS and said.item == question.item
    asked = question.calls[0].meaning
    if said.act is Act.ITEM and asked.act is not Act.ITEM:
        return False  # an item is only named: the call about it is still to be answered
    match question.ask:
        case Ask.WHICH_ITEM:
            return _of_nothing(said) == _of_nothing(asked)
        case Ask.WHICH_SIDE:
            return group_of(card, said) == asked.group
        case _:
            return said.item == asked.item


def group_of(card: Card, meaning: Meaning) -> str:
    """The item's group, or the group called; "" where neither is."""
    return card.by_id[meaning.item].group if meaning.item else meaning.group


def _of_nothing(meaning: Meaning) -> Meaning:
    return replace(meaning, item="", group="", corrects=False)
