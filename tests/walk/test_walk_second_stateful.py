"""Random walks with two people: nothing is closed unconfirmed, and nothing confirmed but by a
matching answer of the second person.

The walk, its record and its failures are those of ``test_walk_stateful``.
"""

from __future__ import annotations

from dataclasses import replace

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule
from test_walk_stateful import RandomWalk, cards, results

from voicewalk.card.model import Card, Kind
from voicewalk.clock import Instant
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.record.chain import Entry
from voicewalk.record.summary import summary
from voicewalk.walk.messages import SECOND, Call, Json, Unclear
from voicewalk.walk.rules import DUE


@st.composite
def two_person_cards(draw: st.DrawFn) -> Card:
    """Cards of which some items are confirmed by the second person, in one station or two."""
    card = draw(cards())
    (station,) = card.stations
    items = tuple(replace(item, second=draw(st.integers(0, 2)) > 0) for item in station.items)
    if draw(st.booleans()):
        return replace(card, stations=(replace(station, items=items),))
    first = items[0].group
    here = tuple(item for item in items if item.group == first)
    there = tuple(replace(item, station="t") for item in items if item.group != first)
    stations = (replace(station, items=here), replace(station, id="t", items=there))
    return replace(card, stations=tuple(one for one in stations if one.items))


class TwoPersonWalk(RandomWalk):
    """Two people who say anything."""

    second = "second B"

    @initialize(data=st.data(), chosen=two_person_cards())
    def start(self, data: st.DataObject, chosen: Card) -> None:
        super().start(data, chosen)

    def check_kept(self, body: Json) -> None:
        super().check_kept(body)
        if body["input"].get("by") == SECOND:
            assert body["kind"] == "confirmation", "the second person makes no result"
        if body["kind"] == "confirmation":
            self.check_confirmation(body)
        if body["kind"] == "item":
            marked = self.card.by_id[body["item"]].second and body["result"] != "open"
            assert body.get("second", False) is marked
        if body["kind"] == "closed":
            assert not self.unconfirmed_by_own_count()

    def check_confirmation(self, body: Json) -> None:
        """Of an entry that stands; confirmed by nothing but the same said by the second person."""
        entry = dict(self.record)[body["entry"]]
        assert body["entry"] in self.standing_by_own_count()[body["item"]]
        assert body["item"] not in self.open_by_own_count()
        opens = body["finding"] in ("differs", "negative")
        assert (body["item"] in body.get("reopens", ())) is opens
        if body["input"]["type"] == "tick":
            assert body["finding"] == "silence"
            return
        assert body["input"]["by"] == SECOND
        if body["finding"] == "confirmed":
            assert body["input"]["type"] == "call"
            assert _is_the_same(entry, body["input"]["meaning"])

    def unconfirmed_by_own_count(self) -> set[int]:
        """Numbers of the standing entries that are to be confirmed and are not."""
        known, still_open = dict(self.record), self.open_by_own_count()
        done = {
            body["entry"]
            for _, body in self.record
            if body["kind"] == "confirmation" and body["finding"] == "confirmed"
        }
        return {
            number
            for item, numbers in self.standing_by_own_count().items()
            for number in numbers
            if item not in still_open and known[number].get("second") and number not in done
        }

    def second_says(self, meaning: Meaning) -> None:
        self.receive(Call(meaning, "words", {"how": "sound"}, by=SECOND))

    @rule(data=st.data(), result=results(), named=st.booleans())
    def second_calls(self, data: st.DataObject, result: Meaning, named: bool) -> None:
        item = data.draw(st.sampled_from(tuple(self.card.by_id)))
        named = named or result.act is Act.ITEM
        self.second_says(replace(result, item=item if named else ""))

    @rule(wrong=st.integers(0, 3), named=st.booleans())
    def second_answers(self, wrong: int, named: bool) -> None:
        """Mostly what the inspector said."""
        asked = self.walk.memory.second.asked(self.walk.memory.ledger)
        if asked is None:
            return
        entered = asked.entered
        item = entered.item if named else ""
        kind = self.card.by_id[entered.item].kind
        said = {
            Kind.STATE: {"state": entered.state or "on"},
            Kind.READING: {"value": entered.reading.value if entered.reading else "5"},
            Kind.COUNT: {"value": entered.count.seen if entered.count else "5"},
        }.get(kind, {})
        if not wrong:
            said = {key: {"on": "off", "5": "4"}.get(value, "5") for key, value in said.items()}
        self.second_says(Meaning(DUE[kind], item=item, **said))

    @rule(command=st.sampled_from(Command))
    def second_commands(self, command: Command) -> None:
        self.second_says(Meaning(Act.COMMAND, command=command.value))

    @rule()
    def second_affirms(self) -> None:
        self.second_says(Meaning(Act.COMMAND, command="affirm"))

    @rule()
    def second_says_roger(self) -> None:
        self.second_says(Meaning(Act.ACKNOWLEDGED, state="roger"))

    @rule(results=st.lists(results(), max_size=2))
    def second_is_unclear(self, results: list[Meaning]) -> None:
        calls = tuple((one, "words") for one in results if one.act is not Act.ITEM)
        self.receive(Unclear(calls, {"how": "sound"}, by=SECOND))

    @invariant()
    def what_is_unconfirmed_is_as_counted(self) -> None:
        if not self.in_flight:
            known = dict(self.record)
            items = {known[number]["item"] for number in self.unconfirmed_by_own_count()}
            assert set(self.walk.view().unconfirmed) == items

    def teardown(self) -> None:
        """The record tells the same by itself, without the walk and without the card."""
        super().teardown()
        if hasattr(self, "card"):
            at = Instant("2031-04-02T06:00:00.000Z", 0)
            told = summary(Entry(seq, 1, at, body) for seq, body in self.record)
            numbers = {line.entry.seq for line in told.unconfirmed}
            assert numbers == self.unconfirmed_by_own_count()


def _is_the_same(entry: Json, said: Json) -> bool:
    """Whether an answer says what an entry says: counted here without the walk's own rule."""
    if "reading" in entry:
        units = ("", entry["reading"]["unit"])
        return said["value"] == entry["reading"]["value"] and said.get("unit", "") in units
    if "count" in entry:
        states = ("", entry.get("state", ""))
        return said["value"] == entry["count"]["seen"] and said.get("state", "") in states
    if "state" in entry:
        return said.get("state") == entry["state"]
    if said.get("command") == "affirm":
        return True
    if "discrepancy" in entry:
        return said.get("defect") == entry["discrepancy"]["defect"]
    return said["act"] == entry["result"]


TwoPersonWalk.TestCase.settings = settings(max_examples=100, stateful_step_count=40, deadline=None)
TestTwoPersonWalk = TwoPersonWalk.TestCase
