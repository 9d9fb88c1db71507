"""The second chance by talk: what follows from an answer to an unclear call that was asked back.

Pure. The tool reads at most two meanings of one call aloud, ever: never a third guess. An answer
that brings no nearer is a failure: an unclear one, "negative", or a call that agrees with nothing
that was read. After two failures the call is asked for in another way, after three it is given
up. Which call an answer picks is ``questions.narrow``'s; reasons stand in docs/decisions/0006.
"""

from __future__ import annotations

from dataclasses import replace

from voicewalk.card.model import Kind
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.language.numbers import only_digits
from voicewalk.walk import rules
from voicewalk.walk.entries import AskedBack, Dropped
from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import Json, Unclear
from voicewalk.walk.questions import Question, group_of, in_context, is_bare, narrow
from voicewalk.walk.terms import Ask, Utterance, Way

GUESSES = 2
"""Meanings of one call read aloud: whoever heard two wrong ones trusts no third."""

OTHER_WAY = 2
"""After so many failures the call is asked for in another way: what failed twice fails again."""

GIVEN_UP = 3
"""After so many it is given up: the item stays open, and the walk goes on."""

Outcome = AskedBack | Dropped | Utterance
"""An entry; or the call that has been said again and counts as understood."""


def tried(memory: Memory) -> Question | None:
    """The unclear call that the caller is being asked for."""
    asked = memory.asked
    return asked if asked and asked.ask is Ask.HEARD else memory.tried


def picked(memory: Memory, said: Meaning) -> Utterance | None:
    """The call asked about that ``said`` tells."""
    asked = memory.asked
    return narrow(memory.card, asked.calls, said) if asked and asked.ask is Ask.HEARD else None


# --- an answer that was understood -----------------------------------------------------------


def unspelt(call: Question, whole: Utterance) -> bool:
    """Whether digits were asked for, and the number was said in another way."""
    number = whole.meaning.act in (Act.READING, Act.COUNT)
    return call.way is Way.DIGITS and number and not only_digits(whole.words.split())


def denied(memory: Memory, call: Question) -> AskedBack | Dropped:
    """What follows from "negative"."""
    return _failed(memory, call, (), denied=call.calls)


def doubt(
    memory: Memory, call: Question, said: Meaning, whole: Utterance, heard: Json
) -> AskedBack | Dropped | None:
    """What follows from an answer that picks no call, where it may not be taken as a result.

    Args:
        said: the answer as it was understood.
        whole: the same in the light of the question.
        heard: its evidence; what was typed is not doubted.
    """
    if heard.get("how") == "typed" or said.corrects or said.act is Act.ITEM:
        return None
    if len(call.calls) == GUESSES and (said.act is Act.SIDE or is_bare(said)):
        return _failed(memory, call, call.calls)  # it fits both, or neither
    if said.act is Act.SIDE:
        other = _on_side(memory, call, said.side)
        return _failed(memory, call, _with(memory, call, other)) if other else None
    if not _about(memory, call, whole.meaning):
        return None
    if _among(memory, call.denied, whole.meaning):
        return _failed(memory, call, call.calls)
    known = not call.calls or _completes(memory, call.calls, whole.meaning)
    if known or not rules.careful(memory.card, whole.meaning):
        return None
    return _failed(memory, call, _with(memory, call, whole))


def _on_side(memory: Memory, call: Question, side: str) -> Utterance | None:
    """The one call asked about, of the item on the other side that was said."""
    one = next(iter(call.calls), None)
    if (
        one is None
        or not one.meaning.item
        or _OTHER.get(memory.item(one.meaning.item).side) != side
    ):
        return None
    both = memory.card.groups[memory.item(one.meaning.item).group]
    other = next(item.id for item in both if item.side == side)
    return one._replace(meaning=replace(one.meaning, item=other))


_OTHER = {"left": "right", "right": "left"}


def _about(memory: Memory, call: Question, meaning: Meaning) -> bool:
    """Whether a call is of the item asked about, or of its other side. Another item is another
    call: the caller has gone on."""
    groups = {group_of(memory.card, one.meaning) for one in call.offered}
    return group_of(memory.card, meaning) in groups - {""}


def _completes(memory: Memory, calls: tuple[Utterance, ...], meaning: Meaning) -> bool:
    """Whether ``meaning`` is one of the calls, or one of them with its side."""
    sideless = replace(meaning, item="", group=group_of(memory.card, meaning))
    return _among(memory, calls, meaning) or _among(memory, calls, sideless)


def _among(memory: Memory, calls: tuple[Utterance, ...], meaning: Meaning) -> bool:
    fitted = _fitted(memory, meaning)
    return any(_fitted(memory, one.meaning) == fitted for one in calls)


def _fitted(memory: Memory, meaning: Meaning) -> Meaning:
    plain = replace(meaning, corrects=False)
    return rules.fitted(memory.item(meaning.item), plain) if meaning.item else plain


# --- an answer that was unclear again --------------------------------------------------------


def heard_again(memory: Memory, call: Question, given: Unclear) -> Outcome | None:
    """What follows from a second unclear hearing; ``None`` where it is another command."""
    found = _in_its_light(memory, given)
    if not found:
        return _failed(memory, call, call.calls)
    best = found[0]
    if _among(memory, call.calls, best.meaning):
        return _agreed(memory, call, found, given)
    if _is_command(best) and not all(map(_is_command, call.offered)):
        return None
    if _no_call(best) or _refused(memory, call, best):
        return _failed(memory, call, call.calls)
    if call.calls:
        return _failed(memory, call, _with(memory, call, best))
    return _nearer(memory, call, (best,), given)


