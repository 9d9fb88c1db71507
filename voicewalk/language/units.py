"""The units a reading or a size may have: a closed list, with how each is said and written.

Nothing is ever converted: a value keeps the unit it was said in. How the words sound is
decided elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    Attributes:
        name: its key in cards and records ("psi", "degree celsius").
        words: ways to say it, lower case; the first is how it is read back after a number.
            "pounds" is said of a pressure and of a mass: which is meant, the item tells.
        symbol: how it is written after a number.
        dimension: what it measures.
    """

    name: str
    words: tuple[str, ...]
    symbol: str
    dimension: str


UNITS: dict[str, Unit] = {
    unit.name: unit
    for unit in (
        Unit("psi", ("psi", "pounds per square inch", "pounds", "pound"), "psi", "pressure"),
        # The gauge pressure has its own name: only who says "psig" or "gauge" means it.
        Unit("psig", ("psig", "psi gauge"), "psig", "pressure"),
        Unit("bar", ("bar", "bars"), "bar", "pressure"),
        Unit("inch", ("inches", "inch", "an inch", "of an inch"), "in", "length"),  # half an inch
        Unit("millimetre", ("millimetres", "millimetre", "millimeters", "millimeter"), "mm",
             "length"),
        Unit("percent", ("percent", "per cent"), "%", "ratio"),
        Unit("quart", ("quarts", "quart"), "qt", "volume"),
        Unit("pint", ("pints", "pint"), "pt", "volume"),
        Unit("gallon", ("gallons", "gallon"), "gal", "volume"),
        Unit("litre", ("litres", "litre", "liters", "liter"), "L", "volume"),
        Unit("kilogram", ("kilograms", "kilogram", "kilos"), "kg", "mass"),
        Unit("pound", ("pounds", "pound"), "lb", "mass"),
        Unit("volt", ("volts", "volt"), "V", "voltage"),
        Unit("ampere", ("amperes", "ampere", "amps", "amp"), "A", "current"),
        Unit("degree celsius", ("degrees celsius", "degree celsius", "celsius"), "°C",
             "temperature"),
        Unit("degree fahrenheit", ("degrees fahrenheit", "degree fahrenheit", "fahrenheit"),
             "°F", "temperature"),
        Unit("minute", ("minutes", "minute"), "min", "time"),
        Unit("hour", ("hours", "hour"), "h", "time"),
        Unit("drops per minute",
             ("drops per minute", "drop per minute", "drops a minute", "drop a minute"),
             "drops/min", "drop rate"),
        Unit("knot", ("knots", "knot"), "kn", "speed"),
    )
}  # fmt: skip
