"""A record as a report on paper: what a lead reads from the top, the worst first.

Pure. Plain text, lines of at most 80 columns where the texts allow it. What the sentences
about an entry say is ``record.wording``'s.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from voicewalk.card.model import Card
from voicewalk.record import body as bodies
from voicewalk.record import summary as results
from voicewalk.record import wording
from voicewalk.record.afterwards import signature_words
from voicewalk.record.chain import Entry, Meta
from voicewalk.record.seal import fingerprint
from voicewalk.record.summary import Line, Summary
from voicewalk.record.verify import Examined, Report

_WIDTH = 80


def text_report(examined: Examined, card: Card | None = None) -> str:
    """The whole report. With the card, open items and stations are named."""
    told = results.summary(examined.entries)
    parts = (
        ["WALKAROUND RECORD", ""],
        _identity(told, card),
        _trust(examined.report, examined.meta),
        ["", *textwrap.wrap(caution(told), _WIDTH)],
        _section("SIGNATURES", _signatures(examined.entries)),
        *_answers(examined.entries),
        _section("SUMMARY", counts(told)),
        _section("DISCREPANCIES", _discrepancies(told)),
        _section("READINGS", _readings(told)),
        _section("OPEN ITEMS", _open(told, card)),
        _section("ASKED BACK", _asked_back(told)),
        _section("REMARKS", _remarks(told)),
        *_second(told),
        *_clock(told),
        _section("ALL ENTRIES BY STATION", _stations(told, card)),
        ["", "Lines that begin with x are struck: they count no more and stay readable."],
    )
    return "\n".join(line for part in parts for line in part) + "\n"


def caution(told: Summary) -> str:
    """The record's own caution; a general one where its walk was never closed."""
    own = bodies.text(told.closed, "caution")
    subject = bodies.text(told.started, "subject") or "subject"
    return wording.plain(own or wording.CAUTION.format(subject=subject))


def trust(report: Report) -> list[str]:
    """Whether the record is whole, for a reader who is to rely on it."""
    if report.ok:
        sealed = f"whole, {report.entries} entries, each signed by its recorder"
        return [f"{sealed}, key {fingerprint(report.key)}", *map(wording.plain, report.notes)]
    trusted = report.trusted_up_to
    limit = f"rely on no entry after #{trusted}" if trusted else "rely on nothing in it"
    return [f"NOT WHOLE: {limit}", *(wording.plain(finding) for finding in report.findings)]


def counts(told: Summary) -> list[str]:
    """How many items have which result, one a line."""
    return [f"{name:<18}{number:>4}" for name, number in counted(told).items()]


def counted(told: Summary) -> dict[str, int]:
    """How many items have which result."""
    return {
        "satisfactory": told.count(results.SATISFACTORY),
        "discrepancies": told.count(results.DISCREPANCY),
        "not inspected": told.count(results.NOT_INSPECTED),
        "not applicable": told.count(results.NOT_APPLICABLE),
        "open": told.open_count,
        **({"to be confirmed": len(told.unconfirmed)} if second_person(told) else {}),
        "calls asked back": len(told.asked_back),
    }


def second_person(told: Summary) -> str:
    """Who confirms what the card marks so, "" for nobody."""
    return bodies.text(told.started, "second")


def item_line(line: Line) -> str:
    """An item's entry in one line, struck where it counts no more."""
    name, said = wording.telling(line.entry)
    head = f"{'x' if line.struck else ' '} #{line.entry.seq:<4}{wording.clock(line.entry.at.wall)}"
    note = f"  [{line.note}]" if line.note else ""
    return f"{head}  {name}: {said}{note}"


def _discrepancies(told: Summary) -> Iterator[str]:
    """Each with the status that it was given on the form, where any was."""
    for line in told.discrepancies:
        status = status_of(line, told)
        yield item_line(line) + (f"  [status: {wording.plain(status)}]" if status else "")


def status_of(line: Line, told: Summary) -> str:
    """The status of a discrepancy on the form; "" where this record has none at all."""
    return told.statuses.get(line.entry.seq, "none given" if told.statuses else "")


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    yield from ("", title, "-" * len(title))
    empty = True
    for line in lines:
        empty = False
        yield from textwrap.wrap(line, _WIDTH, subsequent_indent=" " * 8)
    if empty:
        yield "none"


def _fact(name: str, value: str) -> str:
    return f"{name:<12}{value}"


def _identity(told: Summary, card: Card | None) -> list[str]:
    subject = bodies.text(told.started, "subject") or "subject"
    named = bodies.part(told.started, "card")
    version = f"{bodies.text(named, 'title')}, version {bodies.text(named, 'version')}"
    ended = "Closed" if told.closed else "Not closed"
    facts = (
        (subject.capitalize(), bodies.text(told.started, "identity")),
        ("Inspector", wording.inspectors(told.started, told.handed_over)),
        *(("Second", name) for name in [second_person(told)] if name),
        ("Card", version),
        ("Card digest", bodies.text(named, "digest")),
        ("Begun", wording.date_and_time(told.begun)),
        (ended, f"last entry {wording.date_and_time(told.ended)}"),
        *counts_until(told, card),
        *(("Paper", card) for card in papers(told)),
    )
    return [_fact(wording.plain(name), wording.plain(value)) for name, value in facts]


