"""One walk and one entry as their pages tell them: stations with items, evidence, history.

Pure: a record that was read goes in, plain values for the templates come out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.afterwards import gone
from voicewalk.record.chain import Entry
from voicewalk.record.summary import OPEN, Line
from voicewalk.review.glance import Walked
from voicewalk.review.needs import Grade, Need, found
from voicewalk.walk.messages import Json

_GRADES = {
    "discrepancy": Grade.DISCREPANCY,
    "not inspected": Grade.INCOMPLETE,
    OPEN: Grade.INCOMPLETE,
}


@dataclass(frozen=True)
class Told:
    """An entry in words, with what became of it since."""

    entry: Entry
    about: str
    said: str
    note: str
    struck: bool


@dataclass(frozen=True)
class ItemView:
    """An item with its result and every entry of it; ``result`` is "open" where it has none."""

    id: str
    name: str
    critical: bool
    result: str
    grade: Grade
    told: tuple[Told, ...]


@dataclass(frozen=True)
class StationView:
    """A station with its items. ``number`` is that of the plan drawing, 0 without a card."""

    number: int
    name: str
    phase: str
    items: tuple[ItemView, ...]

    @property
    def words(self) -> str:
        """How far it is: "2 discrepancies, 1 open" or "every item has a result"."""
        named = [
            (sum(item.result == "discrepancy" for item in self.items), "discrepancy"),
            (sum(item.result == "not inspected" for item in self.items), "not inspected"),
            (sum(item.result == OPEN for item in self.items), "open"),
        ]
        return listed(named) or "every item has a result"


def listed(counts: Iterable[tuple[int, str]]) -> str:
    """Results with how many items have them, those that no item has left out."""
    many = {"discrepancy": "discrepancies"}
    told = [(count, many.get(word, word) if count > 1 else word) for count, word in counts if count]
    return ", ".join(f"{count} {word}" for count, word in told)


def stations(walked: Walked, entries: Iterable[Told]) -> tuple[StationView, ...]:
    """The stations in walking order with the card, as they were called without.

    Args:
        entries: all of the record's, in words.
    """
    lines: dict[str, list[Told]] = {}
    for one in entries:
        if bodies.kind(one.entry.body) == bodies.ITEM:
            lines.setdefault(bodies.text(one.entry.body, "item"), []).append(one)
    grades = item_grades(walked.glance.needs)
    if walked.card is None:
        return _as_called(walked, lines, grades)
    return tuple(
        StationView(
            number,
            station.name,
            station.phase,
            tuple(
                _item(walked, item.id, item.name, item.critical, lines.get(item.id, ()), grades)
                for item in station.items
            ),
        )
        for number, station in enumerate(walked.card.stations, 1)
    )


def _as_called(
    walked: Walked, lines: Mapping[str, list[Told]], grades: Mapping[str, Grade]
) -> tuple[StationView, ...]:
    of_station: dict[str, list[ItemView]] = {}
    for item, kept in lines.items():
        body = kept[0].entry.body
        view = _item(walked, item, wording.plain(bodies.text(body, "name")), False, kept, grades)
        of_station.setdefault(wording.plain(bodies.text(body, "station")), []).append(view)
    return tuple(StationView(0, name, "", tuple(items)) for name, items in of_station.items())


def _item(
    walked: Walked,
    item: str,
    name: str,
    critical: bool,
    lines: Iterable[Told],
    grades: Mapping[str, Grade],
) -> ItemView:
    result = walked.told.results.get(item, OPEN)
    grade = min(grades.get(item, Grade.NOTHING), _GRADES.get(result, Grade.NOTHING))
    return ItemView(
        wording.plain(item),
        name,
        critical,
        result,
        grade,
        tuple(lines),
    )


def item_grades(found: Iterable[Need]) -> dict[str, Grade]:
    """By item id, the worst that is not settled."""
    grades: dict[str, Grade] = {}
    for need in found:
        if need.item and not need.settled:
            grades[need.item] = min(need.grade, grades.get(need.item, Grade.NOTHING))
    return grades


def entry_grades(found: Iterable[Need]) -> dict[int, Grade]:
    """By number of the entry, the worst of its needs."""
    grades: dict[int, Grade] = {}
    for need in found:
        grades[need.seq] = min(need.grade, grades.get(need.seq, Grade.NOTHING))
    return grades


def told(walked: Walked, entries: Iterable[Entry]) -> list[Told]:
    """Entries in words; limits without their reference, which the entry's own page tells."""
    lines = {line.entry.seq: line for line in walked.told.lines}
    listed = []
    for entry in entries:
        line = lines.get(entry.seq, Line(entry))
        about, said = wording.telling(entry)
        if bodies.kind(entry.body) == bodies.ITEM:
            result = wording.plain(bodies.text(entry.body, "result"))
            said = ": ".join(part for part in (result, found(entry.body)) if part)
            said += wording.accepted(entry.body)
        listed.append(Told(entry, about, said, line.note, line.struck))
    return listed


