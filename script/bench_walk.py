"""How long a walk takes over an input on a card of 1,000 items, and over what it listens for:
"script/bench walk". No ears and no disk.

Beside it, in the same run, what any record costs: canonical JSON (RFC 8785) and SHA-256 of each
entry. Ends with 1 where the aims are missed: an input under 1 ms in the median, what is listened
for under 50 ms at the worst.
"""

from __future__ import annotations

import hashlib
import sys
import time
from collections.abc import Iterator
from decimal import Decimal
from statistics import median, quantiles

import rfc8785

from voicewalk.card.model import Card, Item, Kind, Limit, Side, State, Station
from voicewalk.hearing.ears import starts_of
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.language.spelling import SIGNS
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.settings import WalkSettings
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import Append, Appended, Call, Effect, Input, Listen, Start

ITEMS, ENTRIES, IN_STATION = 1_000, 10_000, 25
REFERENCE = "invented for the measurement"


def large_card() -> Card:
    """Items of every kind in stations of 25, each with a name of its own."""
    words = [word for sign, word in SIGNS.items() if sign.isalpha()]
    stations = []
    for first in range(0, ITEMS, IN_STATION):
        ids = range(first, first + IN_STATION)
        items = tuple(_item(n, words) for n in ids)
        stations.append(Station(f"s{first}", f"station {first}", "power off", items))
    return Card(
        id="large",
        title="large",
        version="1",
        subject="aircraft",
        caution="Invented.",
        vocabularies=("english",),
        stations=tuple(stations),
        path="large.yaml",
    )


def _item(n: int, words: list[str]) -> Item:
    kind = (Kind.CONDITION, Kind.STATE, Kind.READING, Kind.COUNT)[n % 4]
    name = f"panel {words[n // 26 // 26 % 26]} {words[n // 26 % 26]} {words[n % 26]}"
    states = (State("closed", (), True), State("open", ("not closed",), False))
    return Item(
        id=f"i{n}",
        group=f"i{n}",
        station=f"s{n // IN_STATION * IN_STATION}",
        name=name,
        aliases=(),
        bare_names=(),
        side=Side.NONE,
        kind=kind,
        states=states if kind is Kind.STATE else (),
        unit="psi" if kind is Kind.READING else "",
        limit=Limit(Decimal(100), Decimal(200), "psi", REFERENCE) if kind is Kind.READING else None,
        expected=3 if kind is Kind.COUNT else None,
        defects=("general",),
        needs=(f"i{n - 1}",) if n % 10 == 1 else (),
        reopened_by=(f"i{n - 2}",) if n % 10 == 2 else (),
    )


def calls(card: Card) -> Iterator[Meaning]:
    """Without end: results of the items in turn, now and then a discrepancy or a command."""
    number = 0
    while True:
        for item in card:
            number += 1
            if number % 50 == 0:
                yield Meaning(Act.COMMAND, command=Command.NEXT.value)
            if number % 30 == 0:
                yield Meaning(Act.DISCREPANCY, item=item.id, defect="loose")
                yield Meaning(Act.COMMAND, command=Command.DISREGARD.value)
            value = str(100 + number % 90)
            yield {
                Kind.CONDITION: Meaning(Act.SATISFACTORY, item=item.id),
                Kind.STATE: Meaning(Act.STATE, item=item.id, state="closed"),
                Kind.READING: Meaning(Act.READING, item=item.id, value=value, unit="psi"),
                Kind.COUNT: Meaning(Act.COUNT, item=item.id, value="3"),
            }[item.kind]


class Timed:
    """A walk whose inputs are timed, with a record that keeps everything at once."""

    def __init__(self, card: Card) -> None:
        self.walk = Walk(card, WalkSettings())
        self.seconds: list[float] = []
        self.kept: list[dict[str, object]] = []
        self.listens: list[Listen] = []

    def give(self, given: Input) -> None:
        """One input and all that follows from it."""
        for effect in self._receive(given):
            if isinstance(effect, Append):
                self.kept.append(effect.body)
                self.give(Appended(len(self.kept)))
            elif isinstance(effect, Listen):
                self.listens.append(effect)

    def _receive(self, given: Input) -> tuple[Effect, ...]:
        begun = time.perf_counter()
        effects = self.walk.receive(given)
        self.seconds.append(time.perf_counter() - begun)
        return effects


def main() -> bool:
    """Measure and tell; whether the aims are reached."""
    card = large_card()
    timed = Timed(card)
    timed.give(Start("M07", "measurement"))
    for meaning in calls(card):
        if len(timed.kept) >= ENTRIES:
            break
        timed.give(Call(meaning, "words", {"how": "sound", "clip": "ab" * 32}))
    begun = time.perf_counter()
    for body in timed.kept:
        hashlib.sha256(rfc8785.dumps(body)).digest()
    peer = (time.perf_counter() - begun) / len(timed.kept)

    begun = time.perf_counter()
    graph = phrase_graph(card, vocabulary_of(card), answers=False)
    built = time.perf_counter() - begun
    changes = []
    for listen in timed.listens[:: max(1, len(timed.listens) // 1000)]:
        begun = time.perf_counter()
        starts_of(graph, listen.expectation)
        changes.append(time.perf_counter() - begun)
    middle, worst = median(timed.seconds), quantiles(timed.seconds, n=100)[98]
    print(f"{len(card)} items, {len(timed.kept)} entries, {len(timed.seconds)} inputs")
    print(f"an input: {middle * 1000:.3f} ms in the median, {worst * 1000:.3f} ms at the 99th")
    print(f"  beside canonical JSON and SHA-256 of an entry: {middle / peer:.1f} times")
    print(f"what is listened for: {max(changes) * 1000:.3f} ms at the worst of {len(changes)}")
    print(f"the phrase graph, once before the walk: {built:.1f} s, {len(graph.arcs)} arcs")
    return middle < 0.001 and max(changes) < 0.05


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
