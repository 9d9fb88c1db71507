"""Canonical JSON (RFC 8785): one value, one sequence of bytes.

Pure. What a body means is ``record.body``'s; how entries are chained is ``record.chain``'s.
"""

from __future__ import annotations

import json
from typing import NoReturn

import rfc8785

from voicewalk.walk.messages import Json


def canonical(value: object) -> bytes:
    """The RFC 8785 form of a JSON value, UTF-8.

    Raises:
        ValueError: for a value that has none: a whole number from 2**53 on, NaN, half of a
            surrogate pair, a key that is no string, anything that is not JSON.
    """
    return rfc8785.dumps(value)  # type: ignore[arg-type]  # its own checks are the stricter ones


def read_canonical(data: bytes) -> Json:
    """Read an object back; refuse any bytes that ``canonical`` would not have written.

    Duplicate keys, blanks, another order of keys and other spellings of a number or a letter
    all fail the comparison of the bytes.

    Raises:
        ValueError: the bytes are not the canonical form of an object.
    """
    try:
        text = data.decode("utf-8")
        value = json.loads(text, parse_int=_number, parse_constant=_no_constant)
        same = canonical(value) == data
    except RecursionError:  # a body nested thousands deep is nothing that a walk wrote
        raise ValueError("it is nested too deeply") from None
    if not same:
        raise ValueError("it is JSON, but not in its canonical form")
    if not isinstance(value, dict):
        raise ValueError("it is no JSON object")
    return value


def _number(digits: str) -> int | float:
    """RFC 8785 section 3.2.2.3: every number is a double; only below 2**53 is each whole."""
    return int(digits) if len(digits) < 16 or abs(float(digits)) < 2**53 else float(digits)


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON")
