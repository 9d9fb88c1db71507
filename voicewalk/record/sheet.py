"""What stands on the pages of a record's summary, as plain data in the order of the pages.

Pure. How a page looks is told by the template in ``paper``; how sentences are worded, by
``record.wording``.
"""

from __future__ import annotations

import re

from voicewalk.card.model import Card
from voicewalk.record import body as bodies
from voicewalk.record import summary as results
from voicewalk.record import wording
from voicewalk.record.afterwards import signature_words
from voicewalk.record.chain import Entry
from voicewalk.record.plan import plan_svg, plan_words
from voicewalk.record.report import (
    by_station,
    caution,
    counted,
    counts_until,
    papers,
    status_of,
    trust,
)
from voicewalk.record.seal import fingerprint
from voicewalk.record.summary import Line, Summary
from voicewalk.record.verify import Examined
from voicewalk.walk.messages import Json

_LONG_WORD = re.compile(r"\S{25}(?=\S{5})")
_BREAK = "\u200b"
"""Where a line may break within a word: a zero width space (U+200B)."""

_TITLE = 120
"""Signs of an identity in a title at the most."""


def summary_sheet(examined: Examined, card: Card | None, code: str) -> Json:
    """The data of ``Template.SUMMARY``; ``code`` is the head's as SVG, "" for none."""
    told = results.summary(examined.entries)
    identity = wording.plain(bodies.text(told.started, "identity"))
    subject = wording.plain(bodies.text(told.started, "subject")) or "subject"
    about = f"{subject} {identity}"[:_TITLE]
    report = examined.report
    return {
        "title": f"Walkaround record, {about}",
        "heading": "Walkaround record",
        "about": _broken(about),
        "warnings": _warnings(examined, told),
        "facts": _facts(examined, told, card),
        "code": code,
        "code_alt": f"QR code with the head {report.head}",
        "caution": _broken(caution(told)),
        "discrepancies": [_discrepancy(line, told) for line in told.discrepancies],
        "counts": [[name, str(count)] for name, count in counted(told).items()],
        "not_inspected": _not_inspected(told),
        "open": _open(told, card),
        "plan": plan_svg(card, told) if card else "",
        "plan_alt": plan_words(card, told) if card else "",
        "readings": [_reading(line) for line in told.readings],
        "remarks": [_entry(entry, wording.remark(entry.body)) for entry in told.remarks],
        "unconfirmed": [_row(line) for line in told.unconfirmed],
        "confirmations": _confirmations(told),
        "signatures": _signatures(examined.entries),
        "about_record": _about_record(examined.entries),
        "blanks": _blanks(card),
        "stations": _stations(told, card),
        "trust": [_broken(line) for line in trust(report)],
        "entries": str(report.entries),
        "head": report.head or "cannot be computed",
        "key": fingerprint(report.key) if report.key else "cannot be read",
        "verify": (
            "These pages are a copy and no evidence by themselves: the record file is. Compare"
            " the head above with what 'voicewalk verify' tells of that file."
        ),
    }


def _broken(text: str) -> str:
    """The text in signs that can be seen, with places to break in words that no line holds."""
    return _LONG_WORD.sub(rf"\g<0>{_BREAK}", wording.plain(text))


def _warnings(examined: Examined, told: Summary) -> list[str]:
    found = [] if examined.report.ok else [trust(examined.report)[0]]
    if not told.closed:
        found.append("The walk is not closed.")
    if told.clock_steps:
        found.append("The clock was set or wrong: times before and after it do not compare.")
    return found


