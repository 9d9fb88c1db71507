"""Which known phrases a text is near to: typed calls with slips, and what a free decoder wrote.

Only ranks. It never makes a result: the caller sets the threshold, and what is offered must
still be parsed and judged like any call.

Some words must agree exactly, in their order, or a phrase is no match at all, however near it
looks: negations and negating prefixes, sides and other opposed directions, and numbers.
Misspelled, such a word still counts as itself where no other is meant; a misspelled number is
never read as one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from itertools import chain

from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from voicewalk.errors import NumberError
from voicewalk.language.numbers import NUMBER_WORDS, digits_aloud, parse_number
from voicewalk.language.phonetic import align, phonemes, weight

_NEGATIONS = frozenset(
    {
        "no", "not", "none", "nothing", "never", "neither", "nor", "without", "cannot", "cant",
        "dont", "doesnt", "didnt", "isnt", "arent", "wasnt", "wont", "hasnt", "couldnt",
    }
)  # fmt: skip
_DIRECTIONS = frozenset(
    {
        "left", "right", "port", "starboard", "inboard", "outboard", "inner", "outer", "inside",
        "outside", "forward", "aft", "front", "rear", "upper", "lower", "top", "bottom", "on",
        "off", "in", "out", "up", "down", "high", "low",
    }
)  # fmt: skip
_OPPOSED = _NEGATIONS | _DIRECTIONS
_NEGATING = ("un", "in", "im", "ir", "il", "dis", "non", "no", "not", "mis", "de", "under", "over")
_ARTICLES = frozenset({"the", "a", "an", "is", "are"})
# Number words that belong to a number only inside one.
_JOINING = frozenset({"and", "a", "point", "decimal"})
_COUNTING = NUMBER_WORDS - _JOINING
_TOKEN = re.compile(r"[0-9]+(?:[.,][0-9]+)*|[a-z]+")
_POOL = 50

_Number = Decimal | tuple[str, ...]  # words that make no number stand for themselves
_Items = tuple[str | _Number, ...]


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase near the text.

    Attributes:
        score: above 0, at most 1. 1 minus the mean of two distances by sound: of the whole
            texts, and of the word that is off most. 1 is the same sounds; a slip of a letter
            leaves 0.7 or more; a word too many, too few, or exchanged for an unlike one leaves
            at most about 0.5, however long the phrase. A word exchanged for one that sounds
            alike ("quality", "quantity") scores like a slip: the caller looks at the margin.
    """

    phrase: str
    score: float


def best_matches(text: str, phrases: Sequence[str], limit: int) -> list[Match]:
    """The phrases nearest to ``text`` by sound, best first, at most ``limit``.

    Phrases of score 0 are left out, among them all in which a word that must agree does not.
    The order of words counts, articles do not.
    """
    said = _items(text)
    if not said:
        return []
    known = frozenset(item for phrase in phrases for item in _items(phrase))
    pool = process.extract(
        _spelled(said), [_spelled(_items(p)) for p in phrases], scorer=fuzz.WRatio, limit=_POOL
    )
    found = []
    for _, _, place in pool:
        phrase = _items(phrases[place])
        if _must_agree(said, phrase, known) and (score := _score(said, phrase, known)) > 0:
            found.append((-score, place))
    return [Match(phrases[place], -score) for score, place in sorted(found)[:limit]]


@lru_cache(maxsize=16384)
def _items(text: str) -> _Items:
    """The words of a text, each run of number words as one number."""
    tokens = _TOKEN.findall(text.lower().replace("'", "").replace("’", ""))
    items: list[str | _Number] = []
    while tokens:
        run = _number_run(tokens)
        if run:
            items.append(_number(tuple(tokens[:run])))
        elif tokens[0] not in _ARTICLES:
            items.append(tokens[0])
        del tokens[: max(1, run)]
    return tuple(items)


def _number_run(tokens: Sequence[str]) -> int:
    """How many words at the beginning belong to a number."""
    length = 0
    for place, token in enumerate(tokens):
        if token in _COUNTING or token[0].isdigit():
            length = place + 1
        elif not (length and token in _JOINING):
            break
    return length


def _number(words: tuple[str, ...]) -> _Number:
    try:
        return parse_number(words)
    except NumberError:
        return words


def _words(item: str | _Number) -> tuple[str, ...]:
    """How an item is said, numbers digit by digit."""
    if isinstance(item, str):
        return (item,)
    return digits_aloud(item) if isinstance(item, Decimal) else item


def _spelled(items: _Items) -> str:
    return " ".join(word for item in items for word in _words(item))


def _must_agree(said: _Items, phrase: _Items, known: frozenset[str | _Number]) -> bool:
    """Whether negations, directions and numbers agree, in their order."""
    ordinary = [item for item in phrase if isinstance(item, str) and item not in _OPPOSED]
    heard: list[str | _Number] = []
    for item in said:
        if not isinstance(item, str) or item in _OPPOSED:
            heard.append(item)
        elif item not in known and all(OSA.distance(item, other) > 1 for other in ordinary):
            heard += _slip(item)
    return heard == [item for item in phrase if item not in ordinary] and not any(
        _negated(item, other)
        for item in said
        for other in ordinary
        if isinstance(item, str) and item not in phrase and other not in said
    )


@lru_cache(maxsize=4096)
def _slip(word: str) -> tuple[str, ...]:
    """The word that must agree of which this is a slip or a sound-alike, if it is one.

    "" agrees with nothing: which word is meant is open, or it is a number.
    """
    sound = phonemes(word)
    meant = [
        other
        for other in sorted(_OPPOSED | _COUNTING)
        if (len(other) > 2 and OSA.distance(word, other) <= 1) or sound == phonemes(other)
    ]
    # A slip seldom hits the first letter ("lft" is "left" and not "aft"). From memory.
    meant = [other for other in meant if other[0] == word[0]] or meant
    if len(meant) == 1 and meant[0] in _OPPOSED:
        return (meant[0],)
    return ("",) if meant else ()


def _negated(one: str, other: str) -> bool:
    """Whether one word is as near to the other's opposite as to the other itself."""
    near = min(1, OSA.distance(one, other))
    return any(
        OSA.distance(prefix + one, other) <= near or OSA.distance(one, prefix + other) <= near
        for prefix in _NEGATING
    )


def _score(said: _Items, phrase: _Items, known: frozenset[str | _Number]) -> float:
    words = [word for items in (said, phrase) for item in items for word in _words(item)]
    sounds = [phonemes(word) for word in words]
    first = sum(len(_words(item)) for item in said)
    owners = [at for at, sound in enumerate(sounds) for _ in sound]
    split = sum(map(len, sounds[:first]))
    lost, partners = [0.0] * len(words), set()
    for i, j, cost in align(tuple(chain(*sounds[:first])), tuple(chain(*sounds[first:]))):
        one = None if i is None else owners[i]
        other = None if j is None else owners[split + j]
        for word in (one, other):
            if word is not None:
                lost[word] += cost
        if one is not None and other is not None:
            partners.add((one, other))
    weights = [weight(sound) for sound in sounds]
    # A letter slipped may change the sound much ("rihgt"): then the spelling counts, but never
    # between two words of the phrases ("nose", "hose").
    for pair in partners:
        slip, meant = (words[at] for at in pair)
        if slip not in known and OSA.distance(slip, meant) == 1:
            share = 1 / max(len(slip), len(meant))
            for at in pair:
                lost[at] = min(lost[at], share * weights[at])
    worst = max(cost / heavy for cost, heavy in zip(lost, weights, strict=True))
    return 1 - (sum(lost) / sum(weights) + min(1.0, worst)) / 2
