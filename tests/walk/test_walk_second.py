"""What an answer of the second person comes to, of every sort of entry; who may be which person."""

from __future__ import annotations

import pytest
from walk_booth import SETTINGS
from walk_cards import PAIR, counted, item, limit, state

from voicewalk.card.model import Item, Kind
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.walk.confirmations import same_person
from voicewalk.walk.entries import Entered
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import Start
from voicewalk.walk.second_person import same_digits, weigh
from voicewalk.walk.terms import Accepted, Finding, Result
from voicewalk.walk.values import Count, Defect, Reading

TYRE = item("tyre", Kind.READING, unit="psi", limit=limit("90", "120"))
TWO_UNITS = item("tyre", Kind.READING, unit="psi", other_units=("bar",))
LATCH = item("latch", Kind.STATE, states=state("locked", "not locked"))
PINS = item("pins", Kind.COUNT, expected=5)
COVERS = item("covers", Kind.COUNT, expected=3, states=counted("fitted", "removed"))
SKIN = item("skin")


def entered(of: Item, result: Result = Result.SATISFACTORY, **more: object) -> Entered:
    return Entered(of.id, of.name, of.station, result, Accepted.TYPED, **more)


def psi(value: str) -> Entered:
    return entered(TYRE, reading=Reading("", value, "psi"))


def read(value: str, unit: str = "", act: Act = Act.READING, **more: str) -> Meaning:
    return Meaning(act, value=value, unit=unit, **more)


def command(name: str) -> Meaning:
    return Meaning(Act.COMMAND, command=name)


@pytest.mark.parametrize(
    ("value", "said", "finding"),
    [
        ("95", read("95"), Finding.CONFIRMED),
        ("95", read("95", "psi"), Finding.CONFIRMED),
        ("95", read("95", act=Act.COUNT), Finding.CONFIRMED),  # a bare number
        ("95", read("55"), Finding.DIFFERS),
        ("95", read("95", "bar"), Finding.DIFFERS),
        ("95", read("95.0"), Finding.DIFFERS),
        ("-5", read("-5"), Finding.CONFIRMED),
        ("-5", read("5"), Finding.DIFFERS),
        ("0", read("0"), Finding.CONFIRMED),
        ("95", Meaning(Act.DISCREPANCY, defect="cut"), Finding.DIFFERS),
        ("95", Meaning(Act.NOT_INSPECTED), Finding.DIFFERS),
        ("95", Meaning(Act.SATISFACTORY), Finding.NO_ANSWER),
        ("95", Meaning(Act.ITEM, item="tyre"), Finding.NO_ANSWER),
        ("95", Meaning(Act.VAGUE, state="checked"), Finding.NO_ANSWER),
        ("95", Meaning(Act.ACKNOWLEDGED, state="roger"), Finding.NO_ANSWER),
        ("95", Meaning(Act.PROMISED, owner="ramp"), Finding.NO_ANSWER),
        ("95", Meaning(Act.SIDE, side="left"), Finding.NO_ANSWER),
        ("95", Meaning(Act.CHOICE, choice="second"), Finding.NO_ANSWER),
        ("95", read("95", group="tyre"), Finding.NO_ANSWER),  # the side was not said
        ("95", command("affirm"), Finding.NO_ANSWER),
        ("95", command("negative"), Finding.NEGATIVE),
    ],
)
def test_a_reading_is_said_again(value: str, said: Meaning, finding: Finding):
    assert weigh(TYRE, psi(value), said) is finding


@pytest.mark.parametrize(
    "name", [one for one in Command if one not in (Command.AFFIRM, Command.NEGATIVE)]
)
def test_no_other_command_is_an_answer(name: Command):
    for one, of in ((psi("95"), TYRE), (entered(SKIN), SKIN)):
        assert weigh(of, one, command(name)) is Finding.NO_ANSWER


def test_a_number_without_its_unit_confirms_nothing_where_there_are_two():
    assert weigh(TWO_UNITS, psi("95"), read("95")) is Finding.NO_ANSWER
    assert weigh(TWO_UNITS, psi("95"), read("55")) is Finding.DIFFERS
    assert weigh(TWO_UNITS, psi("95"), read("95", "bar")) is Finding.DIFFERS
    assert weigh(TWO_UNITS, psi("95"), read("95", "psi")) is Finding.CONFIRMED


@pytest.mark.parametrize(
    ("one", "said", "finding"),
    [
        (entered(LATCH, state="locked"), Meaning(Act.STATE, state="locked"), Finding.CONFIRMED),
        (entered(LATCH, state="locked"), Meaning(Act.STATE, state="not locked"), Finding.DIFFERS),
        (entered(LATCH, state="locked"), command("affirm"), Finding.NO_ANSWER),
        (entered(PINS, count=Count("5")), read("5", act=Act.COUNT), Finding.CONFIRMED),
        (entered(PINS, count=Count("5")), read("4", act=Act.COUNT), Finding.DIFFERS),
        (entered(PINS, count=Count("5")), command("affirm"), Finding.NO_ANSWER),
        (entered(SKIN), command("affirm"), Finding.CONFIRMED),
        (entered(SKIN), Meaning(Act.SATISFACTORY), Finding.CONFIRMED),
        (entered(SKIN), Meaning(Act.DISCREPANCY, defect="cut"), Finding.DIFFERS),
        (entered(SKIN), Meaning(Act.NOT_APPLICABLE), Finding.DIFFERS),
        (entered(SKIN, Result.NOT_INSPECTED, reason="no stand"), command("affirm"),
         Finding.CONFIRMED),
        (entered(SKIN, Result.NOT_INSPECTED, reason="no stand"),
         Meaning(Act.NOT_INSPECTED, reason="weather"), Finding.DIFFERS),
    ],
)  # fmt: skip
def test_every_other_entry(one: Entered, said: Meaning, finding: Finding):
    of = {each.id: each for each in (LATCH, PINS, SKIN)}[one.item]
    assert weigh(of, one, said) is finding


@pytest.mark.parametrize("place", ["", "outboard"])
def test_a_defect_is_the_same_in_all_that_was_said_of_it(place: str):
    one = entered(SKIN, Result.DISCREPANCY, discrepancy=Defect("cut", "outboard"))
    said = Meaning(Act.DISCREPANCY, defect="cut", place=place)
    assert (weigh(SKIN, one, said) is Finding.CONFIRMED) is bool(place)


def test_what_was_counted_must_be_the_same():
    one = entered(COVERS, state="removed", count=Count("3"))
    for counted_state, finding in (
        ("", Finding.CONFIRMED),
        ("removed", Finding.CONFIRMED),
        ("fitted", Finding.DIFFERS),
    ):
        assert weigh(COVERS, one, read("3", act=Act.COUNT, state=counted_state)) is finding


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [("95", "95", True), ("95", "55", False), ("3.5", "3.50", False), ("0.5", ".5", True)],
)
def test_digits_are_compared_one_by_one(one: str, other: str, same: bool):
    assert same_digits(one, other) is same


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Tamsin Orlo", "tamsin  orlo", True),
        ("Tamsin Orlo", "TAMSIN-ORLO", True),
        ("Groß", "GROSS", True),
        ("Tamsin Orlo", "Tamsin Orla", False),
    ],
)
def test_one_identity_is_one_person(one: str, other: str, same: bool):
    assert same_person(one, other) is same
    walk = Walk(PAIR, SETTINGS)
    if same:
        with pytest.raises(ValueError, match="second person too"):
            walk.receive(Start("EX-1", one, second=other))
    else:
        assert walk.receive(Start("EX-1", one, second=other))
