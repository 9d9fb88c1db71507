"""Classes and bands of findings against published schemes, where the border matters."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from walk_booth import meaning
from walk_cards import OIL, item, limit

from voicewalk.card.model import Band, Kind
from voicewalk.walk import measure, rules
from voicewalk.walk.ledger import Ledger
from voicewalk.walk.terms import Accepted, Utterance


# FAA-H-8083-31, fuel leaks by wetted size after 30 minutes (second-hand): stain under 3/4 inch,
# seep 3/4 to 1 1/2, heavy seep 1 1/2 to 4. Exactly 1 1/2 stands in two classes: the worse counts.
@pytest.mark.parametrize(
    ("size", "grade"),
    [
        ("0.5", "stain"),
        ("0.75", "seep"),
        ("1.4", "seep"),
        ("1.5", "heavy seep"),
        ("4", "heavy seep"),
    ],
)
def test_a_leak_is_of_the_worse_class_on_the_border(size: str, grade: str):
    call = Utterance(meaning(f"line: defect seep size {size} inch"), "")
    made = rules.entered(OIL.by_id["line"], call, Accepted.TYPED)
    assert made.discrepancy
    assert made.discrepancy.grade == grade
    assert made.discrepancy.scheme == "leak classes by wetted size"


@pytest.mark.parametrize("size", ["", " size 38 millimetre"])
def test_a_leak_without_a_size_in_inches_has_no_class(size: str):
    call = Utterance(meaning(f"line: defect seep{size}"), "")
    made = rules.entered(OIL.by_id["line"], call, Accepted.TYPED)
    assert made.discrepancy
    assert made.discrepancy.to_json()["scheme"] == "leak classes by wetted size"
    assert not made.discrepancy.grade


def bands(reference: int) -> tuple[Band, ...]:
    """Action bands in per cent of a reference pressure (memory; one row corroborated)."""
    shares = ((80, "remove it and its axle mate"), (90, "remove"), (95, "inspect and log"))
    return tuple(Band(None, Decimal(reference) * share / 100, then) for share, then in shares)


# NASA ASRS ACN 1273821 (seen): range 174 to 184 psi, reading 160 psi. 160 is 92.0 % of 174 and
# 87.0 % of 184: the band depends on the reference pressure, so a limit names its reference.
@pytest.mark.parametrize(("reference", "then"), [(174, "inspect and log"), (184, "remove")])
def test_the_band_of_a_tyre_depends_on_the_reference_pressure(reference: int, then: str):
    tyre = item("tyre", Kind.READING, unit="psi", limit=limit("174", "184"))
    tyre = replace(tyre, bands=bands(reference))
    call = Utterance(meaning("tyre: reading 160 psi"), "")
    made = rules.entered(tyre, call, Accepted.TYPED)
    made = measure.judged(OIL, Ledger(OIL), tyre, made)
    assert made.reading
    assert made.reading.then == then
