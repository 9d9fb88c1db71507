"""Looking into the body of an entry without trusting its shape.

Pure. A body comes from a file: a field may be missing or of another type although its hash is
right. Then it counts as saying nothing. What the fields mean is told in docs/record-format.md.
"""

from __future__ import annotations

from voicewalk.walk.messages import Json

ITEM = "item"
REMARK = "remark"
STARTED = "started"
CLOSED = "closed"
ASKED_BACK = "asked back"
DISREGARDED = "disregarded"
CLOCK_STEPPED = "clock stepped"
HANDED_OVER = "handed over"
STATUS = "status"
CONFIRMATION = "confirmation"
SIGNED = "signed"
TIME_STAMPED = "time stamped"
REDACTED = "redacted"
RECOVERED = "recovered"
LOST = "lost"
HEARD = "heard and agreed"
SENT_BACK = "sent back"
LEAD_REMARK = "lead remark"
RELEASED = "released"
NOT_RELEASED = "not released"

BY_THE_LEAD = (HEARD, SENT_BACK, LEAD_REMARK, RELEASED, NOT_RELEASED)
"""Kinds by which the lead answers for a record: see ``record.review``."""
BY_OTHERS = (SIGNED, TIME_STAMPED, *BY_THE_LEAD)
"""Kinds that another recorder than the record's own may add."""
NOT_OF_THE_WALK = (SIGNED, TIME_STAMPED, *BY_THE_LEAD, REDACTED, RECOVERED)
"""Kinds that no input of the walk leads to: added about the record, most of them afterwards."""


def part(body: object, *path: str) -> Json:
    """The object at ``path``; an empty one where there is none."""
    for key in path:
        body = body.get(key) if isinstance(body, dict) else None
    return body if isinstance(body, dict) else {}


def text(body: object, *path: str) -> str:
    """The text at ``path``; "" where there is none."""
    value = part(body, *path[:-1]).get(path[-1])
    return value if isinstance(value, str) else ""


def number(body: object, *path: str) -> int:
    """The whole number at ``path``; 0 where there is none."""
    value = part(body, *path[:-1]).get(path[-1])
    return value if isinstance(value, int) and not isinstance(value, bool) else 0


def texts(body: object, *path: str) -> tuple[str, ...]:
    """The texts in the list at ``path``."""
    value = part(body, *path[:-1]).get(path[-1])
    return tuple(one for one in value if isinstance(one, str)) if isinstance(value, list) else ()


def numbers(body: object, *path: str) -> tuple[int, ...]:
    """The whole numbers in the list at ``path``."""
    value = part(body, *path[:-1]).get(path[-1])
    return tuple(one for one in value if type(one) is int) if isinstance(value, list) else ()


def kind(body: object) -> str:
    """What sort of entry it is ("item", "remark", ...)."""
    return text(body, "kind")


def of_the_walk(body: object) -> bool:
    """Whether an input of the walk led to it; else it is about the record (``NOT_OF_THE_WALK``)."""
    return kind(body) not in NOT_OF_THE_WALK


def clip_of(body: object) -> str:
    """SHA-256 (hex) of the sound that the entry's input was heard in; "" for none."""
    return text(body, "input", "heard", "clip")


def texts_of(started: object) -> dict[str, str]:
    """The files that a walk rests on, by name, each with its SHA-256 (hex): its vocabularies,
    and the card itself by the name ""."""
    card = part(started, "card")
    words = {name: text(card, "vocabularies", name) for name in part(card, "vocabularies")}
    own = text(card, "digest")
    return {**words, **({"": own} if own else {})}
