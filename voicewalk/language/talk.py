"""Speech that lies near a call and is none, as a language says it: the ways, with gaps to fill.

The data lies in ``grammars/``; this module holds its shape and reads it. What fills the gaps, and
what of it is near a call of a card, is ``language.near``'s.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path

from voicewalk.card.load import FOLDERS, find
from voicewalk.card.source import Place, Source, nearest, together
from voicewalk.card.spoken import ways
from voicewalk.errors import SourceError, VoicewalkError
from voicewalk.language.scope import ENGLISH, unspeakable
from voicewalk.language.written import WrittenTalk


class Near(StrEnum):
    """In which way speech lies near a call."""

    QUESTION = "question"
    ORDER = "order"
    OPPOSITE = "opposite"
    FUTURE = "future"
    EXCEPTION = "exception"
    BEFORE = "before"  # words before a call
    INSIDE = "inside"  # words inside it
    BEHIND = "behind"  # words behind it
    TWO_CALLS = "two calls"  # in one breath: no part of it is wrong, and neither may be lost


ITEM, CALL = "ITEM", "CALL"
SAID = ("STATE", "DONE", "DOING", "PUT", "OPPOSITE", "READING", "DEFECT")
"""Gaps that are filled by what may be said of the item."""
SUBJECT = "SUBJECT"

NUMBERS = {
    "IS": "are",
    "WAS": "were",
    "HAS": "have",
    "DOES": "do",
    "LOOKS": "look",
    "SEEMS": "seem",
    "NEEDS": "need",
    "THAT": "those",
    "ISN'T": "aren't",
    "WASN'T": "weren't",
    "HASN'T": "haven't",
    "DOESN'T": "don't",
}
"""Words by what they are where the item's name is a plural; else they are said as written."""

GAP = re.compile(r"\b[A-Z]+(?:'[A-Z]+)?\b")

_ONE_IN_S = re.compile(r".*(ss|us|is)")


@dataclass(frozen=True)
class Talk:
    """The ways to speak near a call.

    Attributes:
        singular: words in -s that name one thing.
        opposites: words that mean the contrary of a word, by that word.
        positions: states into which a thing is put ("off").
        lists: words for further gaps, by the gap.
        ways: texts with gaps, by the kind of speech.
    """

    singular: frozenset[str]
    opposites: dict[str, tuple[str, ...]]
    positions: frozenset[str]
    lists: dict[str, tuple[str, ...]]
    ways: dict[Near, tuple[str, ...]]

    def is_plural(self, name: str) -> bool:
        """Whether an item of this name "are": "flight controls", "gear pins stowed"."""
        words = [word for word in name.split() if word not in ("left", "right")]
        if len(words) > 1 and words[-1].endswith("ed"):
            words.pop()
        last = words[-1] if words else name
        return last.endswith("s") and last not in self.singular and not _ONE_IN_S.fullmatch(last)


@cache
def talk_of(language: str) -> Talk:
    """The talk of a language that comes with the program.

    Raises:
        VoicewalkError: there is none.
    """
    path = find("english-talk", FOLDERS) if language == ENGLISH else None
    if path is None:
        raise VoicewalkError(
            f"there are no words for speech near a call in the language '{language}'",
            "Near calls can be drawn from a card in English only.",
        )
    return load_talk(path)


def load_talk(path: Path) -> Talk:
    """Read and check a file of talk.

    Raises:
        SourceError: the first fault, with its place; further ones are told in its message.
    """
    source = Source(path)
    written = source.read(WrittenTalk)
    if faults := list(_faults(source, written)):
        raise together(faults)
    return Talk(
        singular=frozenset(written.singular),
        opposites={word: ways(text) for word, text in written.opposites.items()},
        positions=frozenset(written.positions),
        lists={name.upper(): tuple(words) for name, words in written.lists.items()},
        ways={kind: tuple(getattr(written, _key(kind))) for kind in Near},
    )


def _key(kind: Near) -> str:
    return kind.replace(" ", "_")


def _faults(source: Source, written: WrittenTalk) -> Iterator[SourceError]:
    own = {ITEM, CALL, SUBJECT, *SAID, *NUMBERS}
    gaps = own | {name.upper() for name in written.lists}
    for name, words in written.lists.items():
        if name != name.lower() or not name.isalpha() or name.upper() in own:
            yield source.fault(
                ("lists", name),
                f"'{name}' cannot name a list",
                "Write one word in small letters, which is no gap of its own.",
            )
        yield from _unspoken(source, ("lists", name), words, written.language)
    for word, text in written.opposites.items():
        yield from _unspoken(source, ("opposites", word), [word, *ways(text)], written.language)
    for key in ("singular", "positions"):
        yield from _unspoken(source, (key,), getattr(written, key), written.language)
    for kind in Near:
        texts = getattr(written, _key(kind))
        if not texts:
            yield source.fault((_key(kind),), f"there is no way of '{kind}'", "Add one.")
        for n, text in enumerate(texts):
            yield from _faults_of(source, (_key(kind), n), kind, text, gaps, written.language)


def _faults_of(
    source: Source, place: Place, kind: Near, text: str, gaps: set[str], language: str
) -> Iterator[SourceError]:
    found = GAP.findall(text)
    for gap in found:
        if gap not in gaps:
            yield source.fault(place, f"unknown gap '{gap}'", nearest(gap, gaps))
    named = [gap for gap in found if gap in (ITEM, CALL)]
    needed = [CALL, CALL] if kind is Near.TWO_CALLS else named[:1] or [ITEM]
    if named != needed:
        yield source.fault(
            place,
            f"'{text}' names {len(named)} items",
            "Write CALL twice." if kind is Near.TWO_CALLS else "Write one ITEM or one CALL.",
        )
    yield from _unspoken(source, place, [GAP.sub("", text)], language)


def _unspoken(
    source: Source, place: Place, texts: list[str], language: str
) -> Iterator[SourceError]:
    for text in texts:
        if text.strip() and (bad := unspeakable(text, language)):
            yield source.fault(
                place,
                f"unknown word {', '.join(map(repr, bad))}",
                "Write it as it is spoken, in lower-case letters; a digit as a word ('two').",
            )
