"""Words as they are written for speech: ways to say a thing, and what may be in a word."""

from __future__ import annotations

import re

_WORD = re.compile(r"[a-z]+(?:'[a-z]+)*'?(?:-[a-z]+(?:'[a-z]+)*)*")


def ways(text: str) -> tuple[str, ...]:
    """The ways to say one thing, written "first / second": the first is its name."""
    return tuple(" ".join(way.split()) for way in text.split("/"))


def fold(name: str) -> str:
    """What a listener cannot tell apart in writing: hyphens, apostrophes and case dropped."""
    return " ".join(name.lower().replace("-", " ").replace("'", "").split())


def unknown_words(phrase: str) -> list[str]:
    """The words of ``phrase`` that cannot be spoken as written; [""] where it is empty."""
    words = phrase.split()
    return [word for word in words if not _WORD.fullmatch(word)] if words else [""]


def slug(name: str) -> str:
    """An id from a spoken name: "main tyre pressure" is "main-tyre-pressure"."""
    return fold(name).replace(" ", "-")
