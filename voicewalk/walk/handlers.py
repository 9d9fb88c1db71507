"""What follows from an input: which entries are to be kept, and what is said at once.

Pure. Each handler is a row's right-hand side in ``table``. A handler changes nothing: the
memory changes when the record has kept an entry (``memory.evolve``), and only then it is told
(``telling.told``).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from voicewalk.card.model import Item, Kind
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk import (
    balance,
    measure,
    rules,
    second_chance,
    spoken,
    statuses,
    whereabouts,
)
from voicewalk.walk.confirmations import same_person
from voicewalk.walk.entries import (
    Asked,
    AskedBack,
    Commanded,
    Disregarded,
    Dropped,
    Entered,
    Entry,
    Remarked,
    Started,
    What,
)
from voicewalk.walk.ledger import Standing
from voicewalk.walk.memory import Memory, evolve
from voicewalk.walk.messages import (
    Call,
    Input,
    RemarkSpoken,
    Say,
    Start,
    Tick,
    Unclear,
)
from voicewalk.walk.questions import BOTH, Question, in_context, is_bare, settles
from voicewalk.walk.statuses import Stated
from voicewalk.walk.terms import Accepted, Ask, Utterance


@dataclass(frozen=True, slots=True)
class Step:
    """What a handler wants.

    Attributes:
        keep: entries, one after the other.
        say: what is said without any entry.
        again: the pending question is asked for the second and last time.
        second_again: so is what the second person is asked.
    """

    keep: tuple[Entry, ...] = ()
    say: tuple[Say, ...] = ()
    again: bool = False
    second_again: bool = False


@dataclass(frozen=True, slots=True)
class Said:
    """An understood call on its way to an entry.

    Attributes:
        cause: the input that the entry will hold; for an affirmed call, the "affirm".
        answers: numbers of the questions that it settles.
    """

    call: Utterance
    accepted: Accepted
    cause: Input
    answers: tuple[int, ...] = ()

    @property
    def meaning(self) -> Meaning:
        """What was meant."""
        return self.call.meaning

    def of(self, what: What) -> Step:
        """One entry of it."""
        return Step((self.entry(what),))

    def entry(self, what: What) -> Entry:
        """The entry, with its cause and the questions that it answers."""
        return Entry(what, self.cause, self.answers)


def ignore(memory: Memory, given: object) -> Step:
    """Nothing is kept and nothing is said."""
    return Step()


def start(memory: Memory, given: Start) -> Step:
    """The walk begins."""
    if given.second and same_person(given.second, given.inspector):
        raise ValueError("the inspector cannot be the second person too")
    who = (given.identity, given.inspector, given.second)
    return Step((Entry(Started(memory.card, *who, given.device, given.rate), given),))


# --- calls ---------------------------------------------------------------------------------


def call(memory: Memory, said: Said) -> Step:
    """Complete the call and keep it, or ask for what it lacks."""
    if said.meaning.act is Act.VAGUE and is_bare(said.meaning) and memory.asked:
        return ask_again(memory, said)
    placed = _placed(memory, said)
    if doubted := _doubted(memory, said, placed):
        return doubted
    said, meaning = placed, placed.meaning
    if meaning.act is Act.SIDE:
        return nothing_to_answer(memory, said)
    if meaning.group:
        return _of_group(memory, said)
    if not meaning.item:
        return _ask(said, Ask.WHICH_ITEM)
    if meaning.act is Act.STATUS:
        return _status(memory, said)
    if meaning.act is Act.ITEM:
        return said.of(Commanded(Act.ITEM.value, meaning.item))
    return _of_item(memory, said)


def _of_group(memory: Memory, said: Said) -> Step:
    """A call of a mirrored item: which side, or, where the card allows it, an entry of each."""
    meaning, items = said.meaning, memory.card.groups[said.meaning.group]
    if meaning.side != BOTH or meaning.act is Act.ITEM or not all(item.both for item in items):
        call = said.call._replace(meaning=replace(meaning, side=""))
        return _ask(replace(said, call=call), Ask.WHICH_SIDE)
    keep: tuple[Entry, ...] = ()
    say: tuple[Say, ...] = ()
    for item in items:
        one = replace(meaning, item=item.id, group="", side="")
        one = replace(one, corrects=one.corrects and (not keep or bool(memory.ledger.of(item.id))))
        answers = () if keep else said.answers
        of = replace(said, call=said.call._replace(meaning=one), answers=answers)
        step = _of_item(memory, of)
        say = step.say
        for entry in step.keep:
            memory = evolve(memory, memory.seq + 1, entry)
            keep = (*keep, entry)
    return Step(keep, () if keep else say)


def _of_item(memory: Memory, said: Said) -> Step:
    """A call of one item: keep it, or ask for what it lacks."""
    meaning, item = said.meaning, memory.item(said.meaning.item)
    meaning = rules.fitted(item, meaning)
    said = replace(said, call=said.call._replace(meaning=meaning))
    if lack := rules.lacking(item, meaning):
        return _ask(said, lack)
    if meaning.act is Act.READING and measure.lacks_before(
        memory.ledger, item, meaning.state, meaning.unit
    ):
        return _ask(said, Ask.VALUE)
    return _enter(memory, said)


def _doubted(memory: Memory, said: Said, placed: Said) -> Step | None:
    """What is done where the call answers an unclear one and cannot be taken as it is."""
    tried = second_chance.tried(memory)
    if tried is None or not isinstance(said.cause, Call) or said.accepted not in _AS_SAID:
        return None
    if second_chance.unspelt(tried, placed.call):
        return ask_again(memory, said)
    what = second_chance.doubt(memory, tried, said.meaning, placed.call, said.cause.heard)
    return _tried(memory, tried, what, said.cause) if what else None


_AS_SAID = (Accepted.UNDERSTOOD, Accepted.TYPED)


def _tried(
    memory: Memory, tried: Question, what: AskedBack | Dropped, cause: Input, *more: int
) -> Step:
    """The entry of a further try at an unclear call."""
    answers = (*more, tried.seq) if tried in memory.questions else more
    return Step((Entry(what, cause, answers),))


def _placed(memory: Memory, said: Said) -> Said:
    """The call in the light of the pending questions, with those that it settles."""
    given = said.meaning
    memory.check(given)
    whole = in_context(memory.card, said.call, memory.asked, memory.current)
    settled = [
        one
        for one in memory.questions
        if settles(memory.card, one, whole.meaning) or (given.corrects and one is memory.asked)
    ]
    corrects = whole.meaning.corrects or any(one.corrects for one in settled)
    answers = {*said.answers, *(one.seq for one in settled)}
    return replace(
        said,
        call=whole._replace(meaning=replace(whole.meaning, corrects=corrects)),
        answers=tuple(answers),
    )


def _ask(said: Said, ask: Ask) -> Step:
    return said.of(Asked(ask, said.call))


def _enter(memory: Memory, said: Said) -> Step:
    """A call that lacks nothing: withdraw what it was mistaken for, read it back, keep it."""
    item = memory.item(said.meaning.item)
    mistaken = _mistaken(memory, said)
    ledger = memory.ledger.withdraw(mistaken.seq) if mistaken else memory.ledger
    standing, corrects = ledger.of(item.id), said.meaning.corrects
    new = rules.entered(item, said.call, said.accepted)
    if item.balances:
        new = balance.weighed(ledger, item, new, memory.inspector)
    if new.reading:
        new = measure.judged(memory.card, ledger, item, new)
    new = rules.held_open(item, new)
    if held := rules.held(memory.card, ledger, new):
        return Step(say=(whereabouts.hold(memory, held), *spoken.pending(memory)))
    replaces = _replaced(item, standing, new, corrects)
    vanishing = tuple(one for one in standing if replaces and one.seq >= replaces)
    if said.accepted is not Accepted.CONFIRMED and (
        rules.must_confirm(item, standing, vanishing, new, corrects)
        or memory.is_far(new.item, said.meaning)
        or (memory.unproved and said.accepted is not Accepted.TYPED)
    ):
        return _ask(said, Ask.CONFIRM)
    if new.discrepancy:
        seen = memory.earlier.seen_before(item.id, new.discrepancy.defect)
        new = replace(new, seen_before=seen)
    reopens, second = rules.reopened(memory.card, ledger, new), rules.to_confirm(item, new)
    new = replace(new, replaces=replaces, reopens=reopens, second=second)
    kept = [said.entry(new)]
    if mistaken:
        kept.insert(0, Entry(withdrawal(memory, mistaken), said.cause))
    if memory.card.status and new.discrepancy:
        asked = Asked(Ask.STATUS, statuses.question(memory.card, item))
        kept.append(Entry(asked, said.cause))
    return Step(tuple(kept))


def _status(memory: Memory, said: Said) -> Step:
    """The status of an item's last discrepancy; a lesser one is read back first."""
    item, status = memory.item(said.meaning.item), said.meaning.state
    found = [one for one in memory.ledger.of(item.id) if one.entered.discrepancy]
    if not found:
        return nothing_to_answer(memory, said)
    old = memory.statuses.of(found[-1].seq)
    lower = statuses.lowered(memory.card, old, status)
    if lower and said.accepted is not Accepted.CONFIRMED:
        return _ask(said, Ask.CONFIRM)
    due = statuses.proposed(memory.card, item)
    return said.of(Stated(item.id, found[-1].seq, status, due, old if lower else ""))


