"""Wordings: the words a call was heard in, kept apart from what they mean.

One meaning has many wordings ("two one zero", "two hundred ten"). Each listener scores
wordings; the judge compares meanings by the best wording each has.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby, islice, product

from voicewalk.language.graph import Arc, PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.numbers import parse_number, rivals, spoken_forms
from voicewalk.language.tags import meaning_of

_NUMBER_SLOTS = ("number", "size")
_RIVALS = 10
"""Numbers tried beside a number; ``rivals`` gives the likeliest mistakes first."""

_FORMS = 6
"""Spoken forms tried of a number that was written in digits."""


@dataclass(frozen=True, slots=True)
class Part:
    """A run of words; ``number`` where they are a spoken number."""

    words: tuple[str, ...]
    number: bool


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
    choices = [_parts(number, [*run]) for number, run in groupby(arcs, _is_number)]
    return Guess(meaning, tuple(islice(product(*choices), _FORMS)), score)


def _is_number(arc: Arc) -> bool:
    return any(slot in _NUMBER_SLOTS for slot, _ in arc.tags)


def _parts(number: bool, arcs: list[Arc]) -> list[Part]:
    words = tuple(arc.word for arc in arcs)
    if any(arc.written for arc in arcs):
        return [Part(form, True) for form in spoken_forms(parse_number(words))]
    return [Part(words, number)]


def spoken(wording: Wording) -> tuple[str, ...]:
    """The words of a wording in a row."""
    return tuple(word for part in wording for word in part.words)


def in_digits(wording: Wording) -> list[str]:
    """The words of a wording with its numbers written in digits, each one said: "3.50"."""
    words: list[str] = []
    for part in wording:
        if part.number:
            words.append(format(parse_number(part.words), "f"))
        else:
            words.extend(part.words)
    return words


_OPPOSITES = {
    "left": "right",
    "right": "left",
    "on": "off",
    "off": "on",
    "inboard": "outboard",
    "outboard": "inboard",
}


def near_wordings(wording: Wording) -> list[Wording]:
    """Wordings that sound much like this one and mean something else: the other side, one
    "not" or "un-" more or less, and the numbers that are mistaken for one another. Many are no
    calls: the graph tells."""
    near: list[Wording] = []
    for at, part in enumerate(wording):
        before, after = wording[:at], wording[at + 1 :]
        ways = rivals(part.words)[:_RIVALS] if part.number else _near_words(part.words)
        near += [(*before, Part(words, part.number), *after) for words in ways]
    return [tuple(part for part in way if part.words) for way in near]


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
