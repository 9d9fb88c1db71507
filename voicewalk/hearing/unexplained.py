"""What was said and a call does not explain: letters left over, and words that deny or ask.

A closed vocabulary always hears something. "Is the fuel cap secure" and "fuel cap secure, no" fit
"fuel cap secure" well, and what does not fit is little beside it, so it is counted by itself,
as an absolute amount: the length of a call excuses nothing. Pure; the words are data.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voicewalk.hearing.evidence import AROUND

Floats = NDArray[np.float32]

DOUBTS = Path(__file__).with_name("doubts.txt")

_OPEN, _EXTEND, _OTHER = 1.0, 0.7, 1.0
"""Costs of leaving letters over, the first and each further one, and of another letter in the
place of one: letters left over lie together, as words do."""

_RATE = 16_000
_LEAD = 3200
"""Samples, 0.2 s: so early a word may begin to sound before its first letter is heard."""

_STEP = 320
"""Samples, 20 ms: in such stretches sound is compared with the words."""

_LOUD_DB, _OVER_NOISE_DB = -12.0, 6.0
"""Against the mean of the words: their vowels, and no breath; and against what sounds before them,
which is noise."""

_SPELT = re.compile(r"\b[a-z](?: [a-z])+\b")
"""Letters said one by one, as in "p s i"."""

_KIND = re.compile(r"\[(\w+)\]")


@dataclass(frozen=True, slots=True)
class Leftover:
    """What a free text holds beyond a wording.

    Attributes:
        before, inside, behind: letters of the text before, within and behind the wording.
        lost: letters of the wording that the text has not, or has otherwise.
    """

    before: int
    inside: int
    behind: int
    lost: int

    @property
    def letters(self) -> int:
        """All letters left over."""
        return self.before + self.inside + self.behind


@lru_cache(maxsize=64)
def left_over(words: str, text: str) -> Leftover:
    """Compare a wording with what was heard when nothing held the listener; both lower case.

    Letters are aligned at the least cost, with gaps that cost more to open than to widen (O.
    Gotoh, "An improved algorithm for matching biological sequences", 1982).
    """
    said, heard = words.replace(" ", ""), text.replace(" ", "")
    rows, columns = len(said) + 1, len(heard) + 1
    far = float("inf")
    # Three ways to arrive: a letter against a letter, a letter heard beyond, a letter not heard.
    best = [[[far] * columns for _ in range(rows)] for _ in range(3)]
    came = [[[0] * columns for _ in range(rows)] for _ in range(3)]
    best[0][0][0] = 0.0
    for i in range(rows):
        for j in range(columns):
            steps = (
                (0, 1, 1, 0.0 if i and j and said[i - 1] == heard[j - 1] else _OTHER),
                (1, 0, 1, _EXTEND),
                (2, 1, 0, _EXTEND),
            )
            for way, down, along, cost in steps:
                if i < down or j < along:
                    continue
                for before in range(3):
                    opens = _OPEN - _EXTEND if way and way != before else 0.0
                    total = best[before][i - down][j - along] + cost + opens
                    if total < best[way][i][j]:
                        best[way][i][j], came[way][i][j] = total, before
    i, j = rows - 1, columns - 1
    way = min(range(3), key=lambda w: best[w][i][j])
    counts = Counter[str]()
    lost = 0
    while i or j:
        before = came[way][i][j]
        if way == 1:
            counts["before" if not i else "behind" if i == rows - 1 else "inside"] += 1
        elif way == 2 or said[i - 1] != heard[j - 1]:
            lost += 1
        i, j, way = i - (way != 1), j - (way != 2), before
    return Leftover(counts["before"], counts["inside"], counts["behind"], lost)


def sound_behind(
    samples: Floats, span: tuple[float, float], after: float = AROUND / 2
) -> tuple[float, float]:
    """How many seconds of the speech in a clip lie behind its words, and how many of these are as
    loud as the words, and louder than the noise before them.

    A listener that was trained to hear one voice among others leaves out the word that somebody
    else says right behind a call, and explains all that it wrote.

    Args:
        samples: mono, 16 kHz.
        span: where the words begin and end, in seconds.
        after: seconds of the clip behind the speech.
    """
    begin, end = (min(max(0, round(seconds * _RATE)), len(samples)) for seconds in span)
    words, noise = _power(samples[begin:end]), _power(samples[: max(0, begin - _LEAD)])
    rest_of_speech = max(0, len(samples) - round(after * _RATE) - end)
    steps = rest_of_speech // _STEP
    rest = samples[end : end + steps * _STEP].reshape(steps, _STEP)
    power = np.square(rest, dtype=np.float64).mean(axis=1)
    least = max(words * 10 ** (_LOUD_DB / 10), noise * 10 ** (_OVER_NOISE_DB / 10))
    loud = int((power > least).sum()) if words else 0
    return rest_of_speech / _RATE, loud * _STEP / _RATE


def _power(samples: Floats) -> float:
    return float(np.square(samples, dtype=np.float64).mean()) if len(samples) else 0.0


def words_of(text: str) -> list[str]:
    """The words of a free text, lower case, without marks."""
    return re.findall(r"[a-z]+(?:'[a-z]+)?", text.lower().replace("’", "'"))


@dataclass(frozen=True, slots=True)
class Telling:
    """A language's words that say whether a call is one.

    Attributes:
        doubtful: deny, ask, order or except.
        denying: turn a state into its opposite ("not").
        denying_ends: what further such words end in ("n't").
        undoing: turn the word they stand before into its opposite ("un").
        stating: articles and verbs by which a wording states something.
    """

    doubtful: frozenset[str]
    denying: frozenset[str]
    denying_ends: tuple[str, ...]
    undoing: tuple[str, ...]
    stating: frozenset[str]

    def denies(self, word: str) -> bool:
        """Whether a word turns a state into its opposite."""
        return word in self.denying or word.endswith(self.denying_ends)


@cache
def telling_words(path: Path = DOUBTS) -> Telling:
    """The words of a file such as ``DOUBTS``, which is of the language that the listeners and the
    calibration are of: English.

    Raises:
        KeyError: a kind of words is missing.
        ValueError: a word stands under no kind.
    """
    kinds: dict[str, list[str]] = {}
    kind: list[str] | None = None
    for line in path.read_text(encoding="utf-8").splitlines():
        word = line.strip()
        if not word or word.startswith("#"):
            continue
        if begins := _KIND.fullmatch(word):
            kind = kinds.setdefault(begins[1], [])
        elif kind is None:
            raise ValueError(f"{path}: '{word}' stands under no kind of words")
        else:
            kind.append(word)
    denying = kinds["denying"]
    return Telling(
        doubtful=frozenset(kinds["doubtful"]),
        denying=frozenset(word for word in denying if not word.startswith("-")),
        denying_ends=tuple(word[1:] for word in denying if word.startswith("-")),
        undoing=tuple(word.removesuffix("-") for word in kinds["undoing"]),
        stating=frozenset(kinds["stating"]),
    )


def doubts(words: str, texts: Iterable[str], telling: Telling | None = None) -> tuple[str, ...]:
    """Words in any free text that deny, ask, order or except, and that the wording does not hold;
    and words of the wording that a text holds in their undoing ("unlatched").

    What a wording denies may be heard in another form of it: "isn't latched" and "unlatched" leave
    nothing in doubt of "not latched".
    """
    telling = telling or telling_words()
    denies = telling.denies
    said = words_of(words)
    own, denials = Counter(said), sum(map(denies, said))
    denied = {word for before, word in pairwise(said) if denies(before)}
    undone = {f"{prefix}{word}" for word in own.keys() - denied for prefix in telling.undoing}
    undone -= own.keys() | {f"{one}{next_}" for one, next_ in pairwise(said)}  # "in place" in one
    found: dict[str, None] = {}
    for text in texts:
        heard = Counter(words_of(_unspelt(text.lower(), own)))
        more = sum(count for word, count in heard.items() if denies(word)) > denials
        for word, count in heard.items():
            if denies(word):
                doubted = more and count > own[word]
            else:
                doubted = word in telling.doubtful and count > own[word]
            if doubted or word in undone:
                found[word] = None
    return tuple(found)


def _unspelt(text: str, own: Collection[str]) -> str:
    """A text in which letters that spell a word of the wording stand as that word: the "i" of
    "p s i" is no word, the one behind it is."""

    def joined(run: re.Match[str]) -> str:
        letters = run[0].replace(" ", "")
        for word in own:
            if len(word) > 1 and (at := letters.find(word)) >= 0:
                rest = letters[:at], letters[at + len(word) :]
                return f"{' '.join(rest[0])} {word} {' '.join(rest[1])}"
        return run[0]

    return _SPELT.sub(joined, text)


def word_beyond(words: str, text: str) -> bool:
    """Whether a free text holds a whole word before or behind the wording, however short: what is
    left of an "off" by another voice may be an "o"."""
    heard = words_of(text)
    if not heard:
        return False
    left = left_over(words, " ".join(heard))
    return len(heard[0]) <= left.before or len(heard[-1]) <= left.behind


def stating(words: str, telling: Telling | None = None) -> frozenset[str]:
    """Articles and verbs by which a wording states something, as a question or a wish without its
    first word does. None where it denies something: that says more than those words could."""
    telling = telling or telling_words()
    said = words_of(words)
    return frozenset() if any(map(telling.denies, said)) else telling.stating.intersection(said)
