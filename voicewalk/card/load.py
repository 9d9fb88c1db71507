"""From a card's file to a ``Card`` that has passed its checks, or an error with its place."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from voicewalk.card.checks import GENERAL, faults
from voicewalk.card.fault import Fault
from voicewalk.card.model import (
    Agreement,
    Band,
    Card,
    Chart,
    Classes,
    GoBack,
    Item,
    Kind,
    Limit,
    Point,
    Readback,
    Side,
    State,
    Station,
)
from voicewalk.card.rules import EntryFields, Release, StatusRule, Validity
from voicewalk.card.sides import Laid, lay_out, station_id
from voicewalk.card.source import Place, Source, nearest, together
from voicewalk.card.spoken import ways
from voicewalk.card.written import (
    WrittenAgreement,
    WrittenCard,
    WrittenChart,
    WrittenClasses,
    WrittenFields,
    WrittenLimit,
    WrittenRelease,
    WrittenStates,
    WrittenStation,
    WrittenStatus,
    WrittenValidity,
)
from voicewalk.errors import SourceError, VoicewalkError

_PACKAGE = Path(__file__).resolve().parent.parent
FOLDERS = (_PACKAGE / "grammars", _PACKAGE.parent / "grammars")
"""Where cards and vocabularies lie: in an installed wheel, and beside the package."""

SERVICED = ["before", "after"]
"""What is said before the quantity found, and before the quantity left, unless a card says else."""


def card_path(name_or_path: str) -> Path:
    """The file of a card: a path, or the name of a card that comes with the program."""
    path = Path(name_or_path)
    if path.suffix or path.name != name_or_path:
        return path
    found = find(name_or_path, FOLDERS)
    if found is None:
        raise VoicewalkError(
            f"there is no card named '{name_or_path}'",
            f"Give the path of a card's file, or a name. {nearest(name_or_path, shipped())}",
        )
    return found


def find(name: str, folders: tuple[Path, ...]) -> Path | None:
    """The first file ``name.yaml`` in the folders."""
    files = (folder / f"{name}.yaml" for folder in folders)
    return next((file for file in files if file.is_file()), None)


def vocabulary_paths(card: Card) -> list[Path]:
    """The vocabulary files of a loaded card: those beside it go before those shipped."""
    folders = (Path(card.path).parent, *FOLDERS)
    return [path for name in card.vocabularies if (path := find(name, folders))]


def vocabulary_sources(card: Card) -> list[Source]:
    """The vocabularies of a loaded card as they were read then, or as a record has kept them."""
    folders = (Path(card.path).parent, *FOLDERS)
    return [
        Source(find(name, folders) or Path(name), card.texts.get(name))
        for name in card.vocabularies
    ]


def load_card(path: Path) -> Card:
    """Read, lay out and check a card.

    Raises:
        SourceError: the first fault, with its place; further ones are told in its message.
    """
    return _card(Source(path), None)


def kept_card(text: bytes, vocabularies: Mapping[str, bytes]) -> Card:
    """A card from the bytes of its file and of its vocabularies' files, as a record keeps them.

    It can be looked into, and calls to it be heard again; a walk needs its files.

    Raises:
        SourceError: as ``load_card``.
    """
    return _card(Source(Path("card"), text), vocabularies)


def _card(source: Source, kept: Mapping[str, bytes] | None) -> Card:
    written = source.read(WrittenCard)
    laid = lay_out(written, source)
    places: dict[str, Place] = {one.id: one.place for items in laid for one in items}
    card = Card(
        id=written.id,
        title=written.title,
        version=written.version,
        subject=written.subject,
        caution=" ".join(written.caution.split()),
        vocabularies=tuple(written.vocabularies),
        stations=_stations(written, laid, source),
        after_interruption=written.after_interruption and GoBack(written.after_interruption),
        stand_by_seconds=written.stand_by_seconds,
        entry_fields=_entry_fields(written.entry_fields),
        outline=tuple(_point(point) for point in written.outline),
        release=_release(written.release),
        silent_seconds=written.silent_seconds,
        identity_said=written.identity_said,
        valid=_validity(written.valid),
        status=_status(written.status),
        digest=hashlib.sha256(source.data).hexdigest(),
        path=str(source.path),
    )
    words = _vocabularies(card, source, kept)
    found = faults(card, _families(words.values()))
    if found:
        raise together(_placed(fault, card, places, source) for fault in found)
    texts = {"": source.data} | {name: one.data for name, one in words.items()}
    return replace(card, texts=texts)


def _release(written: WrittenRelease | None) -> Release | None:
    if written is None:
        return None
    return Release(" ".join(written.released.split()), " ".join(written.not_released.split()))


def shipped() -> list[str]:
    """Names of the cards that come with the program: files with stations."""
    files = (file for folder in FOLDERS for file in sorted(folder.glob("*.yaml")))
    return [file.stem for file in files if "stations" in Source(file).keys_of()]


def _vocabularies(
    card: Card, source: Source, kept: Mapping[str, bytes] | None
) -> dict[str, Source]:
    """The card's vocabularies by name: their files, or the bytes that were kept of them."""
    folders = (source.path.parent, *FOLDERS)
    words: dict[str, Source] = {}
    for n, name in enumerate(card.vocabularies):
        path = find(name, folders) if kept is None else Path(name) if name in kept else None
        if path is None:
            raise source.fault(
                ("vocabularies", n),
                f"there is no vocabulary '{name}'",
                f"Put '{name}.yaml' beside the card, or use 'english'.",
            )
        words[name] = Source(path, None if kept is None else kept[name])
    return words


