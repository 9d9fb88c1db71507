"""What follows from an input: which entries are to be kept, and what is said at once.

Pure. Each handler is a row's right-hand side in ``table``. A handler changes nothing: the
memory changes when the record has kept an entry (``memory.evolve``), and only then it is told
(``spoken.told``).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk import rules, second_chance, spoken
from voicewalk.walk.entries import (
    Accepted,
    Ask,
    Asked,
    AskedBack,
    Back,
    Closed,
    Commanded,
    Disregarded,
    Dropped,
    Entry,
    Lost,
    Remarked,
    Resumed,
    Started,
    Stepped,
    Utterance,
    What,
)
from voicewalk.walk.ledger import Standing
from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import (
    Call,
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Input,
    Interrupted,
    RemarkSpoken,
    Say,
    Start,
    Tick,
    Unclear,
)
from voicewalk.walk.questions import Question, in_context, settles


@dataclass(frozen=True, slots=True)
class Step:
    """What a handler wants.

    Attributes:
        keep: entries, one after the other.
        say: what is said without any entry.
        again: the pending question is asked for the second and last time.
    """

    keep: tuple[Entry, ...] = ()
    say: tuple[Say, ...] = ()
    again: bool = False


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
    return Step((Entry(Started(memory.card, given.identity, given.inspector), given),))


# --- calls ---------------------------------------------------------------------------------


def call(memory: Memory, said: Said) -> Step:
    """Complete the call and keep it, or ask for what it lacks."""
    placed = _placed(memory, said)
    if doubted := _doubted(memory, said, placed):
        return doubted
    said, meaning = placed, placed.meaning
    if meaning.act is Act.SIDE:
        return nothing_to_answer(memory, said)
    if meaning.group:
        return _ask(said, Ask.WHICH_SIDE)
    if not meaning.item:
        return _ask(said, Ask.WHICH_ITEM)
    item = memory.item(meaning.item)
    if meaning.act is Act.ITEM:
        return said.of(Commanded(Act.ITEM.value, item.id))
    meaning = rules.fitted(item, meaning)
    said = replace(said, call=said.call._replace(meaning=meaning))
    if lack := rules.lacking(item, meaning):
        return _ask(said, lack)
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
    confirmed = said.accepted is Accepted.CONFIRMED
    if not confirmed and rules.must_confirm(item, standing, new, corrects):
        return _ask(said, Ask.CONFIRM)
    new = replace(
        new,
        replaces=rules.replaced(standing, new, corrects),
        reopens=rules.reopened(memory.card, ledger, new),
    )
    kept = said.entry(new)
    if mistaken is None:
        return Step((kept,))
    withdrawn = Disregarded(mistaken.seq, mistaken.entered.item)
    return Step((Entry(withdrawn, said.cause), kept))


def _mistaken(memory: Memory, said: Said) -> Standing | None:
    """The result just entered, where a correction names another item that never had one: the
    caller had named the wrong item. A call that is still asked about was never a result."""
    asked_only = any(one.seq in said.answers and not one.corrects for one in memory.questions)
    if not said.meaning.corrects or asked_only or said.meaning.item in memory.ledger.standing:
        return None
    latest = memory.ledger.latest()
    return latest if latest and latest.seq == memory.entered else None


def unclear(memory: Memory, given: Unclear) -> Step:
    """Ask back: one or two candidates in the light of what is asked already, never a third."""
    calls = [Utterance(*candidate) for candidate in given.candidates]
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
    latest = memory.ledger.latest()
    if latest is None:
        return nothing_to_answer(memory, said)
    return said.of(Commanded(Command.CORRECTION.value, latest.entered.item, latest.seq))


def correction_of_call(memory: Memory, said: Said) -> Step:
    """The call asked about was wrong; the right version follows."""
    asked = _asked(memory)
    latest = memory.ledger.latest() if asked.corrects else None
    what = Commanded(Command.CORRECTION.value, asked.item, latest.seq if latest else 0)
    return replace(said, answers=(*said.answers, asked.seq)).of(what)


def disregard(memory: Memory, said: Said) -> Step:
    """The last result is considered not made."""
    latest = memory.ledger.latest()
    if latest is None:
        return nothing_to_answer(memory, said)
    return said.of(Disregarded(latest.seq, latest.entered.item))


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


# --- commands ------------------------------------------------------------------------------


def say_again(memory: Memory, said: Said) -> Step:
    """Repeat all that was said last (ICAO: repeat all of your last transmission)."""
    return Step(say=memory.said)


def where(memory: Memory, said: Said) -> Step:
    """Tell the last confirmed item and the next one."""
    return Step(say=(spoken.where(memory), *spoken.pending(memory)))


def what_is_open(memory: Memory, said: Said) -> Step:
    """Tell how many items are open, and the first few."""
    if not memory.ledger.open:
        return Step(say=(Say("all-closed"), *spoken.pending(memory)))
    return Step(say=(spoken.open_items(memory, "open"), *spoken.pending(memory)))


def going_on_already(memory: Memory, said: Said) -> Step:
    """ "Going on" while nobody stands by: tell where the walk is."""
    says = Say("going-on", spoken.last_and_next(memory))
    return Step(say=(says, *spoken.pending(memory)))


def plain_command(memory: Memory, said: Said) -> Step:
    """The command is kept as such."""
    return said.of(Commanded(said.meaning.command))


def next_item(memory: Memory, said: Said) -> Step:
    """Lead: name the next open item."""
    if not memory.ahead:
        return Step(say=(Say("all-closed"),))
    return said.of(Commanded(Command.NEXT.value, memory.ahead[0]))


def close(memory: Memory, said: Said) -> Step:
    """Close the walk, or name what is open and lead through it."""
    if still_open := memory.ledger.open:
        return said.of(Commanded(Command.CLOSE.value, open=still_open))
    return said.of(Closed(memory.ledger.counts(), memory.card.caution))


# --- what happens outside ------------------------------------------------------------------


def interrupted(memory: Memory, given: Interrupted) -> Step:
    """The gap is kept; whoever resumes is not standing by any more."""
    return Step((Entry(Resumed(given.gap_ms), given),))


def clock_stepped(memory: Memory, given: ClockStepped) -> Step:
    """The step is kept."""
    return Step((Entry(Stepped(given.by_ms), given),))


def device_lost(memory: Memory, given: DeviceLost) -> Step:
    """The loss is kept."""
    return Step((Entry(Lost(given.reason), given),))


def device_back(memory: Memory, given: DeviceBack) -> Step:
    """The return is kept."""
    return Step((Entry(Back(), given),))
