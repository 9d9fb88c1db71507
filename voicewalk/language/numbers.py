"""Spoken English numbers, words to values and values to words.

Strict: words that the grammar does not hold are refused with the reason, never guessed. The
grammar itself is ``number_grammar``; units are ``units``; splitting and lower-casing text is
the caller's. Values are non-negative decimals below 100,000 that keep the decimal places as
they were said ("three point five zero" is 3.50).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from voicewalk.errors import NumberError
from voicewalk.language import number_grammar as grammar

_STEPS = grammar.number_steps(decimals=True, fractions=True)
NUMBER_WORDS = frozenset(word for by_word in _STEPS.steps.values() for word in by_word)

_LARGER = NUMBER_WORDS - {*grammar.DIGITS, *grammar.POINT, "and", "a"}

PLAIN_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_WRITTEN_DIGITS = {str(digit): word for digit, word in enumerate(PLAIN_DIGITS)}
_BELOW_TWENTY = (*PLAIN_DIGITS, *grammar.TEENS)
_TENS = tuple(grammar.TENS)
_WRITTEN = re.compile(r"(?:[0-9]{1,5}|[0-9]{1,2},[0-9]{3})(?:\.[0-9]{1,3})?")
_MOST_FORMS = 12
_MOST_RIVALS = 24

# Number words that are taken for one another. Teens and tens, a lost end ("eighty", "eight") and
# five, nine and one: the last three are why radiotelephony says "fife" and "niner" (FAA AIM
# table 4-2-2 gives the pronunciation, not the reason).
SOUND_ALIKE: dict[str, tuple[str, ...]] = {
    "thirteen": ("thirty",), "thirty": ("thirteen",),
    "fourteen": ("forty",), "forty": ("fourteen", "four"),
    "fifteen": ("fifty",), "fifty": ("fifteen",),
    "sixteen": ("sixty",), "sixty": ("sixteen", "six"),
    "seventeen": ("seventy",), "seventy": ("seventeen", "seven"),
    "eighteen": ("eighty",), "eighty": ("eighteen", "eight"),
    "nineteen": ("ninety",), "ninety": ("nineteen", "nine"),
    "five": ("nine",), "fife": ("nine",), "nine": ("five", "one"), "niner": ("five",),
    "one": ("nine",),
}  # fmt: skip

_TENS_OF = {
    teen: ten
    for teen, ten in zip(tuple(grammar.TEENS)[3:], tuple(grammar.TENS)[1:], strict=True)
}  # fmt: skip
"""For each teen, from thirteen on, the tens it is taken for."""

Words = tuple[str, ...]


def teens_for_tens(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether two wordings differ in that one says teens where the other says tens."""

    def said(words: Sequence[str]) -> list[str]:
        return [word for word in words if word in _TENS_OF or word in grammar.TENS]

    ours, theirs = said(one), said(other)
    return ours != theirs and (
        [_TENS_OF.get(word, word) for word in ours] == [_TENS_OF.get(word, word) for word in theirs]
    )


def parse_number(words: Sequence[str]) -> Decimal:
    """The value of spoken or written number words, all of them.

    Args:
        words: lower-case words ("two", "one", "zero"); a written digit may stand for its word
            ("2", "hundred"), a longer written number only alone ("210", "1,800", "3.5"), whole
            or in single signs ("3", ".", "5").

    Raises:
        NumberError: with the reason; nothing is guessed.
    """
    if not words:
        raise NumberError("no words")
    written = "".join(words)
    if (len(words) == 1 or len(words) == len(written)) and _WRITTEN.fullmatch(written):
        return Decimal(written.replace(",", ""))
    live: list[tuple[str, Decimal]] = [(grammar.START, Decimal(0))]
    for position, word in enumerate(words):
        spoken = _WRITTEN_DIGITS.get(word, word)
        live = [
            (step.dst, value * step.times + step.plus)
            for state, value in live
            for step in _STEPS.steps.get(state, {}).get(spoken, ())
        ]
        if not live:
            raise NumberError(_refusal(words, position, spoken))
    for state, value in live:
        if state in _STEPS.finals:  # at most one is: the tests prove the grammar unambiguous
            return value
    raise NumberError(f"'{' '.join(words)}' breaks off")


def _refusal(words: Sequence[str], position: int, spoken: str) -> str:
    if spoken not in NUMBER_WORDS:
        return f"'{words[position]}' is not a number word"
    if position == 0:
        return f"a number cannot begin with '{words[0]}'"
    return f"'{words[position]}' cannot follow '{' '.join(words[:position])}'"


def only_digits(words: Sequence[str]) -> bool:
    """Whether a number among ``words`` is said digit by digit: no tens, hundreds or fractions."""
    return not _LARGER.intersection(words)


def digits_aloud(value: Decimal) -> Words:
    """The readback of a value: digit by digit, "niner" for 9, "point", never "oh".

    Raises:
        NumberError: the value is negative or not finite.
    """
    if not value.is_finite() or value.is_signed():
        raise NumberError(f"{value} cannot be read back")
    return tuple(
        "point" if sign == "." else "niner" if sign == "9" else PLAIN_DIGITS[int(sign)]
        for sign in f"{value:f}"
    )


