"""Wordings: the words a call was heard in, kept apart from what they mean.

One meaning has many wordings ("two one zero", "two hundred ten"). Each listener scores
wordings; the judge compares meanings by the best wording each has.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, islice, product

from rapidfuzz.distance import Levenshtein

from voicewalk.errors import NumberError
from voicewalk.language.graph import Arc, PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.number_grammar import DIGITS
from voicewalk.language.numbers import PLAIN_DIGITS, parse_number, rivals, spoken_forms
from voicewalk.language.spelling import near_signs
from voicewalk.language.tags import meaning_of

_NUMBER_SLOTS = ("number", "size")
_SPELLED = "spelled"
_RIVALS = 10
"""Numbers tried beside a number; ``rivals`` gives the likeliest mistakes first."""

_FORMS = 6
"""Spoken forms tried of a number that was written in digits."""


@dataclass(frozen=True, slots=True)
class Part:
    """A run of words; ``number`` where they are a spoken number, ``signs`` where each of them is
    a letter or digit of an identity."""

    words: tuple[str, ...]
    number: bool
    signs: bool = False


Wording = tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Guess:
    """One listener's reading of a clip; ``score`` is relative to its free decoding."""

    meaning: Meaning
    wordings: tuple[Wording, ...]
    score: float


def guess_of(graph: PhraseGraph, path: Iterable[int], score: float) -> Guess | None:
    """The guess that a path through the graph stands for; ``None`` where it means nothing."""
    arcs = [graph.arcs[index] for index in path]
    tags = [tag for arc in arcs for tag in arc.tags]
    ending = graph.finals.get(arcs[-1].dst) if arcs else None
    meaning = None if ending is None else meaning_of([*tags, *ending])
    if meaning is None:
        return None
    choices = [_parts(slot, [*run]) for slot, run in groupby(arcs, _slot)]
    if not all(choices):
        return None
    return Guess(meaning, tuple(islice(product(*choices), _FORMS)), score)


def _slot(arc: Arc) -> str:
    """What the words of a run have in common: a number, signs, or nothing."""
    slots = {slot for slot, _ in arc.tags}
    return _SPELLED if _SPELLED in slots else "".join(slots & {*_NUMBER_SLOTS})


def _parts(slot: str, arcs: list[Arc]) -> list[Part]:
    """The ways to say a run of words. Two calls in one breath may hold two numbers in a row: said
    in words that is a run of words like any other, and written it has no way to be said."""
    words, written = tuple(arc.word for arc in arcs), any(arc.written for arc in arcs)
    if slot == _SPELLED:
        ways = _digits_said(words) if written else (words,)
        return [Part(way, number=False, signs=True) for way in ways]
    if slot not in _NUMBER_SLOTS:
        return [Part(words, number=False)]
    try:
        number = parse_number(words)
    except NumberError:
        return [] if written else [Part(words, number=False)]
    forms = spoken_forms(number) if written else (words,)
    return [Part(form, number=True) for form in forms]


def _digits_said(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Signs with their written digits in words; a written 9 is said in two ways."""
    for nine in ("niner", "nine") if "9" in words else ("nine",):
        said = (*PLAIN_DIGITS[:9], nine)
        yield tuple(said[int(word)] if word.isdigit() else word for word in words)


def spoken(wording: Wording) -> tuple[str, ...]:
    """The words of a wording in a row."""
    return tuple(word for part in wording for word in part.words)


def in_digits(wording: Wording) -> list[str]:
    """The words of a wording with its numbers written in digits, each one said: "3.50"."""
    words: list[str] = []
    for part in wording:
        if part.number:
            words.append(format(parse_number(part.words), "f"))
        elif part.signs:
            words.extend(_joined_digits(part.words))
        else:
            words.extend(part.words)
    return words


def _joined_digits(signs: tuple[str, ...]) -> list[str]:
    """Signs with their digits written, those that follow one another as one: "mike 07"."""
    runs = [(digit, [*run]) for digit, run in groupby(signs, DIGITS.__contains__)]
    written = (
        ("".join(str(DIGITS[word]) for word in run),) if digit else run for digit, run in runs
    )
    return [word for words in written for word in words]


_OPPOSITES = {
    "left": "right",
    "right": "left",
    "on": "off",
    "off": "on",
    "inboard": "outboard",
    "outboard": "inboard",
}


def near_wordings(wording: Wording, names: Sequence[tuple[str, ...]] = ()) -> list[Wording]:
    """Wordings that sound much like this one and mean something else: the other side, one
    "not" or "un-" more or less, the numbers that are mistaken for one another, a sign lost or
    doubled, a unit lost, and of ``names`` another one that is near. Many are no calls: the graph
    tells."""
    near: list[Wording] = []
    if len(wording) > 1 and wording[-2].number:
        near.append(wording[:-1])
    for words in _near_names(wording[0].words, names) if wording else ():
        near.append((Part(words, False), *wording[1:]))
    for at, part in enumerate(wording):
        before, after = wording[:at], wording[at + 1 :]
        if part.signs:
            ways: Iterable[tuple[str, ...]] = near_signs(part.words)
        else:
            ways = rivals(part.words)[:_RIVALS] if part.number else _near_words(part.words)
        near += [(*before, Part(words, part.number), *after) for words in ways]
    return [tuple(part for part in way if part.words) for way in near]


def _near_names(
    words: tuple[str, ...], names: Sequence[tuple[str, ...]]
) -> Iterator[tuple[str, ...]]:
    """The words with another name in the place of the one they begin with: of the same thing, by
    its last word, and with one word another, or one more or fewer. "Rear seat pin" is near "front
    seat pin"."""
    own = max((name for name in names if words[: len(name)] == name), key=len, default=())
    for name in names if own else ():
        if name != own and name[-1] == own[-1] and Levenshtein.distance(own, name) == 1:
            yield (*name, *words[len(own) :])


def _near_words(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    for at, word in enumerate(words):
        head, tail = words[:at], words[at + 1 :]
        if word == "not":
            yield (*head, *tail)
            continue
        yield (*head, "not", word, *tail)
        yield (*head, word[2:] if word.startswith("un") else f"un{word}", *tail)
        if word in _OPPOSITES:
            yield (*head, _OPPOSITES[word], *tail)