@dataclass(frozen=True)
class EntryView:
    """One entry with its evidence.

    Attributes:
        said: all that it says.
        clip: name of its sound; "" where it has none.
        gone: why its sound is not there any more; "" where it is.
        words: what was said, as understood or typed.
        listeners: name, text and score of each.
        reason, verdict: the judge's.
        others: other meanings that were in question, with their evidence.
        judge: what else the judgement rests on, by name.
        facts: measures of the sound, and versions of models, by name.
        history: every entry of the same item, and those that are about one of them, in order.
    """

    told: Told
    said: str
    clip: str
    gone: str
    how: str
    words: str
    probability: str
    listeners: tuple[tuple[str, str, str], ...]
    verdict: str
    reason: str
    others: tuple[str, ...]
    judge: tuple[tuple[str, str], ...]
    facts: tuple[tuple[str, str], ...]
    history: tuple[Told, ...]
    before: int
    after: int


_SAID_APART = ("verdict", "reason", "others")


def entry_view(walked: Walked, entry: Entry) -> EntryView:
    """The page of one entry."""
    heard = bodies.part(entry.body, "input", "heard")
    judge = bodies.part(heard, "judge")
    given = heard.get("listeners")
    listeners = given if isinstance(given, list) else []
    sound, versions = bodies.part(heard, "sound"), bodies.part(heard, "versions")
    clip = bodies.clip_of(entry.body)
    numbers = [one.seq for one in walked.entries]
    place = numbers.index(entry.seq)
    return EntryView(
        told=told(walked, [entry])[0],
        said=wording.telling(entry)[1],
        clip=clip,
        gone=gone(walked.entries).get(clip, ""),
        how=bodies.text(heard, "how"),
        words=wording.plain(
            bodies.text(entry.body, "input", "words") or bodies.text(heard, "text")
        ),
        probability=wording.plain(bodies.text(heard, "probability")),
        listeners=tuple(
            (
                wording.plain(bodies.text(one, "name")),
                wording.plain(bodies.text(one, "text")),
                wording.plain(bodies.text(one, "score")),
            )
            for one in listeners
        ),
        verdict=wording.plain(bodies.text(judge, "verdict")),
        reason=wording.plain(bodies.text(judge, "reason")),
        others=tuple(map(wording.plain, bodies.texts(judge, "others"))),
        judge=tuple(pair for pair in _pairs(judge) if pair[0] not in _SAID_APART),
        facts=(*_pairs(sound), *((f"version of {name}", said) for name, said in _pairs(versions))),
        history=tuple(told(walked, _history(walked, entry))),
        before=numbers[place - 1] if place else 0,
        after=numbers[place + 1] if place + 1 < len(numbers) else 0,
    )


def _pairs(found: Json) -> list[tuple[str, str]]:
    """Names and texts of an object, in words."""
    pairs = []
    for name, value in found.items():
        said = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
        pairs.append((wording.plain(name), wording.plain(said)))
    return pairs


def _history(walked: Walked, entry: Entry) -> list[Entry]:
    """Entries of the same item, and all that name one of these by its number or item."""
    item = bodies.text(entry.body, "item")
    own = {entry.seq} | {
        one.seq for one in walked.entries if item and bodies.text(one.body, "item") == item
    }
    named = set(bodies.numbers(entry.body, "answers"))
    return [one for one in walked.entries if one.seq in own | named or _names(one.body, own, item)]


def _names(body: Json, own: set[int], item: str) -> bool:
    numbers = {
        bodies.number(body, "entry"),
        bodies.number(body, "replaces"),
        *bodies.numbers(body, "answers"),
        *bodies.numbers(body, "entries"),
    }
    items = {*bodies.texts(body, "items"), *bodies.texts(body, "reopens")}
    return bool(numbers & own) or (bool(item) and item in items)
