"""From tags to meanings."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.tags import meaning_of, plain


def reading(*words: str, unit: str = "", own: str = "") -> Meaning | None:
    tags = [("own_unit", own)] if own else []
    tags += [("number", word) for word in words] + [("act", "reading")]
    return meaning_of([*tags, *([("unit", unit)] if unit else [])])


def test_number_words_are_joined_in_order():
    assert reading("two", "one", "zero") == Meaning(Act.READING, value="210")
    assert reading("3", ".", "5") == Meaning(Act.READING, value="3.5")


@pytest.mark.parametrize(
    "words",
    [["point", "five"], ["two", "quarter"], ["."], ["hundred"], list("1234567"), ["one", "."]],
    ids=" ".join,
)
def test_number_words_that_make_no_number_mean_nothing(words):
    assert reading(*words) is None


def test_value_and_size_are_kept_apart():
    tags = [("act", "discrepancy"), ("defect", "cut"), ("size", "two"), ("size_unit", "inch")]
    assert meaning_of(tags) == Meaning(Act.DISCREPANCY, defect="cut", size="2", size_unit="inch")


@pytest.mark.parametrize(
    ("said", "own", "unit"),
    [
        ("psi/pound", "psi", "psi"),
        ("psi/pound", "pound", "pound"),
        ("psi/pound", "quart", "psi/pound"),
        ("psi/pound", "", "psi/pound"),
        ("quart", "psi", "quart"),
        ("psig", "psi", "psig"),  # a part of a name is no unit
        ("", "psi", ""),  # a unit that was not said is not made up
    ],
)
def test_the_item_settles_a_shared_unit_word_only(said, own, unit):
    meaning = reading("two", unit=said, own=own)
    assert meaning == Meaning(Act.READING, value="2", unit=unit)


def test_places_before_and_after_are_both_kept_in_order():
    tags = [("place", "upper"), ("act", "discrepancy"), ("defect", "crack")]
    assert meaning_of(tags).place == "upper"
    assert meaning_of([*tags, ("place", "sidewall")]).place == "upper sidewall"
    assert meaning_of([*tags, ("place", "upper")]).place == "upper"


def test_a_correction_is_marked():
    assert meaning_of([("corrects", "yes"), ("act", "item"), ("item", "horn")]) == Meaning(
        Act.ITEM, item="horn", corrects=True
    )


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("210", "210"),
        ("100", "100"),
        ("3.50", "3.5"),
        ("3.00", "3"),
        ("0.250", "0.25"),
        ("0", "0"),
        ("0.000", "0"),
        ("1E+3", "1000"),
        ("30000", "30000"),
    ],
)
def test_plain_notation(value, text):
    assert plain(Decimal(value)) == text


@given(st.decimals(min_value=0, max_value=99999, places=3))
def test_plain_notation_keeps_the_value_and_has_no_needless_zero(value):
    text = plain(value)
    assert Decimal(text) == value
    assert "E" not in text
    assert "." not in text or text[-1] not in "0."
