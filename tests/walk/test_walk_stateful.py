"""Random walks over random small cards: what must never happen, whatever is said.

The session is simulated with a record that may fail or be slow, and a program that may stop at
any moment. The checks count on their own, from the entries and the effects only.
"""

from __future__ import annotations

import copy
from dataclasses import replace
from decimal import Decimal

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)
from walk_booth import SETTINGS
from walk_cards import REFERENCE, card

from voicewalk.card.model import (
    Agreement,
    Card,
    Chart,
    GoBack,
    Item,
    Kind,
    Limit,
    Readback,
    Side,
    State,
)
from voicewalk.card.rules import StatusRule, Validity
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk.earlier import Earlier, Found, Read
from voicewalk.walk.machine import Walk
from voicewalk.walk.memory import WalkState
from voicewalk.walk.messages import (
    Append,
    Appended,
    AppendFailed,
    Call,
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Effect,
    Finished,
    Input,
    Interrupted,
    Json,
    Listen,
    RemarkSpoken,
    Say,
    SetTimer,
    SoundLost,
    Spoken,
    Start,
    Tick,
    Unclear,
)
from voicewalk.walk.replay import replay
from voicewalk.walk.rules import DUE

VALUES = ("0", "4", "5", "5.0", "7.5", "10", "11")
UNITS = ("", "psi", "inch")
STATES = ("on", "off", "half")
DEFECTS = ("cut", "worn")
PLACES = ("", "outboard")
REASONS = ("", "no stand")


def refs_to(items: tuple[Item, ...]) -> st.SearchStrategy[list[str]]:
    ids = [one.id for one in items]
    return st.lists(st.sampled_from(ids), max_size=2, unique=True) if ids else st.just([])


def pins(items: tuple[Item, ...]) -> tuple[Item, ...]:
    return tuple(one for one in items if one.kind == "state")


@st.composite
def items(draw: st.DrawFn, at: int, before: tuple[Item, ...]) -> tuple[Item, ...]:
    """One item, or the two sides of one. References point back only: no circles."""
    kind = draw(st.sampled_from(Kind))
    counts = kind == "count" and draw(st.booleans())
    places = draw(refs_to(pins(before))) if counts else []
    serviced = kind == "servicing"
    counted = (State("off", (), False, True), State("on", (), True)) if counts or serviced else ()
    states = (State("on", (), True), State("off", (), False))
    if draw(st.booleans()):
        states = (State("on", (), True), State("off", (), False, True))
    ends = draw(st.sampled_from([("5", "10"), ("5", None), (None, "10"), None]))
    bounds = ends and Limit(*(end and Decimal(end) for end in ends), "psi", REFERENCE)
    gauges = [one.id for one in before if one.kind == "reading"]
    agrees, chart = kind == "reading" and draw(st.booleans()), None
    if kind == "reading" and gauges and draw(st.booleans()):
        points = ((Decimal(4), Decimal(5)), (Decimal(10), Decimal(8)))
        chart = Chart(draw(st.sampled_from(gauges)), points, REFERENCE)
    refs = refs_to(before)
    needs, reopened_by = draw(refs), draw(refs)

    def one(side: Side) -> Item:
        return Item(
            id=f"{side}{at}",
            group=str(at),
            station="s",
            name=f"{side} thing {at}".strip(),
            aliases=(),
            bare_names=(f"thing {at}",) if side else (),
            side=side,
            kind=kind,
            states=states if kind == "state" else counted,
            places=tuple(one.id for one in before if one.id in places),
            both=both,
            hold="crew chief" if held else "",
            unit="psi" if kind in ("reading", "servicing") else "",
            limit=bounds if kind in ("reading", "servicing") and not chart else None,
            chart=chart,
            agrees=Agreement(Decimal(3), REFERENCE) if agrees else None,
            expected=5 if kind == "count" else None,
            readback=readback,
            needs=tuple(needs),
            reopened_by=tuple(reopened_by),
        )

    readback = draw(st.sampled_from((Readback.SHORT, Readback.SHORT, Readback.CONFIRM)))
    both, held = draw(st.booleans()), kind == "state" and draw(st.integers(0, 3)) == 0
    sides = draw(st.sampled_from(((Side.NONE,), (Side.LEFT, Side.RIGHT))))
    return tuple(one(side) for side in sides)