def _facts(examined: Examined, told: Summary, card: Card | None) -> list[list[str]]:
    named = bodies.part(told.started, "card")
    meta = examined.meta
    second = bodies.text(told.started, "second")
    subject = bodies.text(told.started, "subject") or "subject"
    facts = (
        (subject.capitalize(), bodies.text(told.started, "identity")),
        (
            "Inspector",
            f"{wording.inspectors(told.started, told.handed_over)} (a name, no signature)",
        ),
        *(("Second person", f"{second} (a name, no signature)") for second in [second] if second),
        ("Card", f"{bodies.text(named, 'title')}, version {bodies.text(named, 'version')}"),
        ("Card digest", bodies.text(named, "digest")),
        ("Begun", wording.date_and_time(told.begun)),
        ("Last entry", wording.date_and_time(told.ended)),
        *counts_until(told, card),
        *(("From paper", paper) for paper in papers(told)),
        ("Recorder", f"{meta.recorder}, {meta.program}" if meta else "cannot be read"),
        ("Record", trust(examined.report)[0]),
    )
    return [[_broken(name), _broken(value)] for name, value in facts]


def _row(line: Line) -> list[str]:
    name, said = wording.telling(line.entry)
    note = f" [{line.note}]" if line.note else ""
    return _entry(line.entry, name, f"{said}{note}")


def _discrepancy(line: Line, told: Summary) -> list[str]:
    *before, said = _row(line)
    status = status_of(line, told)
    return [*before, f"{said} [status: {_broken(status)}]" if status else said]


def _entry(entry: Entry, *said: str) -> list[str]:
    return [str(entry.seq), wording.clock(entry.at.wall), *map(_broken, said)]


def _not_inspected(told: Summary) -> list[list[str]]:
    """Items whose present result that is, each with the reason that was given."""
    return [
        [_broken(bodies.text(body, "name")), _broken(bodies.text(body, "reason")) or "not said"]
        for line in told.lines
        if not line.struck
        and bodies.text(body := line.entry.body, "result") == results.NOT_INSPECTED
        and told.results.get(bodies.text(body, "item")) == results.NOT_INSPECTED
    ]


def _open(told: Summary, card: Card | None) -> list[object]:
    """Stations with the names of their open items."""
    if card is None:
        count = told.open_count
        return [
            ["not named", [f"{count} items; the record keeps no card with their names"]]
        ] * bool(count)
    items = results.open_items(card, told)
    found = (
        (station.name, [_broken(item.name) for item in items if item.station == station.id])
        for station in card.stations
    )
    return [[_broken(name), names] for name, names in found if names]


def _reading(line: Line) -> list[str]:
    body = line.entry.body
    read = bodies.part(body, "reading")
    value = f"{bodies.text(read, 'value')} {bodies.text(read, 'unit')}".strip()
    limit = wording.limit(bodies.part(read, "limit"))
    cells = (bodies.text(body, "name"), value, limit, wording.judgement(body))
    return [str(line.entry.seq), *map(_broken, cells)]


def _confirmations(told: Summary) -> list[list[str]]:
    found = told.confirmations
    return [_entry(one, bodies.text(one.body, "item"), wording.telling(one)[1]) for one in found]


def _signatures(entries: tuple[Entry, ...]) -> list[list[str]]:
    signed = (entry for entry in entries if bodies.kind(entry.body) == bodies.SIGNED)
    return [_entry(entry, signature_words(entry.body)) for entry in signed]


def _about_record(entries: tuple[Entry, ...]) -> list[list[str]]:
    """What was added about the record and is no signature."""
    kinds = set(bodies.NOT_OF_THE_WALK) - {bodies.SIGNED}
    others = (entry for entry in entries if bodies.kind(entry.body) in kinds)
    return [_entry(entry, *wording.telling(entry)) for entry in others]


def _blanks(card: Card | None) -> Json:
    asked = card.entry_fields if card else None
    if asked is None:
        return {"reference": "", "fields": []}
    return {"reference": _broken(asked.reference), "fields": [_broken(f) for f in asked.fields]}


def _stations(told: Summary, card: Card | None) -> list[object]:
    def row(line: Line) -> Json:
        name, said = wording.telling(line.entry)
        return {"struck": line.struck, "cells": _entry(line.entry, name, said, line.note)}

    return [
        [_broken(name), [row(line) for line in lines]] for name, lines in by_station(told, card)
    ]
