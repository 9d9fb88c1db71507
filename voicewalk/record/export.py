"""A record in other forms: JSON with everything, tables, a text report; and its clips as files.

Reading and writing files is done here; how a report or a table looks is ``record.report``'s and
``record.table``'s. An export says itself whether the record it was made from was whole.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from enum import StrEnum
from functools import lru_cache
from pathlib import Path

from voicewalk import private
from voicewalk.card.load import kept_card
from voicewalk.card.model import Card
from voicewalk.errors import RecordError, SourceError
from voicewalk.record import body as bodies
from voicewalk.record import database
from voicewalk.record.chain import Entry
from voicewalk.record.file import RecordReader
from voicewalk.record.pdf import summary_pdf
from voicewalk.record.report import text_report
from voicewalk.record.spreadsheet import workbook
from voicewalk.record.summary import summary
from voicewalk.record.table import csv_table
from voicewalk.record.verify import Examined
from voicewalk.walk.messages import Json


class Form(StrEnum):
    """What a record can be turned into."""

    JSON = "json"
    CSV = "csv"
    XLSX = "xlsx"
    PDF = "pdf"
    TEXT = "text"

    @property
    def written(self) -> bool:
        """Whether it is of signs that a terminal can show."""
        return self not in (Form.XLSX, Form.PDF)


def exported(path: Path, examined: Examined, to: Form, *, sound: bool = True) -> bytes:
    """The record in another form; the JSON without its sounds where they are to be left out."""
    match to:
        case Form.JSON:
            return json_document(path, examined, sound=sound).encode()
        case Form.CSV:
            return csv_table(summary(examined.entries)).encode()
        case Form.XLSX:
            return workbook(examined, summary(examined.entries))
        case Form.PDF:
            return summary_pdf(examined, card_of(examined))
        case Form.TEXT:
            return text_report(examined, card_of(examined)).encode()


def json_document(path: Path, examined: Examined, *, sound: bool = True) -> str:
    """Everything in one document; sounds and texts as base64 (RFC 4648) of their bytes.

    A sound that is missing or changed is ``null``; ``report.findings`` tells why. Without
    ``sound`` there are none, but their hashes in the entries.
    """
    sounds = {
        bodies.clip_of(entry.body): flac and base64.b64encode(flac).decode()
        for entry, flac in (_sounds(path, examined) if sound else ())
    }
    document = {
        "format": database.FORMAT,
        "meta": asdict(examined.meta) if examined.meta else None,
        "report": asdict(examined.report),
        "entries": [
            {
                "seq": entry.seq,
                "run": entry.run,
                "wall": entry.at.wall,
                "monotonic_ms": entry.at.monotonic_ms,
                "body": entry.body,
                "start": entry.start,
                "hash": entry.hash,
                "signature": entry.signature,
                "key": entry.key or None,
            }
            for entry in examined.entries
        ],
        "sounds": sounds,
        "texts": {
            digest: base64.b64encode(text).decode() for digest, text in examined.texts.items()
        },
    }
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


def write_clips(path: Path, examined: Examined, folder: Path) -> int:
    """Write each entry's sound as ``entry-00012.flac``; returns how many.

    A sound that is missing or changed is left out: it is among the findings.

    Raises:
        RecordError: the folder cannot be made or written to, or holds such a file already.
    """
    count = 0
    try:
        private.make_folder(folder)
    except OSError as error:
        raise database.trouble(folder, error) from error
    for entry, flac in _sounds(path, examined):
        if flac is not None:
            write_new(folder / f"entry-{entry.seq:05}.flac", flac)
            count += 1
    return count


def write_new(path: Path, data: bytes) -> None:
    """Write a file that does not exist yet: an export never takes the place of a record.

    Raises:
        RecordError: it exists, or cannot be written.
    """
    try:
        file = open(path, "xb", opener=private.opener)  # noqa: SIM115 - its errors differ below
    except FileExistsError:
        raise RecordError(
            f"{path}: there is such a file already", "Give another name, or remove that file."
        ) from None
    except OSError as error:
        raise database.trouble(path, error) from error
    try:
        with file:
            file.write(data)
    except OSError as error:
        path.unlink()
        raise database.trouble(path, error) from error


def card_of(examined: Examined) -> Card | None:
    """The card that the record keeps. ``None`` where it keeps none, or one that this version of
    the program cannot read: the entries tell everything but the names of what is open.
    """
    return card_in(examined.texts, summary(examined.entries).started)


def card_in(texts: Mapping[str, bytes], started: Json) -> Card | None:
    """The same, of the files that a record keeps (by SHA-256) and of its first entry."""
    named = sorted(bodies.texts_of(started).items())
    return _loaded(tuple((name, texts[digest]) for name, digest in named if digest in texts))


@lru_cache(maxsize=32)
def _loaded(kept: tuple[tuple[str, bytes], ...]) -> Card | None:
    """A card takes longer to read than its record, and is the same for many."""
    texts = dict(kept)
    text = texts.pop("", None)
    try:
        return kept_card(text, texts) if text is not None else None
    except SourceError:
        return None


def _sounds(path: Path, examined: Examined) -> Iterator[tuple[Entry, bytes | None]]:
    """Each entry that names a sound, with its bytes where they are right."""
    with RecordReader.open(path) as record:
        for entry in examined.entries:
            name = bodies.clip_of(entry.body)
            if name:
                try:
                    yield entry, record.clip(name)
                except RecordError:  # told already: a finding of the examination
                    yield entry, None