@st.composite
def cards(draw: st.DrawFn) -> Card:
    found: tuple[Item, ...] = ()
    for at in range(draw(st.integers(1, 3))):
        found += draw(items(at, found))
    rule = draw(st.sampled_from((None, *GoBack)))
    return replace(
        card(("s", found)),
        after_interruption=rule,
        stand_by_seconds=rule and 60,
        silent_seconds=rule and 300,
        identity_said=draw(st.booleans()),
        valid=draw(st.sampled_from((None, Validity(24, REFERENCE)))),
        status=draw(st.sampled_from((None, StatusRule(("x", "dash"), "x", "dash", REFERENCE)))),
    )


@st.composite
def earlier_records(draw: st.DrawFn, chosen: Card) -> Earlier:
    """What other walks may have left."""
    at, some = "2026-03-04T05:06:07.000Z", st.sampled_from(tuple(chosen))
    found = draw(st.lists(some, max_size=2))
    read = [one for one in chosen if one.kind == "reading" and draw(st.booleans())]
    return Earlier(
        found=tuple(Found(one.id, one.name, at, "open", "cut") for one in found),
        readings=tuple(Read(one.id, "5", "psi", at) for one in read),
    )


def results() -> st.SearchStrategy[Meaning]:
    """What may be said of an item, of whatever kind it is."""
    some = st.sampled_from
    return st.one_of(
        st.just(Meaning(Act.SATISFACTORY)),
        st.just(Meaning(Act.NOT_APPLICABLE)),
        st.just(Meaning(Act.ITEM)),
        st.builds(Meaning, st.just(Act.NOT_INSPECTED), reason=some(REASONS)),
        st.builds(Meaning, st.just(Act.STATE), state=some(STATES)),
        st.builds(Meaning, st.just(Act.READING), value=some(VALUES), unit=some(UNITS)),
        st.builds(
            Meaning, st.just(Act.READING), value=some(VALUES), unit=some(UNITS), state=some(STATES)
        ),
        st.builds(Meaning, st.just(Act.COUNT), value=some(VALUES), state=some(("", *STATES))),
        st.builds(Meaning, st.just(Act.PROMISED), owner=some(("", "ramp"))),
        st.builds(Meaning, st.just(Act.VAGUE), state=st.just("done")),
        st.builds(Meaning, st.just(Act.STATUS), state=some(("x", "dash"))),
        st.builds(Meaning, st.just(Act.DISCREPANCY), defect=some(DEFECTS), place=some(PLACES)),
    )


