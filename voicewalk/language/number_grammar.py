"""The grammar of spoken numbers, written down once and used twice.

The grammar is a table of rows "in this state, one of these words leads to that state and
changes the value so". Every row is an affine step (times, then plus), so a value is read off
along the way and nothing has to be put together afterwards. ``number_steps`` is that table
for reading values (``numbers.parse_number``); ``number_grammar`` is the same table without
values as the smallest deterministic acceptor, which a speech decoder can embed.

Which words may follow which is decided here. Values out of words, and words out of values,
are ``numbers``; how a word sounds is decided elsewhere.

Forms (sources stand beside the examples in the tests): digit by digit, "oh" for a zero that is
not the first; cardinals with and without "and"; the group form ("twenty nine ninety two", "two
ten"); whole thousands digit by digit ("one seven thousand niner hundred"); decimals digit by
digit; halves, quarters, eighths and sixteenths, alone or after a whole number of up to two
digits.

What is left out on purpose, because one lost or misheard word would give another value:
"a hundred" (next to "eight hundred"), ".5" without its zero ("two point five" with its first
word lost), and fractions that are not in lowest terms or not in number agreement ("two
quarter" is what is left of "two and a quarter"). A leading zero takes two more digits at most.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

WHOLE_DIGITS = 5
DECIMAL_PLACES = 3

ZERO: Mapping[str, int] = {"zero": 0}
OH: Mapping[str, int] = {"oh": 0}
ONES: Mapping[str, int] = {
    "one": 1, "two": 2, "three": 3, "tree": 3, "four": 4, "fower": 4, "five": 5, "fife": 5,
    "six": 6, "seven": 7, "eight": 8, "nine": 9, "niner": 9,
}  # fmt: skip
TEENS: Mapping[str, int] = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
    "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
}  # fmt: skip
TENS: Mapping[str, int] = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70,
    "eighty": 80, "ninety": 90,
}  # fmt: skip
DIGITS: Mapping[str, int] = {**ZERO, **OH, **ONES}
POINT: Mapping[str, int] = {"point": 0, "decimal": 0}
DENOMINATORS: Mapping[int, tuple[str, str]] = {
    2: ("half", "halves"),
    4: ("quarter", "quarters"),
    8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"),
}


@dataclass(frozen=True, slots=True)
class NumberArc:
    """From state ``src`` the word ``word`` leads to state ``dst``."""

    src: int
    dst: int
    word: str


@dataclass(frozen=True, slots=True)
class NumberGrammar:
    """A deterministic acceptor over words, without empty arcs and without dead states."""

    arcs: tuple[NumberArc, ...]
    start: int
    finals: frozenset[int]


@dataclass(frozen=True, slots=True)
class Step:
    """One word's effect while a value is read: ``value * times + plus``."""

    dst: str
    times: int
    plus: Decimal


@dataclass(frozen=True, slots=True)
class Steps:
    """The grammar with values: steps by state and word. Unambiguous, not deterministic."""

    steps: Mapping[str, Mapping[str, tuple[Step, ...]]]
    finals: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Row:
    src: str
    words: Mapping[str, int]
    dst: str
    times: int = 1
    scale: Decimal = Decimal(1)


START = "start"


def _digit_rows(whole_digits: int) -> Iterator[_Row]:
    """Digit by digit: "two one zero", "zero eight zero"."""
    yield _Row(START, ONES, "digits 1")
    yield _Row(START, ZERO, f"digits {max(1, whole_digits - 2)}")
    for count in range(1, whole_digits):
        yield _Row(f"digits {count}", DIGITS, f"digits {count + 1}", 10)


def _pair_rows(src: str, times: int) -> Iterator[_Row]:
    """The last 10 to 99 of a number."""
    yield _Row(src, TEENS, "end", times)
    yield _Row(src, TENS, "end", times)
    yield _Row(src, TENS, "last tens", times)
    yield _Row("last tens", ONES, "end")


def _cardinal_rows(whole_digits: int) -> Iterator[_Row]:
    """Cardinals, the group form, and thousands said digit by digit."""
    yield _Row(START, ONES, "unit")
    if whole_digits >= 2:
        yield _Row(START, TEENS, "pair")
        yield _Row(START, TENS, "pair")
        yield _Row(START, TENS, "tens")
        yield _Row("tens", ONES, "pair")
    if whole_digits >= 3:
        yield from _pair_rows("unit", 100)  # two ten
        yield _Row("unit", {"hundred": 0}, "hundred", 100)
        yield from _pair_rows("hundred", 1)
        yield _Row("hundred", ONES, "end")
        yield _Row("hundred", {"and": 0}, "hundred and")
        yield from _pair_rows("hundred and", 1)
        yield _Row("hundred and", ONES, "end")
    if whole_digits >= 4:
        yield from _pair_rows("pair", 100)  # twenty nine ninety two
        yield _Row("pair", {**ZERO, **OH}, "pair oh", 100)  # nineteen oh five
        yield _Row("pair oh", ONES, "end")
        yield _Row("pair", {"hundred": 0}, "hundred", 100)  # eighteen hundred
        yield _Row("unit", {"thousand": 0}, "thousand", 1000)
        yield from _pair_rows("thousand", 1)
        yield _Row("thousand", ONES, "end")
        yield _Row("thousand", ONES, "hundreds", 1, Decimal(100))
        yield _Row("hundreds", {"hundred": 0}, "hundred")
        yield _Row("thousand", {"and": 0}, "hundred and")
    if whole_digits >= 5:
        yield _Row("pair", {"thousand": 0}, "thousand", 1000)
        yield _Row("digits 2", {"thousand": 0}, "thousand", 1000)  # one two thousand