def _replaced(item: Item, standing: tuple[Standing, ...], new: Entered, corrects: bool) -> int:
    """Number of the entry that ``new`` takes the place of."""
    if item.balances and new.count:
        return balance.replaced(item, standing, new)
    if item.kind is Kind.SERVICING and new.reading:
        return measure.serviced(item, standing, new)
    return rules.replaced(standing, new, corrects)


def _mistaken(memory: Memory, said: Said) -> Standing | None:
    """The result just entered, where a correction names another item that never had one: the
    caller had named the wrong item. A call that is still asked about was never a result."""
    asked_only = any(one.seq in said.answers and not one.corrects for one in memory.questions)
    if not said.meaning.corrects or asked_only or said.meaning.item in memory.ledger.standing:
        return None
    latest = memory.ledger.latest
    return latest if latest and latest.seq == memory.entered else None


def unclear(memory: Memory, given: Unclear) -> Step:
    """Ask back: one or two candidates in the light of what is asked already, never a third."""
    calls = [Utterance(*one) for one in given.candidates]
    for one in calls:
        memory.check(one.meaning)
    if (tried := second_chance.tried(memory)) and (step := _heard_again(memory, tried, given)):
        return step
    placed = (in_context(memory.card, one, memory.asked, memory.current) for one in calls)
    candidates = tuple(dict.fromkeys(placed))[:2]
    retried = any(one.meaning.act is not Act.COMMAND for one in candidates)
    answers = tuple(one.seq for one in memory.questions if retried and one.ask is Ask.HEARD)
    return Step((Entry(second_chance.first_asked(candidates, given), given, answers),))


