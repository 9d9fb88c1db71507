"""From the tags along a path to the meaning of the call.

The slots: ``act``, ``item``, ``group``, ``state``, ``unit``, ``defect``, ``place``, ``size_unit``,
``reason``, ``side``, ``choice``, ``command``, ``owner``, ``corrects``; and ``number`` and
``size``, each of whose tags brings one word of a spoken number; ``sign``, a minus before it;
``spelled``, each of whose tags brings one letter or digit of an identity; and ``own_unit``, the
unit of the item named, which decides what a word means that several units share ("pounds"). A
place before a defect and another after it are both kept ("upper crack leading edge"). ``talk`` is
on the words that make talk of a call, and ``mixed`` on what follows a whole call: neither leaves
anything of a result in the meaning.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from voicewalk.errors import NumberError
from voicewalk.language.graph import Tag
from voicewalk.language.meaning import NO_CALL, Act, Meaning
from voicewalk.language.numbers import parse_number

_NUMBERS = {"number": "value", "size": "size"}


def meaning_of(tags: Iterable[Tag]) -> Meaning | None:
    """The meaning of a path's tags, or ``None`` where its number words make no number."""
    slots: dict[str, str] = {}
    words: dict[str, list[str]] = {}
    for slot, value in tags:
        if slot == "mixed":
            slots["act"] = Act.MIXED
            break  # what follows is of another call, or takes this one back
        if slot in _NUMBERS:
            words.setdefault(slot, []).append(value)
        elif slot == "spelled":
            slots["value"] = slots.get("value", "") + value
        elif slot == "place" and slots.get(slot, value) != value:
            slots[slot] = f"{slots[slot]} {value}"
        else:
            slots[slot] = value
    act = Act.TALK if "talk" in slots else Act(slots.pop("act"))
    if act in NO_CALL:
        return Meaning(act, item=slots.get("item", ""), group=slots.get("group", ""))
    try:
        for slot, spoken in words.items():
            slots[_NUMBERS[slot]] = plain(parse_number(spoken))
    except NumberError:
        return None
    if slots.pop("sign", "") and slots.get("value", "0") != "0":
        slots["value"] = f"-{slots['value']}"
    own = slots.pop("own_unit", "")
    if own in slots.get("unit", "").split("/"):
        slots["unit"] = own
    corrects = bool(slots.pop("corrects", ""))
    return Meaning(act=act, corrects=corrects, **slots)


def plain(value: Decimal) -> str:
    """A decimal in plain notation without needless zeros: 210, 3.5, 0.25."""
    text = format(value, "f")
    return (text.rstrip("0").rstrip(".") or "0") if "." in text else text