def _families(words: Iterable[Source]) -> set[str]:
    """Names of the defect families in vocabularies.

    Only their keys are read here: what a vocabulary means is ``language``'s.
    """
    return {name for one in words for name in one.keys_of(("families",))} | {GENERAL}


def _placed(fault: Fault, card: Card, places: dict[str, Place], source: Source) -> SourceError:
    """A fault of the card at the place where its item, station or key is written."""
    if fault.item is not None:
        place: Place = (*places[fault.item], *fault.key)
    elif fault.station is not None:
        number = [station.id for station in card.stations].index(fault.station)
        place = ("stations", number, *fault.key)
    else:
        place = fault.key
    return source.fault(place, fault.message, fault.what_to_do)


def _stations(written: WrittenCard, laid: list[list[Laid]], source: Source) -> tuple[Station, ...]:
    groups: dict[str, list[Laid]] = {}
    for one in (one for items in laid for one in items):
        groups.setdefault(one.group, []).append(one)
    return tuple(
        _station(station, items, groups, source)
        for station, items in zip(written.stations, laid, strict=True)
    )


def _station(
    written: WrittenStation, laid: list[Laid], groups: dict[str, list[Laid]], source: Source
) -> Station:
    own = station_id(written)
    items = tuple(_item(one, own, groups, source) for one in laid)
    at = _point(written.at) if written.at else None
    return Station(own, written.station, written.phase, items, at)


def _entry_fields(written: WrittenFields | None) -> EntryFields | None:
    return EntryFields(tuple(written.fields), written.reference) if written else None


def _point(written: list[Decimal]) -> Point:
    return written[0], written[1]


def _item(one: Laid, station: str, groups: dict[str, list[Laid]], source: Source) -> Item:
    written, difference = one.written, one.difference
    kind = _kind(one, source)
    name, *aliases = one.names
    limit = difference.limit or written.limit
    count = written.count if difference.count is None else difference.count
    needs = written.needs if difference.needs is None else difference.needs
    reopened_by = written.reopened_by if difference.reopened_by is None else difference.reopened_by
    values = kind in (Kind.READING, Kind.COUNT, Kind.SERVICING)
    units = written.reading or written.servicing or []
    counted = written.counted or (SERVICED if kind is Kind.SERVICING else [])
    return Item(
        id=one.id,
        group=one.group if one.side and not one.alone else one.id,
        station=station,
        name=name,
        aliases=tuple(aliases),
        bare_names=one.bare_names if one.side and not one.alone else (),
        side=one.side,
        kind=kind,
        states=_states(written.state) + _counted(counted),
        unit=next(iter(units), ""),
        other_units=tuple(units[1:]),
        limit=_limit(limit),
        other_limits=tuple(map(_limit_of, written.other_limits)),
        bands=tuple(Band(band.low, band.high, band.then) for band in written.bands),
        chart=_chart(written.chart, one.side, groups),
        agrees=_agreement(written.agrees),
        classes=_classes(written.classes),
        hold=written.hold or "",
        action=written.action or "",
        expected=count,
        places=_refer(written.places, one.side, groups),
        both=written.both,
        defects=tuple(dict.fromkeys((*written.defects, GENERAL))),
        critical=written.critical,
        second=written.second,
        readback=Readback(written.readback or ("full" if values else "short")),
        needs=_refer(needs, one.side, groups),
        reopened_by=_refer(reopened_by, one.side, groups),
        line=source.line(one.place),
    )


