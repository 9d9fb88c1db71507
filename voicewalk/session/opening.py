"""Begins a walk with a new record, or opens a record and goes on with its walk."""

from __future__ import annotations

import platform
import re
import unicodedata
from dataclasses import dataclass, replace
from pathlib import Path

from voicewalk import __version__
from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Card
from voicewalk.clock import Instant
from voicewalk.errors import RecordError, VoicewalkError
from voicewalk.language.spelling import signs
from voicewalk.language.vocabulary import Vocabulary, vocabulary_of
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry
from voicewalk.record.file import ENDING, RecordFile
from voicewalk.session.clocks import wall_ms
from voicewalk.settings import WalkSettings
from voicewalk.walk.confirmations import same_person
from voicewalk.walk.earlier import Earlier
from voicewalk.walk.machine import Walk
from voicewalk.walk.memory import WalkState
from voicewalk.walk.messages import Input, Interrupted, Start
from voicewalk.walk.replay import replay
from voicewalk.walk.words import Words

PROGRAM = f"voicewalk {__version__}"

MOST_IDENTITY, MOST_NAME = 40, 100
"""Characters. An identity is read back sign by sign. Common practice, no source."""
_UNSEEN = ("Cc", "Zl", "Zp")
"""Unicode's categories of control characters and line ends."""


@dataclass(frozen=True)
class Opened:
    """A walk that can go on.

    Attributes:
        first: the input that makes it go on.
        before: when the last entry was kept, with the boot of that time; ``None`` before any.
    """

    card: Card
    walk: Walk
    record: RecordFile
    first: Input
    before: Instant | None = None


def begin(
    card: Card,
    identity: str,
    inspector: str,
    path: Path | None,
    now: Instant,
    earlier: Earlier | None = None,
    second: str = "",
) -> Opened:
    """A new walk with a new record.

    Args:
        path: where the record is to lie; ``None`` gives it a name in the working directory.
        earlier: what earlier records say of the same thing.
        second: who confirms what the card marks so.

    Raises:
        VoicewalkError: the identity or a name cannot be kept, the second person does not fit, the
            record cannot be made there, or this
            recorder's key cannot be used.
    """
    must_be_told(identity, "an identity", MOST_IDENTITY)
    must_be_told(inspector, "the inspector's name", MOST_NAME)
    must_be_told(second, "the second person's name", MOST_NAME)
    if not signs(identity):
        raise VoicewalkError(
            f"the identity {identity!r} has neither letter nor digit",
            "Give the number that stands on it, such as --aircraft M07.",
        )
    _must_confirm(card, inspector, second)
    where = path or Path(record_name(card, identity, now))
    record = RecordFile.create(
        where,
        program=PROGRAM,
        recorder=platform.node(),
        at=now,
        texts=card.texts.values(),
    )
    walk = Walk(card, WalkSettings(), words_of(vocabulary_of(card)))
    told = earlier.to_json() if earlier else {}
    return Opened(card, walk, record, Start(identity, inspector, now.boot, told, second))


def must_be_told(given: str, what: str, most: int) -> None:
    """Refuse a text of the command line that no record keeps, or no line shows.

    Raises:
        VoicewalkError: saying which text it is (``what``), and why.
    """
    try:
        given.encode()
    except UnicodeEncodeError:
        # Bytes that are no text come so from the command line (PEP 383); no record keeps them.
        wrong = "is not written in the characters of this system (UTF-8)"
    else:
        if any(unicodedata.category(sign) in _UNSEEN for sign in given):
            wrong = "holds line ends or other control characters"
        elif len(given) > most:
            wrong = f"is longer than {most} characters"
        else:
            return
    raise VoicewalkError(
        f"{what} {wrong}: {given[:most]!r}", "Type it anew, in one short line of plain text."
    )