_ANSWERS = (Command.AFFIRM, Command.NEGATIVE)


def _is_command(call: Utterance) -> bool:
    return call.meaning.act is Act.COMMAND and call.meaning.command not in _ANSWERS


def _in_its_light(memory: Memory, given: Unclear) -> tuple[Utterance, ...]:
    """The candidates in the light of what is asked, each once."""
    calls = [Utterance(*one) for one in given.candidates]
    placed = (
        picked(memory, one.meaning) or in_context(memory.card, one, memory.asked, memory.current)
        for one in calls
    )
    return tuple(dict.fromkeys(placed))[:GUESSES]


def _no_call(best: Utterance) -> bool:
    """Whether an answer was heard that tells nothing."""
    said = best.meaning
    answers = (Act.SIDE, Act.CHOICE, Act.ACKNOWLEDGED)
    return said.act in answers or said.command in _ANSWERS or is_bare(said)


def _refused(memory: Memory, call: Question, best: Utterance) -> bool:
    """Whether ``best`` was denied, or would be a third guess."""
    new = not _among(memory, call.offered, best.meaning)
    return _among(memory, call.denied, best.meaning) or (new and len(call.offered) == GUESSES)


def _agreed(
    memory: Memory, call: Question, found: tuple[Utterance, ...], given: Unclear
) -> Outcome:
    """Both hearings have a call in common: the evidence of both counts."""
    kept = tuple(
        one for one in call.calls if any(_among(memory, (one,), other.meaning) for other in found)
    )
    if len(call.calls) == 2 and len(kept) == 1:
        return _nearer(memory, call, kept, given)
    plain = not rules.careful(memory.card, kept[0].meaning)
    return kept[0] if plain and call.alone and _alone(given) else _failed(memory, call, call.calls)


def _alone(given: Unclear) -> bool:
    """Whether a clip was heard as one call that names its item, with no other near it. One
    listener alone hears nothing so: what misleads it once misleads it again; nor is a whisper heard
    so, whose first word is lost each time."""
    said = [meaning for meaning, _ in given.candidates]
    whole = len(said) == 1 and bool(said[0].item or said[0].group)
    listeners = given.heard.get("listeners")
    single = isinstance(listeners, list) and len(listeners) == 1
    sound = given.heard.get("sound")
    notes = sound.get("notes") if isinstance(sound, dict) else None
    quiet = isinstance(notes, list) and "quiet" in notes
    return whole and given.heard.get("how") == "sound" and not single and not quiet


# --- the entries -----------------------------------------------------------------------------


def first_asked(calls: tuple[Utterance, ...], given: Unclear) -> AskedBack:
    """An unclear call is asked back for the first time."""
    return AskedBack(calls, calls, alone=_alone(given))


def _nearer(
    memory: Memory, call: Question, calls: tuple[Utterance, ...], given: Unclear
) -> AskedBack:
    """Nearer than before, and asked again."""
    offered, alone = _offered(memory, call, calls), _alone(given)
    return AskedBack(calls, offered, call.denied, call.failures, alone=alone)


def _failed(
    memory: Memory,
    call: Question,
    calls: tuple[Utterance, ...],
    denied: tuple[Utterance, ...] = (),
) -> AskedBack | Dropped:
    """No nearer than before: asked again, asked in another way, or given up."""
    failures = call.failures + 1
    beneath = any(one is not call for one in memory.questions)
    if failures == GIVEN_UP:
        reopens, left = rules.given_up(memory.card, memory.ledger, call)
        return Dropped(Ask.HEARD, call.seq, reopens, failures, left)
    alone = call.alone and calls == call.calls
    offered, refused = _offered(memory, call, calls), (*call.denied, *denied)
    back = AskedBack(calls, offered, refused, failures, alone=alone)
    return _in_another_way(memory, back) if failures == OTHER_WAY and not beneath else back


def _in_another_way(memory: Memory, back: AskedBack) -> AskedBack:
    """Two calls are numbered. One item's number is spelt, its result asked for by name: the
    call that was read is left then, so that "affirm" cannot mean it any more."""
    if len(back.candidates) == GUESSES:
        return replace(back, way=Way.CHOICE)
    items = {one.meaning.item for one in back.offered}
    if len(items) != 1 or items == {""}:
        return back
    number = any(one.meaning.value for one in back.offered)
    read = memory.item(items.pop()).kind in (Kind.READING, Kind.COUNT)
    return replace(back, candidates=(), way=Way.DIGITS if number and read else Way.DUE)


def _with(memory: Memory, call: Question, more: Utterance) -> tuple[Utterance, ...]:
    """The calls asked about and one more, where that is no third guess."""
    offered = _offered(memory, call, (*call.calls, more))
    return (*call.calls, more) if len(offered) <= GUESSES else call.calls


def _offered(memory: Memory, call: Question, calls: tuple[Utterance, ...]) -> tuple[Utterance, ...]:
    new = (one for one in calls if not _among(memory, call.offered, one.meaning))
    return (*call.offered, *new)