_KINDS = ("state", "reading", "count", "servicing")


def _kind(one: Laid, source: Source) -> Kind:
    """The kind of an item is told by its key."""
    keys = [k for k in _KINDS if k in one.written.model_fields_set]
    if len(keys) > 1:
        raise source.fault(
            (*one.place, keys[1]),
            f"'{one.written.name}' has both '{keys[0]}' and '{keys[1]}'",
            "An item is answered in one way: make two items of it.",
        )
    return Kind(keys[0]) if keys else Kind.CONDITION


def _states(written: WrittenStates | None) -> tuple[State, ...]:
    if written is None:
        return ()
    return (
        *(_state(text, good=True) for text in written.good),
        *(_state(text, stays_open=True) for text in written.on_the_way),
        *(_state(text) for text in written.bad),
    )


def _counted(written: list[str]) -> tuple[State, ...]:
    """What is counted: the last is what closes."""
    last = len(written) - 1
    return tuple(
        _state(text, good=n == last, stays_open=n < last) for n, text in enumerate(written)
    )


def _state(text: str, *, good: bool = False, stays_open: bool = False) -> State:
    name, *others = ways(text)
    return State(name, tuple(others), good, stays_open)


def _chart(written: WrittenChart | None, side: Side, groups: dict[str, list[Laid]]) -> Chart | None:
    if written is None:
        return None
    points = tuple((point[0], point[-1]) for point in written.least if len(point) == 2)
    return Chart(_refer([written.at], side, groups)[0], points, written.reference)


def _agreement(written: WrittenAgreement | None) -> Agreement | None:
    return Agreement(written.within, written.reference) if written else None


def _status(written: WrittenStatus | None) -> StatusRule | None:
    if written is None:
        return None
    return StatusRule(tuple(written.order), written.critical, written.usual, written.reference)


def _validity(written: WrittenValidity | None) -> Validity | None:
    return Validity(written.hours, written.reference, written.flown_hours) if written else None


def _classes(written: WrittenClasses | None) -> Classes | None:
    if written is None:
        return None
    steps = tuple((one.least, one.name) for one in written.by)
    of = tuple(written.of)
    return Classes(written.scheme, written.reference, written.unit, of, steps)


def _limit(written: WrittenLimit | None) -> Limit | None:
    return _limit_of(written) if written else None


def _limit_of(written: WrittenLimit) -> Limit:
    return Limit(written.low, written.high, written.unit, written.reference)


def _refer(references: list[str], side: Side, groups: dict[str, list[Laid]]) -> tuple[str, ...]:
    """Ids for references: the group of a mirrored item is its own side here, else both."""
    ids: list[str] = []
    for reference in references:
        members = groups.get(reference, [])
        same = [one.id for one in members if one.side is side]
        ids.extend(same or [one.id for one in members] or [reference])
    return tuple(ids)


def lexicon_path(card: Card) -> Path:
    """The lexicon of the card's language: it lies beside the card's first vocabulary.

    Raises:
        SourceError: that vocabulary, which a record has kept, is not on this machine.
    """
    name = card.vocabularies[0]
    first = find(name, (Path(card.path).parent, *FOLDERS))
    if first is None:
        raise SourceError(
            f"{name}.yaml", "it is not here, nor its lexicon", "Put both beside the cards."
        )
    return first.with_name(f"{first.stem}-lexicon.tsv")
