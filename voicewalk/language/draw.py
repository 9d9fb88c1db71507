"""Draws calls as people make them, for tests, benchmarks and practice.

Every item is as likely as any other; plain results are likelier than discrepancies, and those
than commands. Randomness is the caller's: the same generator state draws the same call.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from random import Random

from voicewalk.card.model import Card, Item, Kind
from voicewalk.language.numbers import spoken_forms
from voicewalk.language.units import UNITS
from voicewalk.language.vocabulary import Vocabulary

RESULT, DISCREPANCY, NOT_INSPECTED, COMMAND = "result", "discrepancy", "not inspected", "command"
_WEIGHTS = {RESULT: 70, DISCREPANCY: 20, NOT_INSPECTED: 4, COMMAND: 6}


def draw_call(card: Card, vocabulary: Vocabulary, random: Random) -> tuple[str, str]:
    """One call: its kind ("result", "discrepancy", "not inspected", "command") and words."""
    kind = random.choices(list(_WEIGHTS), list(_WEIGHTS.values()))[0]
    if kind == COMMAND:
        term = random.choice(list(vocabulary.commands.values()))
        return kind, random.choice(term.words)
    item = random.choice(list(card))
    name = random.choice((item.name, item.name, *item.aliases))
    if kind == DISCREPANCY and item.defects:
        return kind, f"{name} {_discrepancy(item, vocabulary, random)}"
    if kind == NOT_INSPECTED:
        reason = random.choice(random.choice(vocabulary.reasons).words)
        because = random.choice(vocabulary.because)
        return kind, f"{name} {random.choice(vocabulary.not_inspected.words)} {because} {reason}"
    return RESULT, f"{name} {_result(item, vocabulary, random)}"


def _result(item: Item, vocabulary: Vocabulary, random: Random) -> str:
    match item.kind:
        case Kind.CONDITION:
            return random.choice(vocabulary.satisfactory.words)
        case Kind.STATE:
            state = random.choice([s for s in item.states if s.good] * 3 + list(item.states))
            return random.choice((state.name, *state.words))
        case Kind.COUNT:
            count = Decimal(max(0, (item.expected or 0) + random.choice((0, 0, 0, -1, 1))))
            return " ".join(random.choice(spoken_forms(count)))
        case Kind.READING:
            forms = spoken_forms(_reading(item, random), fractions=item.unit == "inch")
            words = random.choice(forms)
            return f"{' '.join(words)} {random.choice(UNITS[item.unit].words)}"


def _reading(item: Item, random: Random) -> Decimal:
    """A value in the neighbourhood of the limit, with the digits a gauge of it would show."""
    low = item.limit.low if item.limit and item.limit.low is not None else Decimal(0)
    high = item.limit.high if item.limit and item.limit.high is not None else low * 2 + 10
    value = low + (high - low) * Decimal(random.randint(-30, 130)) / 100
    step = Decimal(5) if high >= 200 else Decimal(1) if high >= 20 else Decimal("0.25")
    return max(Decimal(0), (value / step).quantize(Decimal(1), ROUND_HALF_UP) * step)


def _discrepancy(item: Item, vocabulary: Vocabulary, random: Random) -> str:
    family = vocabulary.families[random.choice(item.defects)]
    defect = random.choice(family.defects)
    words = [random.choice(defect.words)]
    if defect.name in family.sized and family.size_units and random.random() < 0.5:
        size = random.choice(("0.5", "1", "2", "0.25", "3", "1.5"))
        unit = UNITS[random.choice(family.size_units)]
        words.append(" ".join(random.choice(spoken_forms(Decimal(size)))))
        words.append(random.choice(unit.words))
    if random.random() < 0.4:
        place = random.choice(random.choice(vocabulary.places).words)
        words.insert(random.choice((0, len(words))), place)
    return " ".join(words)
