"""The closed list of units, against published symbols and quantities."""

import pytest

from voicewalk.language.units import UNITS

# Symbol and property as UCUM prints them (ucum-essence.xml, seen); UCUM has litre as "l" or "L"
# and NIST SP 811 chapter 5 (seen) asks for "L", lest it be read as the digit 1.
UCUM = {
    "inch": ("in", "length"),
    "millimetre": ("mm", "length"),
    "percent": ("%", "fraction"),
    "litre": ("L", "volume"),
    "quart": (None, "fluid volume"),
    "pint": (None, "fluid volume"),
    "gallon": (None, "fluid volume"),
    "kilogram": ("kg", "mass"),
    "pound": ("lb", "mass"),
    "volt": ("V", "electric potential"),
    "ampere": ("A", "electric current"),
    "degree celsius": ("°C", "temperature"),
    "degree fahrenheit": ("°F", "temperature"),
    "minute": ("min", "time"),
    "hour": ("h", "time"),
    "knot": (None, "velocity"),
}
# From memory: NIST SP 811 appendix B.8 and the SI Brochure.
RECALLED = {"psi": "psi", "bar": "bar", "quart": "qt", "pint": "pt", "gallon": "gal", "knot": "kn"}
OURS = {
    "ratio": {"fraction"},
    "volume": {"volume", "fluid volume"},
    "voltage": {"electric potential"},
    "current": {"electric current"},
    "speed": {"velocity"},
}


@pytest.mark.parametrize("name", UCUM)
def test_symbol_and_dimension_as_published(name):
    symbol, quantity = UCUM[name]
    unit = UNITS[name]
    assert quantity in OURS.get(unit.dimension, {unit.dimension})
    assert symbol in (None, unit.symbol)


@pytest.mark.parametrize("name", RECALLED)
def test_symbol_from_memory(name):
    assert UNITS[name].symbol == RECALLED[name]


@pytest.mark.parametrize("unit", UNITS.values(), ids=UNITS)
def test_words_can_be_spoken(unit):
    assert UNITS[unit.name] is unit
    assert len(set(unit.words)) == len(unit.words) > 0
    for phrase in unit.words:
        assert all(word.isalpha() and word.islower() for word in phrase.split())


def test_only_pounds_are_said_of_two_units():
    meant = {}
    for unit in UNITS.values():
        for phrase in unit.words:
            meant.setdefault(phrase, []).append(unit.name)
    assert {phrase: names for phrase, names in meant.items() if len(names) > 1} == {
        "pounds": ["psi", "pound"],
        "pound": ["psi", "pound"],
    }
