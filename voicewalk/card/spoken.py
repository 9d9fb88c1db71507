"""Words as they are written for speech: ways to say a thing, and what may be in a word."""

from __future__ import annotations

import re

_LETTERS = r"[^\W\d_]+"  # of any script
_PART = f"{_LETTERS}(?:'{_LETTERS})*"
_WORD = re.compile(f"{_PART}'?(?:-{_PART})*")


def ways(text: str) -> tuple[str, ...]:
    """The ways to say one thing, written "first / second": the first is its name."""
    return tuple(" ".join(way.split()) for way in text.split("/"))


def fold(name: str) -> str:
    """What a listener cannot tell apart in writing: hyphens, apostrophes and case dropped."""
    return " ".join(name.lower().replace("-", " ").replace("'", "").split())


def unknown_words(phrase: str) -> list[str]:
    """The words of ``phrase`` that cannot be spoken as written; [""] where it is empty."""
    words = phrase.split()
    return [word for word in words if not _speakable(word)] if words else [""]


def _speakable(word: str) -> bool:
    return _WORD.fullmatch(word) is not None and word == word.lower()


def slug(name: str) -> str:
    """An id from a spoken name: "main tyre pressure" is "main-tyre-pressure"."""
    return fold(name).replace(" ", "-")