def _must_confirm(card: Card, inspector: str, second: str) -> None:
    """Whoever confirms is named where the card wants it, and is not the inspector."""
    if card.second and not second.strip():
        raise VoicewalkError(
            f"the card '{card.id}' has items that a second person confirms, and none is named",
            "Name the second person with --second NAME.",
        )
    if second and not card.second:
        raise VoicewalkError(
            f"the card '{card.id}' has nothing that a second person confirms",
            "Leave out --second, or mark items of the card with 'second: true'.",
        )
    if second and same_person(inspector, second):
        raise VoicewalkError(
            f"'{second}' cannot be inspector and second person of one walk",
            "Name somebody else: whoever calls an item does not confirm it.",
        )


def words_of(vocabulary: Vocabulary) -> Words:
    """The words of a vocabulary in which calls are read back: the first of each term."""
    return Words(
        satisfactory=vocabulary.satisfactory.words[0],
        not_inspected=vocabulary.not_inspected.words[0],
        not_applicable=vocabulary.not_applicable.words[0],
        because=next(iter(vocabulary.because), ""),
        left=vocabulary.left.words[0],
        right=vocabulary.right.words[0],
        commands={name: term.words[0] for name, term in vocabulary.commands.items()},
    )


def record_name(card: Card, identity: str, now: Instant) -> str:
    """Card, identity and UTC time in a file name that every system takes."""
    plain = re.sub(r"[^A-Za-z0-9-]+", "-", identity).strip("-") or "unnamed"
    time = re.sub(r"[-:]|\.\d+", "", now.wall)
    return f"{card.id}-{plain}-{time}{ENDING}"


def resume(path: Path, card_name: str | None, now: Instant) -> Opened:
    """The walk of a record that was interrupted.

    Args:
        card_name: path of the card, or the name of a shipped one; ``None`` finds the shipped
            card that the record names.

    Raises:
        VoicewalkError: the record cannot be used or has nothing to go on with, its card is not
            to be found, or the card was changed since.
    """
    record = RecordFile.open(path)
    try:
        if not record.own:
            raise RecordError(
                f"{path}: another recorder made this record",
                "Go on with the walk there, or begin a new one here.",
            )
        entries = [entry for entry in record.entries() if bodies.of_the_walk(entry.body)]
        card = _card(path, entries, card_name)
        kept = ((entry.seq, entry.body) for entry in entries)
        walk = replay(card, kept, WalkSettings(), words_of(vocabulary_of(card)))
        if walk.memory.state is WalkState.CLOSED:
            raise RecordError(
                f"{path}: its walk is closed",
                "Begin a new walk; 'voicewalk show' shows this one.",
            )
    except BaseException:
        record.close()
        raise
    last = entries[-1].at
    before = replace(last, boot=_last_boot(entries) or "unknown")
    gap, age = (wall_ms(now) - wall_ms(at) for at in (last, entries[0].at))
    first = Interrupted(gap, now.boot, max(age, 0))
    return Opened(card, walk, record, first, before)


def _last_boot(entries: list[Entry]) -> str:
    """The boot in which the last run of the program kept its entries."""
    inputs = (bodies.part(entry.body, "input") for entry in reversed(entries))
    begun = (given for given in inputs if given.get("type") in ("start", "interrupted"))
    return bodies.text(next(begun, {}), "boot")


def _card(path: Path, entries: list[Entry], card_name: str | None) -> Card:
    if not entries:
        raise RecordError(
            f"{path}: nothing has been recorded yet",
            "Begin the walk anew, with another record file.",
        )
    named = bodies.part(entries[0].body, "card")
    card_id, version = bodies.text(named, "id"), bodies.text(named, "version")
    try:
        card = load_card(card_path(card_name or card_id))
    except VoicewalkError as error:
        if card_name is not None:
            raise
        raise RecordError(
            f"{path}: its card '{card_id}' does not come with this program, or has a fault",
            f"Give the card's file: voicewalk walk CARD --resume {path}",
        ) from error
    if card.digest != bodies.text(named, "digest"):
        raise RecordError(
            f"{path}: the walk was begun with another card than {card.path}",
            f"Give the file of the card '{card_id}', version {version}, as it was then.",
        )
    return card
