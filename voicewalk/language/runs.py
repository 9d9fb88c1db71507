"""Finds the numbers within a row of words."""

from __future__ import annotations

from collections.abc import Sequence

from voicewalk.errors import NumberError
from voicewalk.language.numbers import parse_number


def number_runs(words: Sequence[str]) -> list[tuple[int, int]]:
    """Where numbers begin and end in ``words``, spoken or written; each as long as can be, from
    the left. The end is exclusive."""
    runs: list[tuple[int, int]] = []
    at = 0
    while at < len(words):
        ends = (end for end in range(len(words), at, -1) if _is_number(words[at:end]))
        end = next(ends, None)
        if end is not None:
            runs.append((at, end))
        at = end or at + 1
    return runs


def _is_number(words: Sequence[str]) -> bool:
    try:
        parse_number(words)
    except NumberError:
        return False
    return True
