"""Identities sign by sign: the spelling alphabet, and what of an identity is said."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.language.numbers import parse_number
from voicewalk.language.spelling import SIGNS, aloud, signs

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def test_the_alphabet_has_a_word_for_each_letter():
    """ICAO Annex 10 vol. II 5.2.1.3, from memory; how it sounds: SERA.14020, table S14-2."""
    assert sorted(SIGNS) == sorted("0123456789" + LETTERS.lower())
    assert all(word.startswith(sign) for sign, word in SIGNS.items() if sign.isalpha())
    assert aloud("AJQXZ") == "alfa juliett quebec x-ray zulu"


@pytest.mark.parametrize(("digit", "value"), [(str(n), n) for n in range(10)])
def test_digits_are_number_words(digit, value):
    assert parse_number([aloud(digit)]) == value


@pytest.mark.parametrize(
    ("identity", "said"),
    [
        ("M07", "mike zero seven"),
        ("MW-109", "mike whiskey one zero niner"),  # FAA AIM table 4-2-2: "niner"
        ("mw 109", "mike whiskey one zero niner"),
        ("Ä7", "alfa seven"),
        ("---", ""),
    ],
)
def test_identities_are_spelled(identity, said):
    assert aloud(identity) == said


@pytest.mark.parametrize("identity", ["M07", "m-07", " m 07", "M.0.7"])
def test_only_letters_and_digits_are_said(identity):
    assert signs(identity) == "M07"


@given(st.text(), st.text())
def test_what_is_said_tells_the_signs(one, other):
    assert (signs(one) == signs(other)) is (aloud(one) == aloud(other))