def _decimal_rows(wholes: Iterable[str]) -> Iterator[_Row]:
    """Digits after the point, digit by digit."""
    for whole in wholes:
        yield _Row(whole, POINT, "places 0")
    for place in range(DECIMAL_PLACES):
        scale = Decimal(1).scaleb(-place - 1)
        yield _Row(f"places {place}", DIGITS, f"places {place + 1}", 1, scale)


def _fraction_rows(src: str) -> Iterator[_Row]:
    """Fractions of an inch in lowest terms: "a half", "three quarters", "seven sixteenths"."""
    numerators = {"a": 1, **ONES, **TEENS}
    for denominator, (singular, plural) in DENOMINATORS.items():
        for word, numerator in numerators.items():
            if numerator % 2 and numerator < denominator:
                state = f"{numerator}/{denominator}"
                yield _Row(src, {word: numerator}, state, 1, Decimal(1) / denominator)
                yield _Row(state, {singular if numerator == 1 else plural: 0}, "fraction")


def _mixed_rows() -> Iterator[_Row]:
    """Fractions alone and after a whole number: "half", "one and three quarters"."""
    yield _Row(START, {"half": 1}, "fraction", 1, Decimal("0.5"))
    yield from _fraction_rows(START)
    for whole in ("unit", "pair"):
        yield _Row(whole, {"and": 0}, "whole and")
    yield from _fraction_rows("whole and")


@cache
def number_steps(*, decimals: bool, fractions: bool, whole_digits: int = WHOLE_DIGITS) -> Steps:
    """The grammar with values.

    Args:
        decimals: whether digits after a point may be said.
        fractions: whether fractions of an inch may be said.
        whole_digits: how many digits a whole number may have, 1 to 5, leading zeros included.
    """
    if not 1 <= whole_digits <= WHOLE_DIGITS:
        raise ValueError(f"whole_digits must be 1 to {WHOLE_DIGITS}, not {whole_digits}")
    wholes = [f"digits {count + 1}" for count in range(whole_digits)]
    wholes += ["pair", "hundred", "thousand", "end"]
    finals = {*wholes, "fraction", *(f"places {place + 1}" for place in range(DECIMAL_PLACES))}
    rows = [*_digit_rows(whole_digits), *_cardinal_rows(whole_digits)]
    if decimals:
        rows += _decimal_rows(wholes)
    if fractions:
        rows += _mixed_rows()
    steps: dict[str, dict[str, dict[Step, None]]] = defaultdict(lambda: defaultdict(dict))
    for row in rows:
        for word, value in row.words.items():
            # A dict keeps one of equal rows ("last tens" is written by every group) and the order.
            steps[row.src][word][Step(row.dst, row.times, value * row.scale)] = None
    return Steps(
        {src: {word: tuple(found) for word, found in by.items()} for src, by in steps.items()},
        frozenset(finals),
    )


_Triples = list[tuple[int, str, int]]


def _determinise(
    arcs: _Triples, starts: frozenset[int], finals: frozenset[int]
) -> tuple[_Triples, frozenset[int]]:
    """Subset construction; the new start is state 0, states are numbered as they are met."""
    out: dict[int, dict[str, set[int]]] = defaultdict(lambda: defaultdict(set))
    for src, word, dst in arcs:
        out[src][word].add(dst)
    numbers = {starts: 0}
    queue = [starts]
    made: _Triples = []
    for subset in queue:  # grows while it is read
        follow: dict[str, set[int]] = defaultdict(set)
        for state in subset:
            for word, targets in out[state].items():
                follow[word] |= targets
        for word in sorted(follow):
            target = frozenset(follow[word])
            if target not in numbers:
                numbers[target] = len(numbers)
                queue.append(target)
            made.append((numbers[subset], word, numbers[target]))
    return made, frozenset(numbers[subset] for subset in queue if subset & finals)


def _reverse_determinise(
    arcs: _Triples, start: int, finals: frozenset[int]
) -> tuple[_Triples, frozenset[int]]:
    backward = [(dst, word, src) for src, word, dst in arcs]
    return _determinise(backward, finals, frozenset({start}))


@cache
def number_grammar(
    *, decimals: bool, fractions: bool, whole_digits: int = WHOLE_DIGITS
) -> NumberGrammar:
    """The smallest deterministic acceptor of the grammar; arguments as in ``number_steps``.

    Everything that it accepts ``numbers.parse_number`` reads. Its size falls steeply with
    ``whole_digits``: give the number of digits that the item's limit needs.
    """
    table = number_steps(decimals=decimals, fractions=fractions, whole_digits=whole_digits)
    names: dict[str, int] = {START: 0}
    arcs: _Triples = []
    for src, by_word in table.steps.items():
        for word, steps in by_word.items():
            for step in steps:
                ends = [names.setdefault(name, len(names)) for name in (src, step.dst)]
                arcs.append((ends[0], word, ends[1]))
    finals = frozenset(number for name, number in names.items() if name in table.finals)
    # Brzozowski: reversing and determinising twice leaves the minimal acceptor.
    for _ in range(2):
        arcs, finals = _reverse_determinise(arcs, 0, finals)
    return NumberGrammar(tuple(NumberArc(src, dst, word) for src, word, dst in arcs), 0, finals)
