"""Whether a record is the one that somebody knows: by its recorder's key, or by an earlier head.

Pure. A record that is whole in itself may still have been made anew as a whole by whoever holds
the key, or put back to an earlier state: only what was kept elsewhere can tell.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from voicewalk.record.chain import Entry
from voicewalk.record.merkle import Peaks, grown, head_of
from voicewalk.record.seal import fingerprint
from voicewalk.record.verify import Report

SHORTEST_HEAD = 16
"""Digits of a head that was noted in short: 64 bits, more than anybody can try out."""

_HEAD = re.compile(rf"[0-9a-f]{{{SHORTEST_HEAD},64}}", re.ASCII)


def head_noted(text: str) -> str:
    """A head as somebody noted it, without blanks and in lower case.

    Raises:
        ValueError: it is none.
    """
    plain = "".join(text.split()).lower()
    if not _HEAD.fullmatch(plain):
        raise ValueError(f"a head is {SHORTEST_HEAD} to 64 hexadecimal digits")
    return plain


def by_key(report: Report, key: str) -> Report:
    """The report, with whether the record is by the recorder with this public key (hex)."""
    if report.key == key:
        return replace(report, notes=(*report.notes, "it is by the recorder with the key given"))
    other = fingerprint(report.key)
    return _wrong(report, f"it is by another recorder, {other}, than the one given")


def by_head(report: Report, entries: Iterable[Entry], head: str) -> Report:
    """The report, with whether a head (from ``head_noted``) ever stood in the record."""
    peaks: Peaks = ()
    for entry in entries:
        peaks = grown(peaks, bytes.fromhex(entry.hash))
        if head_of(peaks).hex().startswith(head):
            stood = f"the head given stood after entry {entry.seq}: all up to it is as it was then"
            return replace(report, notes=(*report.notes, stood))
    return _wrong(
        report,
        "the head given never stood in this record: entries were taken from its end, or it was"
        " made anew",
    )


def _wrong(report: Report, finding: str) -> Report:
    return replace(report, ok=False, findings=(*report.findings, finding))