def _heard_again(memory: Memory, tried: Question, given: Unclear) -> Step | None:
    found = second_chance.heard_again(memory, tried, given)
    if isinstance(found, Utterance):
        return call(memory, Said(found, Accepted.REPEATED, given, (tried.seq,)))
    return _tried(memory, tried, found, given) if found else None


def remark_spoken(memory: Memory, given: RemarkSpoken) -> Step:
    """Free speech is kept, whether it was still waited for or not."""
    answers = tuple(one.seq for one in memory.questions if one.ask is Ask.REMARK)
    return Step((Entry(Remarked(memory.spoken_of, given.transcript), given, answers),))


# --- answers to questions ------------------------------------------------------------------


def nothing_to_answer(memory: Memory, said: Said) -> Step:
    """It answers nothing; a pending question is asked again."""
    return Step(say=spoken.pending(memory) or (Say("nothing-to-answer"),))


def no_call(memory: Memory, given: Call | Said) -> Step:
    """Talk, or more than a call in one breath: nothing is kept of it, whoever said it."""
    why = Say("one-call" if given.meaning.act is Act.MIXED else "no-result")
    return Step(say=(why, *spoken.pending(memory)))


def ask_again(memory: Memory, given: object) -> Step:
    """First the question; nothing else is done before it is settled."""
    return Step(say=spoken.pending(memory))


def negative(memory: Memory, said: Said) -> Step:
    """What was asked about is dropped; an unclear call is asked for anew."""
    asked = _asked(memory)
    if asked.ask is Ask.HEARD:
        return _tried(memory, asked, second_chance.denied(memory, asked), said.cause, *said.answers)
    what = Commanded(Command.NEGATIVE.value, asked.item)
    return replace(said, answers=(*said.answers, asked.seq)).of(what)


def negative_later(memory: Memory, said: Said) -> Step:
    """The call being said again is asked for anew; where there is none, as "correction"."""
    tried = memory.tried
    if tried is None:
        return correction(memory, said)
    return _tried(memory, tried, second_chance.denied(memory, tried), said.cause, *said.answers)


def correction(memory: Memory, said: Said) -> Step:
    """The last entry was wrong; the right version follows.

    "Negative" after a readback is the same (SERA.14075: a wrong readback is answered with
    "negative, I say again" and the correct version).
    """
    latest = memory.ledger.latest
    if latest is None:
        return nothing_to_answer(memory, said)
    return said.of(Commanded(Command.CORRECTION.value, latest.entered.item, latest.seq))


def correction_of_call(memory: Memory, said: Said) -> Step:
    """The call asked about was wrong; the right version follows."""
    asked = _asked(memory)
    latest = memory.ledger.latest if asked.corrects else None
    what = Commanded(Command.CORRECTION.value, asked.item, latest.seq if latest else 0)
    return replace(said, answers=(*said.answers, asked.seq)).of(what)


def disregard(memory: Memory, said: Said) -> Step:
    """The last result is considered not made."""
    latest = memory.ledger.latest
    if latest is None:
        return nothing_to_answer(memory, said)
    return said.of(withdrawal(memory, latest))


def withdrawal(memory: Memory, standing: Standing) -> Disregarded:
    """The entry by which a result is withdrawn; a count that it was a place of is open again."""
    item = standing.entered.item
    return Disregarded(standing.seq, item, balance.shaken(memory.card, memory.ledger, (item,)))


def disregard_call(memory: Memory, said: Said) -> Step:
    """The call asked about is considered not made."""
    asked = _asked(memory)
    what = Disregarded(asked.seq, item="")
    return replace(said, answers=(*said.answers, asked.seq)).of(what)


def silence(memory: Memory, given: Tick) -> Step:
    """The question is asked once more."""
    return Step(say=spoken.pending(memory), again=True)


def silence_again(memory: Memory, given: Tick) -> Step:
    """The question is dropped, and no result follows: silence never confirms."""
    asked = _asked(memory)
    what = Dropped(asked.ask, asked.seq, rules.unsettled(memory.card, memory.ledger, asked))
    return Step((Entry(what, given, (asked.seq,)),))


def _asked(memory: Memory) -> Question:
    if memory.asked is None:
        raise RuntimeError("no question is pending")
    return memory.asked