def spoken_forms(value: Decimal, *, fractions: bool = False) -> tuple[Words, ...]:
    """The ways people say a value, digit by digit first; each parses back to it. At most 12.

    Args:
        value: 0 to 99,999 with up to three decimal places, or with a fraction of an inch.
        fractions: also give the forms in halves, quarters, eighths and sixteenths.

    Raises:
        NumberError: the value has no spoken form.
    """
    if not value.is_finite() or value.is_signed() or value >= 10**grammar.WHOLE_DIGITS:
        raise NumberError(f"{value} has no spoken form: it must be 0 to 99,999")
    whole_text, _, places = f"{value:f}".partition(".")
    forms: dict[Words, None] = {}
    if len(places) <= grammar.DECIMAL_PLACES:
        tails = [("point", *_plain(places)), ("decimal", *_plain(places))] if places else [()]
        wholes = tuple(_whole_forms(int(whole_text)))
        forms |= {(*wholes[0], *tail): None for tail in tails}
        forms |= {(*whole, *tails[0]): None for whole in wholes}
    if fractions:
        forms |= dict.fromkeys(_fraction_forms(value))
    if not forms:
        raise NumberError(f"{value} has no spoken form: too many decimal places")
    return tuple(forms)[:_MOST_FORMS]


def _plain(digits: str) -> Words:
    return tuple(PLAIN_DIGITS[int(digit)] for digit in digits)


def _below_hundred(number: int) -> Words:
    if number < 20:
        return (_BELOW_TWENTY[number],)
    tens, ones = divmod(number, 10)
    return (_TENS[tens - 2], *((PLAIN_DIGITS[ones],) if ones else ()))


def _joined(head: Words, rest: int) -> Iterator[Words]:
    """``head`` and a rest below 100, with and without "and"."""
    if rest:
        yield (*head, "and", *_below_hundred(rest))
        yield (*head, *_below_hundred(rest))
    else:
        yield head


def _cardinals(number: int) -> Iterator[Words]:
    thousands, rest = divmod(number, 1000)
    hundreds, last = divmod(rest, 100)
    head: Words = (*_below_hundred(thousands), "thousand") if thousands else ()
    if hundreds:
        head = (*head, PLAIN_DIGITS[hundreds], "hundred")
    if head:
        yield from _joined(head, last)
    else:
        yield _below_hundred(number)


def _whole_forms(number: int) -> Iterator[Words]:
    """Digit by digit with its variants, cardinals, group form, thousands digit by digit."""
    digits = _plain(str(number))
    yield digits
    if "nine" in digits:
        yield tuple("niner" if word == "nine" else word for word in digits)
    yield from _cardinals(number)
    if number >= 100 and "zero" in digits:
        yield tuple("oh" if word == "zero" else word for word in digits)
    first, last = divmod(number, 100)
    if 1 <= first <= 99 and last >= 10:
        yield (*_below_hundred(first), *_below_hundred(last))
    elif 10 <= first <= 99 and last:
        yield (*_below_hundred(first), "oh", *_below_hundred(last))
    if 10 <= first <= 99 and first % 10:
        yield from _joined((*_below_hundred(first), "hundred"), last)
    thousands, rest = divmod(number, 1000)
    if thousands >= 10 and rest % 100 == 0:
        hundreds = (PLAIN_DIGITS[rest // 100], "hundred") if rest else ()
        yield (*_plain(str(thousands)), "thousand", *hundreds)


def _fraction_forms(value: Decimal) -> Iterator[Words]:
    whole = int(value)
    part = Fraction(value) - whole
    if part.denominator not in grammar.DENOMINATORS or whole > 99:
        return
    name = grammar.DENOMINATORS[part.denominator][part.numerator > 1]
    head: Words = (*_below_hundred(whole), "and") if whole else ()
    yield (*head, *_below_hundred(part.numerator), name)
    if part.numerator == 1:
        yield (*head, "a", name)
    if value == Decimal("0.5"):
        yield (name,)


def rivals(words: Sequence[str]) -> tuple[Words, ...]:
    """Number words close to these with another value, the likeliest mistakes first. At most 24.

    One word is exchanged for a sound-alike (teens against tens, five, nine and one), dropped
    (one of two equal digits, any), or doubled; or the beginning or the end is lost. Each
    parses, and no two have the same value.

    Raises:
        NumberError: ``words`` are no number themselves.
    """
    value = parse_number(words)
    if not all(word.isalpha() for word in words):
        words = spoken_forms(value)[0]
    found: dict[Decimal, Words] = {}
    for edited in _edits(tuple(words)):
        try:
            rival = parse_number(edited)
        except NumberError:
            continue
        if rival != value:
            found.setdefault(rival, edited)
    return tuple(found.values())[:_MOST_RIVALS]


def _edits(words: Words) -> Iterator[Words]:
    places = range(len(words))
    tens = {*grammar.TEENS, *grammar.TENS}
    repeated = [at for at in places[1:] if words[at] == words[at - 1]]
    for at in sorted(places, key=lambda at: words[at] not in tens):
        for other in SOUND_ALIKE.get(words[at], ()):
            yield (*words[:at], other, *words[at + 1 :])
    for at in dict.fromkeys((*repeated, *places)):
        yield words[:at] + words[at + 1 :]
    for at in places:
        yield words[at:]
        yield words[: len(words) - at]
    for at in dict.fromkeys((*repeated, *places)):
        yield (*words[:at], words[at], *words[at:])
