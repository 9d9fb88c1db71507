"""The gas law against a handbook's worked examples, and against a chart that it misses."""

from __future__ import annotations

from decimal import Decimal

import pytest

from voicewalk.card.gas import beyond, pressure
from voicewalk.card.model import Chart

PSI_F = {"unit": "psi", "degrees": "degree fahrenheit"}


# FAA-H-8083-30, worked examples (second-hand; recomputed with the handbook's 460 and 14.7).
def test_oxygen_that_is_warmed():
    warm = pressure(Decimal(750), Decimal(70), Decimal(140), **PSI_F)
    assert warm is not None
    assert round(warm) == 851


def test_argon_that_is_pressed_and_warmed():
    """From 20 to 15 cubic feet, and from 60 to 90 degrees F: the volume is the reader's."""
    pressed = (Decimal(1000) + Decimal("14.7")) * 20 / 15 - Decimal("14.7")
    warm = pressure(pressed, Decimal(60), Decimal(90), **PSI_F)
    assert warm is not None
    assert round(warm, 1) == Decimal("1416.3")


def test_at_high_pressure_it_is_no_chart():
    """TM 1-1510-262-10 (seen): 1600 psig at 20 degrees C reads 1250 psig at -30."""
    guess = pressure(
        Decimal(1600), Decimal(20), Decimal(-30), unit="psig", degrees="degree celsius"
    )
    assert guess is not None
    assert round(guess / 1250 - 1, 2) == Decimal("0.06")


@pytest.mark.parametrize(
    ("at", "unit", "degrees", "told"),
    [
        (Decimal(-40), "psig", "degree celsius", "1198"),
        (Decimal(30), "psig", "degree celsius", "1655"),
        (None, "psig", "degree celsius", ""),
        (Decimal(30), "inch", "degree celsius", ""),
        (Decimal(30), "psig", "percent", ""),
        (Decimal(-272), "psi", "degree celsius", ""),
    ],
)
def test_outside_a_chart_its_nearest_end_counts(
    at: Decimal | None, unit: str, degrees: str, told: str
):
    points = ((Decimal(-30), Decimal(1250)), (Decimal(20), Decimal(1600)))
    assert beyond(Chart("t", points, "x"), at, unit, degrees) == told
