"""The ideal gas law between two temperatures: an estimate, and never a limit. Pure.

At high pressure it misleads; a chart of the aircraft's own documents does not.
"""

from __future__ import annotations

from decimal import Decimal

from voicewalk.card.model import Chart

ATMOSPHERE = {"psi": Decimal("14.7"), "psig": Decimal("14.7"), "bar": Decimal("1.01325")}
"""Added to a gauge pressure. The FAA handbook's own value, and the standard atmosphere."""

ABSOLUTE = {"degree fahrenheit": Decimal(460), "degree celsius": Decimal(273)}
"""Added to a temperature. The FAA handbook's own value, and its like."""


def pressure(
    gauge: Decimal, before: Decimal, after: Decimal, *, unit: str, degrees: str
) -> Decimal | None:
    """A gauge pressure after a change of temperature at the same volume; ``None`` for units that
    have no such pressure or temperature.

    FAA-H-8083-30 (aviation maintenance technician handbook, general), on gases.
    """
    air, zero = ATMOSPHERE.get(unit), ABSOLUTE.get(degrees)
    if air is None or zero is None or before + zero <= 0:
        return None
    return (gauge + air) * (after + zero) / (before + zero) - air


def beyond(chart: Chart, at: Decimal | None, unit: str, degrees: str) -> str:
    """The least pressure at a temperature outside a chart, from its nearest point, as a whole
    number; "" where nothing was read or the units do not fit."""
    if at is None:
        return ""
    nearest, least = min(chart.points, key=lambda point: abs(point[0] - at))
    guess = pressure(least, nearest, at, unit=unit, degrees=degrees)
    return "" if guess is None or guess <= 0 else f"{guess:.0f}"
