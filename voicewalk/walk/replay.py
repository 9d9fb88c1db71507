"""Plays a record into a fresh machine, which must reproduce it entry by entry.

Pure: entries in, a machine out that goes on from there. Reading the file, its hash chain and
its signatures are ``record``'s.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator

from voicewalk.card.model import Card
from voicewalk.errors import RecordError
from voicewalk.language.meaning import Expectation
from voicewalk.settings import WalkSettings
from voicewalk.walk.codec import decode
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import Append, Appended, AppendFailed, Effect, Json, Listen
from voicewalk.walk.words import Words


class ReplayMismatch(RecordError):  # noqa: N818 - it names a finding about the record
    """An entry that the machine does not reproduce exactly.

    Attributes:
        seq: its number in the record.
    """

    def __init__(self, seq: int, message: str) -> None:
        """Of the entry ``seq``; ``message`` says what differs."""
        super().__init__(
            f"entry {seq} is not reproduced: {message}",
            "Do not go on with this record: keep the file as it is, check it with "
            "'voicewalk verify', use the card and the version it was made with, or begin a "
            "new walk.",
        )
        self.seq = seq


def replay(
    card: Card,
    entries: Iterable[tuple[int, Json]],
    settings: WalkSettings,
    words: Words | None = None,
) -> Walk:
    """A walk that has kept ``entries`` (number and body, in order) and is read back in ``words``.

    Where the program stopped between two entries of one input, the second is still to be kept:
    the machine hands it out again when it receives ``Interrupted``.

    Raises:
        ReplayMismatch: at the first entry that is not reproduced exactly.
    """
    walk = Walk(card, settings, words)
    for _ in listened(walk, entries):
        pass
    return walk


def listened(walk: Walk, entries: Iterable[tuple[int, Json]]) -> Iterator[tuple[int, Listen]]:
    """Play entries into a fresh walk; gives each entry's number with what the walk would have
    understood just before its input.

    Raises:
        ReplayMismatch: as ``replay``, when its turn comes.
    """
    effects: tuple[Effect, ...] = ()
    listen = Listen(Expectation())
    for seq, body in entries:
        before = listen
        try:
            append = _append(effects) or _append(walk.receive(decode(body.get("input"))))
            _compare(seq, append, body)
            effects = walk.receive(Appended(seq))
        except ArithmeticError as error:
            raise ReplayMismatch(seq, "a value is no number") from error
        # Whatever else a damaged or foreign body leads to in the machine is a mismatch too.
        except (ValueError, RuntimeError, LookupError, TypeError) as error:
            raise ReplayMismatch(seq, str(error)) from error
        listen = next((one for one in reversed(effects) if isinstance(one, Listen)), listen)
        yield seq, before
    if _append(effects):
        walk.receive(AppendFailed("the program stopped"))


def _append(effects: tuple[Effect, ...]) -> Append | None:
    return next((effect for effect in effects if isinstance(effect, Append)), None)


def _compare(seq: int, append: Append | None, body: Json) -> None:
    if append is None:
        raise ReplayMismatch(seq, "its input leads to no entry")
    made = append.body
    different = [key for key in sorted({*made, *body}) if _text(made, key) != _text(body, key)]
    if different:
        raise ReplayMismatch(seq, f"different in {', '.join(different)}")


def _text(body: Json, key: str) -> str:
    """A field so that 1, 1.0 and true are three different things."""
    return json.dumps(body[key], sort_keys=True) if key in body else ""
