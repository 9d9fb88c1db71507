"""How names, numbers and units are said. Pure.

Numbers digit by digit are ``language.numbers``', identities ``language.spelling``'s, the list of
units is ``language.units``'.
"""

from __future__ import annotations

import re
from datetime import datetime
from decimal import Decimal

from voicewalk.language.numbers import digits_aloud
from voicewalk.language.units import UNITS

# Read as words these would be "sigh" and "sig"; "gauge" is the g of psig.
_SPELT_UNITS = {"psi": "p s i", "psig": "p s i gauge"}

_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)

_NUMBER = r"(?<![\w.])-?[0-9]+(?:\.[0-9]+)?(?![\w.]*\w)"
_NAMES = "|".join(re.escape(name) for name in sorted(UNITS, key=len, reverse=True))
_NUMBER_AND_UNIT = re.compile(rf"({_NUMBER})\s+({_NAMES})\b")
_ONLY_NUMBER = re.compile(_NUMBER)
_ONLY_SPELT = re.compile(rf"\b({'|'.join(_SPELT_UNITS)})\b")


def digits(value: str) -> str:
    """A decimal string digit by digit; ``ValueError`` where it is none."""
    if not re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", value):
        raise ValueError(f"'{value}' is no plain decimal")
    minus = ["minus"] if value.startswith("-") else []
    return " ".join([*minus, *digits_aloud(Decimal(value.lstrip("-")))])


def unit(name: str, value: str) -> str:
    """A unit's word after a number ("inches", after 1 "inch"); "" for no unit."""
    if not name:
        return ""
    words = UNITS[name].words
    said = name if name in words and Decimal(value) == 1 else words[0]
    return _SPELT_UNITS.get(said, said)


def aloud(text: str) -> str:
    """Text as it is said: plain numbers digit by digit, with their units."""
    text = _NUMBER_AND_UNIT.sub(lambda m: f"{digits(m[1])} {unit(m[2], m[1])}", text)
    text = _ONLY_NUMBER.sub(lambda m: digits(m[0]), text)
    text = _ONLY_SPELT.sub(lambda m: _SPELT_UNITS[m[1]], text)
    return " ".join(text.split())


def when(wall: str, language: str = "en") -> str:
    """A time (RFC 3339, UTC) as day, month and time: "two five november, one zero one two zulu"."""
    at = datetime.fromisoformat(wall)
    if language == "ko":
        return f"{at.month}월 {at.day}일 {at.hour}시 {at.minute}분"
    day, time = (" ".join(map(digits, text)) for text in (str(at.day), f"{at:%H%M}"))
    return f"{day} {_MONTHS[at.month - 1]}, {time} zulu"
