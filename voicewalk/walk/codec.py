"""Inputs of the walk as JSON and back, for ``body["input"]`` of the record's entries.

Only inputs that can lead to an entry are written: the record's own answers and the end of a
prompt never do.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import cast

from voicewalk.language.meaning import Meaning
from voicewalk.walk.messages import (
    INSPECTOR,
    SECOND,
    Call,
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Input,
    Interrupted,
    Json,
    RemarkSpoken,
    SoundLost,
    Start,
    Tick,
    Unclear,
)

_TYPES: dict[str, type[Input]] = {
    "start": Start,
    "call": Call,
    "unclear": Unclear,
    "remark": RemarkSpoken,
    "tick": Tick,
    "interrupted": Interrupted,
    "clock-stepped": ClockStepped,
    "device-lost": DeviceLost,
    "device-back": DeviceBack,
    "sound-lost": SoundLost,
}
_NAMES = {type_: name for name, type_ in _TYPES.items()}

_LEFT_OUT: Json = {
    "boot": "",
    "earlier": {},
    "age_ms": 0,
    "second": "",
    "by": INSPECTOR,
    "asked": None,
    "device": "",
    "rate": 0,
}
"""Fields that are left out where they say just this: older records have none of them."""


def encode(given: Input) -> Json:
    """``given`` as a JSON object. ``RuntimeError`` for an input that is never recorded."""
    if type(given) not in _NAMES:
        raise RuntimeError(f"never recorded: {type(given).__name__}")
    written = {field.name: _written(getattr(given, field.name)) for field in fields(given)}
    told = {name: value for name, value in written.items() if _LEFT_OUT.get(name) != value}
    return {"type": _NAMES[type(given)], **told}


def decode(data: object) -> Input:
    """The inverse of ``encode``. Raises ``ValueError`` on anything that it did not write."""
    given = dict(_mapping(data))
    name = given.pop("type", None)
    if not isinstance(name, str) or name not in _TYPES:
        raise ValueError(f"unknown type of input: {name!r}")
    wanted = {field.name for field in fields(_TYPES[name])}
    if set(given) | (wanted & _LEFT_OUT.keys()) != wanted:
        raise ValueError(f"the input '{name}' has the fields {sorted(given)}, not {sorted(wanted)}")
    make = cast(Callable[..., Input], _TYPES[name])
    return make(**{key: _READERS.get(key, _text)(value) for key, value in given.items()})


def _written(value: object) -> object:
    """A field's value; candidates and meanings are the only ones that are no JSON yet."""
    if isinstance(value, Meaning):
        return value.to_json()
    if isinstance(value, tuple):
        return [{"meaning": meaning.to_json(), "words": words} for meaning, words in value]
    return value


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"no text: {value!r}")
    return value


def _number(value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError(f"no whole number: {value!r}")
    return value


def _speaker(value: object) -> str:
    if value not in (INSPECTOR, SECOND):
        raise ValueError(f"nobody who speaks: {value!r}")
    return _text(value)


def _mapping(value: object) -> Json:
    if not isinstance(value, Mapping):
        raise ValueError(f"no object: {value!r}")
    return cast(Json, value)


def _meaning(value: object) -> Meaning:
    return Meaning.from_json(_mapping(value))


def _candidates(value: object) -> tuple[tuple[Meaning, str], ...]:
    if not isinstance(value, list):
        raise ValueError(f"no list: {value!r}")
    found = [_mapping(candidate) for candidate in value]
    if any(set(candidate) != {"meaning", "words"} for candidate in found):
        raise ValueError("a candidate has a meaning and words, and nothing else")
    return tuple((_meaning(one["meaning"]), _text(one["words"])) for one in found)


_READERS: dict[str, Callable[[object], object]] = {
    "meaning": _meaning,
    "candidates": _candidates,
    "heard": _mapping,
    "gap_ms": _number,
    "by_ms": _number,
    "lost_ms": _number,
    "before": _number,
    "by": _speaker,
    "age_ms": _number,
    "rate": _number,
    "earlier": _mapping,
}
