"""Pending questions: what a call means in their light, and which of them it settles.

Pure. Questions are kept in a stack: the newest is asked, those beneath are asked again when
it is settled, so that no call is lost because another came between. How they are worded is
``spoken``'s.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from voicewalk.card.model import Card
from voicewalk.language.meaning import Act, Meaning
from voicewalk.walk.entries import Ask, Utterance


@dataclass(frozen=True, slots=True)
class Question:
    """One pending question.

    Attributes:
        seq: number of the entry that asks it.
        calls: the call it is about; two where it is asked which was said; none for a
            correction or a remark.
        corrects: the answer corrects an entry that was made.
    """

    seq: int
    ask: Ask
    calls: tuple[Utterance, ...] = ()
    corrects: bool = False

    @property
    def meanings(self) -> tuple[Meaning, ...]:
        """What the calls mean."""
        return tuple(call.meaning for call in self.calls)

    @property
    def place(self) -> tuple[str, str]:
        """The item and the group that a bare answer belongs to, "" where there is none."""
        places = {(meaning.item, meaning.group) for meaning in self.meanings}
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
        asks = self.ask in (Ask.CONFIRM, Ask.HEARD)
        return self.calls[0] if asks and len(self.calls) == 1 else None


def is_bare(meaning: Meaning) -> bool:
    """Whether something is said and not of what."""
    return not meaning.item and not meaning.group and meaning.act not in (Act.COMMAND, Act.SIDE)


def in_context(card: Card, call: Utterance, asked: Question | None, current: str) -> Utterance:
    """The call with what the question asked, or else the item just named, adds to it."""
    if asked and (whole := _completed(card, call.meaning, asked)):
        return whole
    if is_bare(call.meaning):
        return _of(call, *(asked.place if asked and asked.calls else (current, "")))
    return call


def _completed(card: Card, said: Meaning, asked: Question) -> Utterance | None:
    """The call asked about, completed by "left", "right" or the name of an item."""
    match asked.ask, said.act:
        case (Ask.WHICH_SIDE, Act.SIDE):
            call = asked.calls[0]
            for item in card.groups[call.meaning.group]:
                if item.side == said.side:
                    return _of(call, item.id)
        case (Ask.WHICH_SIDE, Act.ITEM):
            call = asked.calls[0]
            if said.item and card.by_id[said.item].group == call.meaning.group:
                return _of(call, said.item)
        case (Ask.WHICH_ITEM, Act.ITEM) if said.item or said.group:
            return _of(asked.calls[0], said.item, said.group)
        case (Ask.HEARD, Act.SIDE):
            on_side = [call for call in asked.calls if _side(card, call.meaning) == said.side]
            return on_side[0] if len(on_side) == 1 else None
    return None


def _of(call: Utterance, item: str, group: str = "") -> Utterance:
    return call._replace(meaning=replace(call.meaning, item=item, group=group))


def _side(card: Card, meaning: Meaning) -> str:
    return card.by_id[meaning.item].side if meaning.item else ""


def settles(card: Card, question: Question, said: Meaning) -> bool:
    """Whether a call (in its context) is an answer to ``question``, or comes in its place."""
    match question.ask:
        case Ask.REMARK:
            return False
        case Ask.HEARD:
            return True  # that call was not understood; this one is the caller's next try
        case Ask.CORRECTION:
            return said.act is not Act.ITEM
    asked = question.calls[0].meaning
    if said.act is Act.ITEM and asked.act is not Act.ITEM:
        return False  # an item is only named: the call about it is still to be answered
    match question.ask:
        case Ask.WHICH_ITEM:
            return _of_nothing(said) == _of_nothing(asked)
        case Ask.WHICH_SIDE:
            return _group(card, said) == asked.group
        case _:
            return said.item == asked.item


def _group(card: Card, meaning: Meaning) -> str:
    return card.by_id[meaning.item].group if meaning.item else meaning.group


def _of_nothing(meaning: Meaning) -> Meaning:
    return replace(meaning, item="", group="", corrects=False)
