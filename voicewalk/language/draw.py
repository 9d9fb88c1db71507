"""Draws calls as people make them, for tests, benchmarks and practice.

Every item is as likely as any other, and every kind of defect; plain results are likelier
than discrepancies, and those than commands. Rare ways of calling (a correction, a mirrored
item without its side, an answer without a name, a filler word) are drawn now and then, so
that every part of a card's graph comes up. Randomness is the caller's: the same generator
state draws the same call.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from random import Random

from voicewalk.card.model import Card, Item, Kind
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.language.numbers import spoken_forms
from voicewalk.language.parse import parse
from voicewalk.language.units import UNITS, Unit
from voicewalk.language.vocabulary import Vocabulary

RESULT, DISCREPANCY, NOT_INSPECTED, COMMAND = "result", "discrepancy", "not inspected", "command"
ANSWER = "answer"
_WEIGHTS = {RESULT: 68, DISCREPANCY: 19, NOT_INSPECTED: 4, COMMAND: 5, ANSWER: 4}

_CORRECTED, _WITHOUT_SIDE, _FILLED, _NOT_APPLICABLE = 0.03, 0.04, 0.02, 0.02
"""Shares of the rare ways among the calls in which they can be; common practice, no source."""


def draw_call(card: Card, vocabulary: Vocabulary, random: Random) -> tuple[str, str]:
    """One call: its kind ("result", "discrepancy", "not inspected", "command", "answer") and
    words. An answer names no item: it means something only where it was asked for."""
    kind = random.choices(list(_WEIGHTS), list(_WEIGHTS.values()))[0]
    if kind == COMMAND:
        return kind, _filled(_command(vocabulary, random), vocabulary, random)
    item = random.choice(_with_defects(card, random) if kind == DISCREPANCY else list(card))
    said = {DISCREPANCY: _discrepancy, NOT_INSPECTED: _not_inspected, ANSWER: _answer}
    words = said.get(kind, _result)(item, vocabulary, random)
    if kind == ANSWER:
        return kind, words
    call = f"{_name(item, random)} {words}"
    if random.random() < _CORRECTED:
        opening = random.choice(vocabulary.commands[Command.CORRECTION].words)
        return kind, f"{opening} {call}"
    return kind, _filled(call, vocabulary, random)


def asked(card: Card, graph: PhraseGraph, text: str, meaning: Meaning) -> Expectation:
    """What a walk would have to expect for ``text``, which has this meaning, to be a call: nothing
    for one that names its item, else the first item that it can answer.

    Items may have a state in common and not the words for it, so the graph of the card is asked
    too.
    """
    if meaning.act is Act.SIDE:
        return Expectation(side=True)
    if meaning.command in (Command.AFFIRM, Command.NEGATIVE):
        return Expectation(question=True)
    if meaning.item or meaning.group or meaning.act is Act.COMMAND:
        return Expectation()
    for item in card:
        if _answers(item, meaning) and parse(graph, text, (graph.entries[item.id],)):
            return Expectation(item=item.id)
    return Expectation()


def _answers(item: Item, meaning: Meaning) -> bool:
    match meaning.act:
        case Act.STATE:
            return meaning.state in {state.name for state in item.states}
        case Act.READING if meaning.unit:
            return item.unit in meaning.unit.split("/")
        case Act.READING:
            return item.kind in (Kind.READING, Kind.COUNT)
        case Act.COUNT:
            return item.kind is Kind.COUNT
        case Act.SATISFACTORY:
            return item.kind is Kind.CONDITION
    return True


def _with_defects(card: Card, random: Random) -> list[Item]:
    """The items of one kind of defect: few items have tyres, but their defects are many."""
    families = sorted({family for item in card for family in item.defects})
    family = random.choice(families)
    return [item for item in card if family in item.defects]


def _name(item: Item, random: Random) -> str:
    if item.bare_names and random.random() < _WITHOUT_SIDE:
        return random.choice(item.bare_names)
    return random.choice((item.name, item.name, *item.aliases))


def _filled(call: str, vocabulary: Vocabulary, random: Random) -> str:
    if vocabulary.fillers and random.random() < _FILLED:
        return f"{random.choice(vocabulary.fillers)} {call}"
    return call


def _command(vocabulary: Vocabulary, random: Random) -> str:
    return random.choice(random.choice(list(vocabulary.commands.values())).words)


def _answer(item: Item, vocabulary: Vocabulary, random: Random) -> str:
    """What is said to a question: which side, or how it is with the item asked for."""
    if item.bare_names and random.random() < 0.5:
        return random.choice(random.choice((vocabulary.left, vocabulary.right)).words)
    return _result(item, vocabulary, random)


def _not_inspected(item: Item, vocabulary: Vocabulary, random: Random) -> str:
    reason = random.choice(random.choice(vocabulary.reasons).words)
    because = random.choice(vocabulary.because)
    return f"{random.choice(vocabulary.not_inspected.words)} {because} {reason}"


def _result(item: Item, vocabulary: Vocabulary, random: Random) -> str:
    if random.random() < _NOT_APPLICABLE:
        return random.choice(vocabulary.not_applicable.words)
    match item.kind:
        case Kind.CONDITION:
            return random.choice(vocabulary.satisfactory.words)
        case Kind.STATE:
            state = random.choice([s for s in item.states if s.good] * 3 + list(item.states))
            return random.choice((state.name, *state.words))
        case Kind.COUNT:
            count = Decimal(max(0, (item.expected or 0) + random.choice((0, 0, 0, -1, 1))))
            number = " ".join(random.choice(spoken_forms(count)))
            return f"{random.choice(item.states).name} {number}" if item.states else number
        case Kind.READING:
            return measured(reading(item, random), UNITS[item.unit], random)
        case Kind.SERVICING:
            state = random.choice(item.states)
            quantity = measured(reading(item, random), UNITS[item.unit], random)
            return f"{random.choice((state.name, *state.words))} {quantity}"


_FRACTIONS = ("half", "quarter", "eighth", "sixteenth")


def measured(value: Decimal, unit: Unit, random: Random) -> str:
    """A number with its unit. "Half an inch", but never "three point five an inch"."""
    form = random.choice(spoken_forms(value, fractions=unit.name == "inch"))
    fraction = form[-1].startswith(_FRACTIONS)
    units = [word for word in unit.words if fraction or "an inch" not in word]
    return f"{' '.join(form)} {random.choice(units)}"


def reading(item: Item, random: Random) -> Decimal:
    """A value in the neighbourhood of the limit, with the digits a gauge of it would show."""
    low = item.limit.low if item.limit and item.limit.low is not None else Decimal(0)
    high = item.limit.high if item.limit and item.limit.high is not None else low * 2 + 10
    value = low + (high - low) * Decimal(random.randint(-30, 130)) / 100
    step = Decimal(5) if high >= 200 else Decimal(1) if high >= 20 else Decimal("0.25")
    return max(Decimal(0), (value / step).quantize(Decimal(1), ROUND_HALF_UP) * step)


_INCHES = ("0.5", "1", "2", "0.25", "3", "1.5", "0.125", "0.1875")
_MILLIMETRES = ("0.5", "1", "2", "3", "5", "8", "12", "20")


def _discrepancy(item: Item, vocabulary: Vocabulary, random: Random) -> str:
    family = vocabulary.families[random.choice(item.defects)]
    defect = random.choice(family.defects)
    words = [random.choice(defect.words)]
    if defect.name in family.sized and family.size_units and random.random() < 0.5:
        unit = UNITS[random.choice(family.size_units)]
        sizes = _INCHES if unit.name == "inch" else _MILLIMETRES
        words.append(measured(Decimal(random.choice(sizes)), unit, random))
    if random.random() < 0.4:
        place = random.choice(random.choice(vocabulary.places).words)
        words.insert(random.choice((0, len(words))), place)
    return " ".join(words)
