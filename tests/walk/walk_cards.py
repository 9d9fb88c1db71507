"""Small invented cards, made from the model directly. Every limit is invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

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
    Readback,
    Side,
    State,
    Station,
)
from voicewalk.card.rules import StatusRule, Validity
from voicewalk.walk.earlier import Earlier, Found, Read, SentBack, Skipped

REFERENCE = "invented for tests"

OXYGEN = ((Decimal(-30), Decimal(1250)), (Decimal(20), Decimal(1600)))
"""What 84 % is at two temperatures (TM 1-1510-262-10, seen), degrees C and psig."""


def item(id: str, kind: Kind = Kind.CONDITION, **more: object) -> Item:
    """An item called as its id, hyphens read as blanks."""
    given = {
        "group": id,
        "station": "nose",
        "name": id.replace("-", " "),
        "aliases": (),
        "bare_names": (),
        "side": Side.NONE,
        **more,
    }
    return Item(id=id, kind=kind, **given)


def pair(id: str, kind: Kind = Kind.CONDITION, **more: object) -> tuple[Item, Item]:
    """The two sides of a mirrored item; references to "~x" mean the same side of x."""

    def one(side: Side) -> Item:
        refs = {
            key: tuple(ref.replace("~", f"{side}-") for ref in more[key])
            for key in ("needs", "reopened_by")
            if key in more
        }
        bare = (id.replace("-", " "),)
        of = {"group": id, "side": side, "bare_names": bare}
        return item(f"{side}-{id}", kind, **{**of, **more, **refs})

    return one(Side.LEFT), one(Side.RIGHT)


def state(good: str, *bad: str) -> tuple[State, ...]:
    return (State(good, (), True), *(State(name, (), False) for name in bad))


def on_the_way(good: str, before: str) -> tuple[State, ...]:
    """A state that is wanted, one before it, and its opposite."""
    return (State(good, (), True), State(before, (), False, True), State(f"not {good}", (), False))


def counted(*names: str) -> tuple[State, ...]:
    """What is counted one after the other."""
    return tuple(State(one, (), one == names[-1], one != names[-1]) for one in names)


def limit(low: str | None, high: str | None, unit: str = "psi") -> Limit:
    low_high = (None if end is None else Decimal(end) for end in (low, high))
    return Limit(*low_high, unit, REFERENCE)


def card(*stations: tuple[str, tuple[Item, ...]], subject: str = "aircraft") -> Card:
    return Card(
        id="tests",
        title="walk for tests",
        version="1",
        subject=subject,
        caution="Invented. Technical orders rule.",
        vocabularies=("english",),
        stations=tuple(Station(id, f"{id} station", "power off", items) for id, items in stations),
        digest="c0ffee",
    )


def _at(station: str, *items: Item) -> tuple[str, tuple[Item, ...]]:
    return station, tuple(replace(one, station=station) for one in items)


TRAINER = card(
    _at(
        "nose",
        item("radome", defects=("skin",)),
        *pair("cover", Kind.STATE, states=state("removed", "installed", "not removed")),
        *pair("probe", needs=("~cover",)),
        item("door", Kind.STATE, states=state("locked", "not locked")),
        item("gear-pins", Kind.COUNT, expected=5),
    ),
    _at(
        "gear",
        *pair("tyre", defects=("tyre",)),
        *pair("tyre-pressure", Kind.READING, unit="psi", limit=limit("200", "220")),
        item("brake-pin", Kind.READING, unit="inch"),
        item("strut", Kind.READING, unit="inch", limit=limit("2.5", None, "inch")),
    ),
    _at(
        "engine",
        item(
            "oxygen",
            Kind.READING,
            unit="psi",
            limit=limit("1500", "1850"),
            readback=Readback.CONFIRM,
        ),
        item("engine-run"),
        item("bay-recheck", reopened_by=("engine-run",), needs=("engine-run",)),
    ),
)
"""One item of every sort: mirrored, counted, measured, confirmed, needing, reopened."""

PAIR = card(_at("nose", item("radome"), item("plug", Kind.STATE, states=state("out", "in"))))
"""Two items: a walk that is soon closed."""

TRIO = card(
    _at("bay", item("lamp"), item("pump"), item("recheck", reopened_by=("pump",))),
    subject="vehicle",
)
"""Three items, the last of which the second opens again; nothing of an aircraft."""

ACCOUNTS = card(
    _at(
        "nose",
        item("nose-pin", Kind.STATE, states=on_the_way("removed", "installed")),
        *pair("main-pin", Kind.STATE, states=on_the_way("removed", "installed")),
        *pair("port", both=True, bare_names=("port",)),
    ),
    _at(
        "tail",
        item("gear-pins", Kind.COUNT, expected=3, states=counted("installed", "removed"),
             places=("nose-pin", "left-main-pin", "right-main-pin")),
        item("covers", Kind.COUNT, expected=3, states=counted("fitted", "removed")),
    ),
)  # fmt: skip
"""Counts that must balance, with places and without, and an item whose sides are called at once."""

BOTTLES = card(
    _at(
        "bay",
        item("temperature", Kind.READING, unit="degree celsius"),
        item("bottle", Kind.READING, unit="psig", chart=Chart("temperature", OXYGEN, REFERENCE)),
        *pair(
            "strut",
            Kind.READING,
            unit="inch",
            limit=limit("2", "4", "inch"),
            agrees=Agreement(Decimal("0.5"), REFERENCE),
            bands=(Band(None, Decimal("1.5"), "remove"), Band(None, Decimal(2), "add nitrogen")),
        ),
    ),
)
"""Readings judged by a chart, by the other side and by bands."""

OIL = card(
    _at(
        "bay",
        item("oil", Kind.SERVICING, unit="quart", limit=limit("5", "7", "quart"),
             states=counted("before", "after")),
        item("line", defects=("leak",), classes=Classes(
            "leak classes by wetted size", "FAA-H-8083-31 (second-hand)", "inch", ("seep", "stain"),
            tuple((Decimal(least), name) for least, name in
                  (("0", "stain"), ("0.75", "seep"), ("1.5", "heavy seep"))))),
        item("tyre", Kind.READING, unit="psi", other_units=("bar", "percent"),
             limit=limit("200", "220"), other_limits=(limit("14", "15", "bar"),)),
    ),
)  # fmt: skip
"""Servicing, a finding that a scheme classes, and a reading in more than one unit."""

FORM = replace(
    card(_at("nose", item("radome"), item("pin", critical=True))),
    status=StatusRule(("x", "circled x", "dash", "diagonal"), "x", "diagonal", REFERENCE),
)
"""Discrepancies get a status of the form."""

HELD = card(
    _at(
        "nose",
        item("lamp", Kind.STATE, states=state("lit", "not lit"), action="switch on"),
        item("propeller-hold", Kind.STATE, states=state("confirmed", "not confirmed"),
             hold="crew chief"),
        *pair("blade", both=True),
    ),
)  # fmt: skip
"""An operational check, and a hold point before the last items."""

_STOPS = card(
    _at("nose", item("lamp"), item("door"), item("plug", Kind.STATE, states=state("out", "in"))),
    _at("tail", item("rudder"), *pair("fin")),
    _at("end", item("plugs", Kind.COUNT, expected=1, places=("plug",))),
)
STOPS = replace(_STOPS, after_interruption=GoBack.THREE, stand_by_seconds=120)
STOPS_STATION = replace(_STOPS, after_interruption=GoBack.STATION)
STOPS_RESUME = replace(_STOPS, after_interruption=GoBack.RESUME)
"""Cards with a rule for interruptions."""

OLD = replace(_STOPS, valid=Validity(24, REFERENCE))
"""A walk that does not count any more after a day."""

SHIFTS = replace(STOPS, id="shifts", identity_said=True, silent_seconds=300, valid=OLD.valid)
SHIFTS_BARE = replace(_STOPS, id="shifts")
SHIFTS_READ = replace(
    card(_at("nose", item("strut", Kind.READING, unit="psi", limit=limit("5", "40")))), id="shifts"
)
"""Cards of walks after others: begun with the identity, with no rule at all, and with a reading."""

CREW = card(
    _at(
        "nose",
        item("nose-pin", Kind.STATE, states=on_the_way("removed", "installed"), critical=True),
        item("plug", Kind.STATE, states=on_the_way("removed", "installed")),
        item("door", defects=("panel",)),
        item("pins", Kind.COUNT, expected=1, states=counted("installed", "removed"),
             places=("nose-pin",)),
    ),
)  # fmt: skip
"""Something of every sort that is told at a hand-over."""

EARLIER = Earlier(
    wall="2026-03-04T05:06:07.000Z",
    expired="24",
    found=(
        Found(
            "lamp", "lamp", "2026-03-04T05:00:00.000Z", "open", "cracked", "outboard", status="x"
        ),
        Found("door", "door", "2026-03-04T05:01:00.000Z", "withdrawn", "loose"),
    ),
    sent_back=(SentBack("rudder", "rudder", "look again", "2026-03-04T06:00:00.000Z"),),
    skipped=(Skipped("plug", "plug", "3", "5"),),
)
READ_BEFORE = Earlier(readings=(Read("strut", "10", "psi", "2026-03-04T05:02:00.000Z"),))

TWO = card(
    _at(
        "nose",
        item("radome", second=True),
        item("latch", Kind.STATE, states=state("locked", "not locked"), second=True),
        item("lamp"),
    ),
    _at(
        "gear",
        *pair("tyre-pressure", Kind.READING, unit="psi", limit=limit("90", "120"), second=True),
        item("gear-pins", Kind.COUNT, expected=5, second=True),
    ),
    _at("end", item("check", reopened_by=("latch",))),
)
"""Items that a second person confirms."""

CARDS = {
    "two": TWO,
    "trainer": TRAINER,
    "pair": PAIR,
    "trio": TRIO,
    "accounts": ACCOUNTS,
    "bottles": BOTTLES,
    "held": HELD,
    "oil": OIL,
    "form": FORM,
    "stops": STOPS,
    "stops-station": STOPS_STATION,
    "stops-resume": STOPS_RESUME,
    "shifts": SHIFTS,
    "shifts-bare": SHIFTS_BARE,
    "shifts-read": SHIFTS_READ,
    "old": OLD,
    "crew": CREW,
}