def counts_until(told: Summary, card: Card | None) -> Iterator[tuple[str, str]]:
    """Until when a closed walk counts, where its card says so."""
    valid = card.valid if card else None
    if valid and told.closed:
        try:
            until = datetime.fromisoformat(told.ended) + timedelta(hours=valid.hours)
        except (ValueError, OverflowError):  # a time that is none: the verification tells it
            return
        flown = f"{valid.flown_hours} h once flown" if valid.flown_hours else "void once flown"
        when = f"{until:%Y-%m-%d %H:%M:%S} UTC, {valid.hours} h; {flown}"
        yield "Counts until", f"{when} ({valid.reference})"


def papers(told: Summary) -> list[str]:
    """The paper cards that calls were typed from, in the order in which they first come."""
    entries = (*(line.entry for line in told.lines), *told.remarks, *told.asked_back)
    found = {entry.seq: wording.paper(entry.body) for entry in entries}
    return list(dict.fromkeys(card for _, card in sorted(found.items()) if card))


def _trust(report: Report, meta: Meta | None) -> list[str]:
    made = f"{meta.recorder}, {meta.program}" if meta else "cannot be read"
    return [
        _fact("Recorder", wording.plain(made)),
        *(_fact("Record", line) for line in trust(report)),
        _fact("Head", report.head or "cannot be computed"),
    ]


def _signatures(entries: Iterable[Entry]) -> Iterator[str]:
    signed = [entry for entry in entries if bodies.kind(entry.body) == bodies.SIGNED]
    for entry in signed:
        yield _entry_line(entry, wording.plain(signature_words(entry.body)))
    if not signed:
        yield "Not signed by anybody. A name that was spoken or typed is no signature."


def _answers(entries: Iterable[Entry]) -> Iterator[Iterator[str]]:
    """What the lead has answered, where there is anything."""
    given = [entry for entry in entries if bodies.kind(entry.body) in bodies.BY_THE_LEAD]
    if given:
        said = (": ".join(wording.telling(entry)) for entry in given)
        yield _section("THE LEAD", map(_entry_line, given, said))


def _readings(told: Summary) -> Iterator[str]:
    for line in told.readings:
        body = line.entry.body
        name = wording.plain(bodies.text(body, "name"))
        read = wording.plain(wording.reading(body))
        yield f"  #{line.entry.seq:<4}{name}: {read}: {wording.judgement(body)}"


def _open(told: Summary, card: Card | None) -> Iterator[str]:
    if card is not None:
        yield from (f"  {item.name}" for item in results.open_items(card, told))
    elif told.open_count:
        yield f"  {told.open_count} items; the record keeps no card with their names"


def _asked_back(told: Summary) -> Iterator[str]:
    return (_entry_line(entry, wording.candidates(entry.body)) for entry in told.asked_back)


def _second(told: Summary) -> Iterator[Iterator[str]]:
    """What the second person has answered, and first what is still to be confirmed."""
    if second_person(told):
        yield _section("TO BE CONFIRMED BY THE SECOND PERSON", map(item_line, told.unconfirmed))
        items = (bodies.text(entry.body, "item") for entry in told.confirmations)
        said = (
            f"{wording.plain(item)} {wording.telling(entry)[1]}"
            for item, entry in zip(items, told.confirmations, strict=True)
        )
        yield _section("ANSWERS OF THE SECOND PERSON", map(_entry_line, told.confirmations, said))


def _clock(told: Summary) -> Iterator[Iterator[str]]:
    """Where the clock was set or wrong: times before and after do not compare."""
    if told.clock_steps:
        by = (bodies.number(entry.body, "by_ms") / 1000 for entry in told.clock_steps)
        said = (f"the clock was set or wrong, by {seconds:.0f} s" for seconds in by)
        yield _section("CLOCK", map(_entry_line, told.clock_steps, said))


def _remarks(told: Summary) -> Iterator[str]:
    return (_entry_line(entry, wording.remark(entry.body)) for entry in told.remarks)


def _entry_line(entry: Entry, said: str) -> str:
    return f"  #{entry.seq:<4}{wording.clock(entry.at.wall)}  {said}"


def _stations(told: Summary, card: Card | None) -> Iterator[str]:
    for station, lines in by_station(told, card):
        yield wording.plain(station)
        yield from map(item_line, lines)


def by_station(told: Summary, card: Card | None) -> Iterator[tuple[str, list[Line]]]:
    """Item entries under the names of their stations: in walking order with the card, as called
    without."""
    stations = card.stations if card else ()
    lines_of: dict[str, list[Line]] = {station.id: [] for station in stations}
    for line in told.lines:
        lines_of.setdefault(bodies.text(line.entry.body, "station"), []).append(line)
    names = {station.id: station.name for station in stations}
    order = {item: number for number, item in enumerate(card.by_id)} if card else {}
    for station, lines in lines_of.items():
        walked = sorted(lines, key=lambda line: order.get(bodies.text(line.entry.body, "item"), 0))
        if lines:
            yield names.get(station, station), walked