class RandomWalk(RuleBasedStateMachine):
    """A session that says anything. ``second`` is a second person's name."""

    second = ""

    @initialize(data=st.data(), chosen=cards())
    def start(self, data: st.DataObject, chosen: Card) -> None:
        self.card = chosen
        self.earlier = data.draw(earlier_records(chosen))
        self.walk = Walk(chosen, SETTINGS)
        self.twin = Walk(chosen, SETTINGS)  # hears the same, and must do the same
        self.record: list[tuple[int, Json]] = []
        self.frozen: list[Json] = []
        self.in_flight: Append | None = None
        self.failed = False
        self.slow = False  # the record answers when it is asked to, not at once
        self.timers: list[str] = []
        self.told = 0  # readbacks of results
        self.finished = False
        self.listens = False
        earlier = self.earlier.to_json()
        self.receive(Start("EX-1", "inspector A", earlier=earlier, second=self.second))

    # --- the session -----------------------------------------------------------------------

    def receive(self, given: Input) -> None:
        before = self.walk.memory
        effects = self.walk.receive(given)
        assert self.twin.receive(copy.deepcopy(given)) == effects
        assert self.twin.memory == self.walk.memory
        if not isinstance(given, Appended):
            assert self.walk.memory == before, "the memory changes only by what is kept"
        for effect in effects:
            self.carry_out(effect, given)
        if self.in_flight and not self.slow:
            self.appended()

    def carry_out(self, effect: Effect, given: Input) -> None:
        match effect:
            case Append():
                assert self.in_flight is None or (self.failed and effect == self.in_flight)
                self.in_flight, self.failed = effect, False
            case Say(prompt) if prompt.startswith("recorded-"):
                assert isinstance(given, Appended) or _says_again(given)
                self.told += isinstance(given, Appended)
            case Listen():
                self.listens = True
            case SetTimer(timer):
                self.timers.append(timer)
            case Finished():
                self.finished = True

    def appended(self) -> None:
        assert self.in_flight
        body, seq = self.in_flight.body, len(self.record) * 2 + 1
        self.in_flight = None
        self.check_kept(body)
        self.record.append((seq, body))
        self.frozen.append(copy.deepcopy(body))
        told = self.told
        self.receive(Appended(seq))
        if body["kind"] in ("item", "remark"):
            assert self.told > told, "what is kept is read back"

    def check_kept(self, body: Json) -> None:
        """Nothing follows from silence but the dropping of a question; results have causes."""
        kind, cause = body["kind"], body["input"]["type"]
        if cause == "tick":
            assert kind in ("question dropped", "stood by", "silent", "confirmation")
        if self.must_identify() or self.must_hand_over():
            assert kind not in ("item", "closed")
        if self.must_identify():
            assert kind not in ("command", "handed over")
        if self.to_acknowledge():
            assert kind not in ("item", "closed", "handed over", "question", "asked back")
        if kind == "status":
            assert cause == "call"
            given = [b for _, b in self.record if b["kind"] == "status"]
            same = [one["status"] for one in given if one["entry"] == body["entry"]]
            lower = same[-1:] == ["x"] and body["status"] == "dash"
            assert (body.get("was") == "x") is lower, "nothing is lowered in silence"
        if kind == "acknowledged":
            assert self.to_acknowledge()
            assert cause == "call"
            assert body["input"]["meaning"]["command"] == "affirm"
        if kind == "closed":
            assert cause == "call"
            assert not self.open_by_own_count()
            self.check_balance()
        if kind == "asked back":
            assert len(body["candidates"]) <= len(body.get("offered", body["candidates"])) <= 2
            assert body.get("failures", 0) <= 2
        if kind == "item":
            assert cause == "call" or body["accepted"] == "repeated"
            assert body["result"] != "not inspected" or body["reason"]
            self.check_hold(body)
            self.check_lowering(body)
            self.check_reopening(body)

    def must_identify(self) -> bool:
        """An interruption since the identity was last said, on a card with a rule for it; or it
        was not said yet, where it is said first."""
        rule, kinds = self.card.after_interruption, ("started", "identity")
        if rule is not None:
            kinds = (*kinds, "interrupted", "stood by", "silent")
        last = [body for _, body in self.record if body["kind"] in kinds][-1:]
        first = any(body["kind"] == "started" for body in last)
        away = any(not body.get("matches", False) for body in last)
        return away and (self.card.identity_said or not first)

    def must_hand_over(self) -> bool:
        """A hand-over has begun, and nobody was named or went on."""
        ends = ("handed over", "interrupted", "stood by", "command")
        last = [body for _, body in self.record if body["kind"] in ends][-1:]
        return any(body.get("command") == "hand over" for body in last)

    def to_acknowledge(self) -> bool:
        """Whether more was to be acknowledged, at the start and at the last hand-over, than was."""
        left = 0
        for body in (body for _, body in self.record):
            if body["kind"] == "started":
                left = len(self.earlier.found)
            if body["kind"] == "handed over":
                left = 1  # at the least how many items are not called
            left -= body["kind"] == "acknowledged"
        return left > 0

    def check_lowering(self, body: Json) -> None:
        """No discrepancy gives way but after "affirm" or "correction"."""
        known = {seq: one for seq, one in self.record if one["kind"] == "item"}
        standing = [known[seq]["result"] for seq in self.standing_by_own_count()[body["item"]]]
        number = self.card.by_id[body["item"]].balances and "count" in body
        beside = body["result"] == "open" or number
        if body["result"] != "discrepancy" and not beside and "discrepancy" in standing:
            answered = [one for seq, one in self.record if seq in body.get("answers", [])]
            assert body["accepted"] == "confirmed" or any(map(_corrects, [body, *answered]))

    def check_reopening(self, body: Json) -> None:
        """What the card says to open again, and only that."""
        done = body["result"] in ("satisfactory", "discrepancy")
        changed = body["result"] != "satisfactory"
        closed = set(self.card.by_id) - self.open_by_own_count()
        assert set(body.get("reopens", [])) == {
            item.id
            for item in self.card
            if (done and body["item"] in item.reopened_by)
            or (done and item.chart and item.chart.at == body["item"])
            or (changed and body["item"] in item.places)
        } & (closed - {body["item"]})

    def check_hold(self, body: Json) -> None:
        """Nothing is closed after an open hold point, but by a discrepancy."""
        ids = list(self.card.by_id)
        before = {i for i in ids[: ids.index(body["item"])] if self.card.by_id[i].hold}
        if body["result"] not in ("discrepancy", "open"):
            assert not before & self.open_by_own_count()
            known, stands = dict(self.record), self.standing_by_own_count()
            assert all({known[n]["result"] for n in stands[i]} == {"satisfactory"} for i in before)
        if self.card.by_id[body["item"]].hold:
            assert body["result"] in ("satisfactory", "discrepancy", "open")

    def check_balance(self) -> None:
        """What was counted is the same number, and every place is as the card wants it."""
        known = dict(self.record)
        stands = {i: [known[n] for n in ns] for i, ns in self.standing_by_own_count().items()}
        for item in self.card:
            if not item.balances:
                continue
            counts = [one for one in stands[item.id] if "count" in one]
            if not counts:
                assert stands[item.id][-1]["result"] != "open"
                continue
            assert len({one["count"]["seen"] for one in counts}) == 1
            assert counts[-1].get("state", "on") == "on"
            results = [[one["result"] for one in stands[place]] for place in item.places]
            assert all(set(some) == {"satisfactory"} for some in results)

    def standing_by_own_count(self) -> dict[str, list[int]]:
        """By item, the numbers of the entries that are neither replaced nor withdrawn."""
        kept: dict[str, list[int]] = {one.id: [] for one in self.card}
        for seq, body in self.record:
            if body["kind"] == "item":
                first = body.get("replaces", seq)
                kept[body["item"]] = [one for one in kept[body["item"]] if one < first] + [seq]
            if body["kind"] == "disregarded":
                kept = {item: [n for n in ns if n != body["entry"]] for item, ns in kept.items()}
        return kept

    def open_by_own_count(self) -> set[str]:
        """The open items: nothing stands, or opened again since the last result."""
        again: set[str] = set()
        for item, numbers in self.standing_by_own_count().items():
            said = [body for seq, body in self.record if seq in numbers]
            ends = [one for one in said if "count" in one or one["result"] != "discrepancy"]
            again |= {item} if ends and ends[-1]["result"] == "open" else set()
        opened: set[str] = set()
        for _, body in self.record:
            if body["kind"] == "item":
                opened.discard(body["item"])
            opened |= set(body.get("reopens", []))
        return (
            again
            | opened
            | {item for item, kept in self.standing_by_own_count().items() if not kept}
        )

    def say(self, meaning: Meaning) -> None:
        how = {"how": "sound", "clip": f"{len(self.record):064x}"}
        self.receive(Call(meaning, "words", how))

    # --- what may happen -------------------------------------------------------------------

    @rule(data=st.data(), result=results(), corrects=st.booleans())
    def call(self, data: st.DataObject, result: Meaning, corrects: bool) -> None:
        self.say(self._placed(data, result, corrects))

    @rule(data=st.data(), corrects=st.booleans(), wrong=st.booleans())
    def fitting_call(self, data: st.DataObject, corrects: bool, wrong: bool) -> None:
        """A good or a bad result of the sort that is due."""
        item = data.draw(st.sampled_from(tuple(self.card)))
        said: dict[str, str] = {
            Kind.CONDITION: {"defect": "cut"} if wrong else {},
            Kind.STATE: {"state": "off" if wrong else "on"},
            Kind.READING: {"value": "4" if wrong else "5", "unit": "psi"},
            Kind.COUNT: {"value": "4" if wrong else "5"},
            Kind.SERVICING: {"value": "4" if wrong else "5", "unit": "psi"},
        }[item.kind]
        if item.kind in (Kind.COUNT, Kind.SERVICING) and item.states:
            said["state"] = data.draw(st.sampled_from(("off", "on")))
        act = Act.DISCREPANCY if "defect" in said else DUE[item.kind]
        self.say(Meaning(act, item=item.id, corrects=corrects, **said))

    @rule(command=st.sampled_from((Command.DISREGARD, Command.CORRECTION, Command.NEXT)))
    def frequent_command(self, command: Command) -> None:
        self.command(command)

    def _placed(self, data: st.DataObject, result: Meaning, corrects: bool) -> Meaning:
        """Of an item, of a group, or of nothing; named alone, it is an item or a group."""
        ids = tuple(self.card.by_id)
        groups = tuple(name for name, both in self.card.groups.items() if len(both) == 2)
        bare = () if result.act is Act.ITEM else ("",)
        place = data.draw(st.sampled_from((*ids, *ids, *groups, *bare)))
        where = {"group": place} if place in groups else {"item": place}
        if place in groups:
            where["side"] = data.draw(st.sampled_from(("", "both")))
        fields = {name: getattr(result, name) for name in Meaning.__dataclass_fields__}
        return Meaning(**{**fields, **where, "corrects": corrects})

    @rule(data=st.data(), results=st.lists(results(), max_size=3))
    def unclear(self, data: st.DataObject, results: list[Meaning]) -> None:
        calls = tuple((self._placed(data, one, False), "words") for one in results)
        self.receive(Unclear(calls, {"how": "sound"}))

    @rule(command=st.sampled_from(Command))
    def command(self, command: Command) -> None:
        self.say(Meaning(Act.COMMAND, command=command.value))

    @rule(command=st.sampled_from(Command))
    def unclear_command(self, command: Command) -> None:
        self.receive(Unclear(((Meaning(Act.COMMAND, command=command.value), "words"),)))

    @rule(side=st.sampled_from(("left", "right", "both")))
    def side(self, side: str) -> None:
        self.say(Meaning(Act.SIDE, side=side))

    @rule(signs=st.sampled_from(("EX1", "ex-1", "EX7")))
    def identity(self, signs: str) -> None:
        self.say(Meaning(Act.IDENTITY, value=signs))

    @rule(choice=st.sampled_from(("first", "second")))
    def choice(self, choice: str) -> None:
        self.say(Meaning(Act.CHOICE, choice=choice))

    @rule()
    def affirm(self) -> None:
        self.say(Meaning(Act.COMMAND, command="affirm"))

    @rule()
    def remark(self) -> None:
        self.receive(RemarkSpoken("something", {"how": "sound"}))

    @rule(
        given=st.sampled_from(
            (ClockStepped(5), DeviceLost("gone"), DeviceBack(), SoundLost(8000, 1), Spoken("x"))
        )
    )
    def outside(self, given: Input) -> None:
        self.receive(given)

    @precondition(lambda self: self.timers)
    @rule(data=st.data())
    def tick(self, data: st.DataObject) -> None:
        """Any timer that was ever set may run out, late ones too."""
        timer = data.draw(st.sampled_from(self.timers[-4:]))
        self.receive(Tick(timer))

    @precondition(lambda self: not self.slow)
    @rule()
    def record_is_slow(self) -> None:
        self.slow = True

    @precondition(lambda self: self.slow)
    @rule()
    def record_is_quick_again(self) -> None:
        self.slow = False
        if self.failed:
            self.receive(Tick("append"))
        elif self.in_flight:
            self.appended()

    @precondition(lambda self: self.in_flight and not self.failed)
    @rule()
    def answers(self) -> None:
        self.appended()

    @precondition(lambda self: self.in_flight and not self.failed)
    @rule()
    def fails(self) -> None:
        self.failed = True
        self.receive(AppendFailed("disk full"))

    @precondition(lambda self: self.failed)
    @rule()
    def tries_again(self) -> None:
        self.receive(Tick("append"))
        assert not self.failed

    @precondition(lambda self: not self.slow)
    @rule(data=st.data())
    def sweep(self, data: st.DataObject) -> None:
        """Some of the open items are not inspected, and the walk is closed if that was all."""
        for item in data.draw(st.sampled_from((self.walk.view().open, ("left0",), ("0",)))):
            if item in self.card.by_id:
                self.say(Meaning(Act.NOT_INSPECTED, item=item, reason="no stand"))
                self.affirm()
        self.command(Command.CLOSE)

    @rule(kept=st.booleans(), age=st.sampled_from((1000, 90_000_000)))
    def stops_and_goes_on(self, kept: bool, age: int) -> None:
        """Between an entry's being kept and the walk's hearing of it, too."""
        if kept and self.in_flight and not self.failed:
            self.check_kept(self.in_flight.body)
            self.record.append((len(self.record) * 2 + 1, self.in_flight.body))
            self.frozen.append(copy.deepcopy(self.in_flight.body))
        self.in_flight, self.failed, self.slow = None, False, False
        self.walk = replay(self.card, self.record, SETTINGS)
        self.twin = replay(self.card, self.record, SETTINGS)
        self.failed = bool(self.walk.view().waiting)
        if self.failed:
            (append,) = self.twin_append()
            self.in_flight = append
        if self.walk.view().state is not WalkState.CLOSED:
            self.receive(Interrupted(1000, age_ms=age))

    def twin_append(self) -> tuple[Append, ...]:
        """The entry that is still to be kept, as the machine hands it out when asked."""
        other = replay(self.card, self.record, SETTINGS)
        return tuple(e for e in other.receive(Tick("append")) if isinstance(e, Append))

    # --- what must hold --------------------------------------------------------------------

    @invariant()
    def what_is_open_is_as_counted(self) -> None:
        if not self.in_flight:
            assert set(self.walk.view().open) == self.open_by_own_count()

    @invariant()
    def closed_only_with_nothing_open(self) -> None:
        if self.walk.view().state is WalkState.CLOSED:
            assert self.walk.view().open == ()
            assert self.record[-1][1]["kind"] == "closed"

    @invariant()
    def no_body_is_changed_later(self) -> None:
        assert [body for _, body in self.record] == self.frozen

    @invariant()
    def a_walk_that_is_not_closed_listens(self) -> None:
        if not self.in_flight:
            assert self.listens

    def teardown(self) -> None:
        if not hasattr(self, "card"):
            return
        again = replay(self.card, self.record, SETTINGS)
        assert again.memory.seq == self.record[-1][0]
        if not self.in_flight:
            assert again.memory == self.walk.memory


def _corrects(body: Json) -> bool:
    """Whether the caller said "correction", with this call or alone."""
    said = [body["input"].get("meaning", {}), body.get("call", {}).get("meaning", {})]
    said += [one["meaning"] for one in body.get("candidates", [])]
    return any(one.get("corrects") for one in said) or body.get("command") == "correction"


def _says_again(given: Input) -> bool:
    return isinstance(given, Call) and given.meaning.command == Command.SAY_AGAIN


RandomWalk.TestCase.settings = settings(max_examples=100, stateful_step_count=40, deadline=None)
TestRandomWalk = RandomWalk.TestCase
