"""Spoken numbers: published examples, num2words as the oracle, refusals, readback, rivals."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from voicewalk.errors import NumberError
from voicewalk.language.numbers import (
    NUMBER_WORDS,
    digits_aloud,
    parse_number,
    rivals,
    spoken_forms,
    teens_for_tens,
)

# Each example with its source. "seen": wording read in an official or verbatim copy;
# "second-hand": read only as quoted elsewhere.
PUBLISHED = [
    ("zero eight zero", "80", "ICAO Annex 10 Vol II 5.2.1.4.1.1, heading 080, second-hand"),
    ("one zero one zero", "1010", "ICAO Annex 10 Vol II 5.2.1.4.1.1, second-hand"),
    ("two four zero zero", "2400", "ICAO Annex 10 Vol II 5.2.1.4.1.1, second-hand"),
    ("eight hundred", "800", "ICAO Annex 10 Vol II 5.2.1.4.1.2, second-hand"),
    ("three thousand four hundred", "3400", "ICAO Annex 10 Vol II 5.2.1.4.1.2, second-hand"),
    ("one two thousand", "12000", "ICAO Annex 10 Vol II 5.2.1.4.1.2, second-hand"),
    ("five hundred", "500", "FAA AIM 4-2-8, seen"),
    ("four thousand five hundred", "4500", "FAA AIM 4-2-8, seen"),
    ("one zero thousand", "10000", "FAA AIM 4-2-8, seen"),
    ("one three thousand five hundred", "13500", "FAA AIM 4-2-8, seen"),
    ("one zero", "10", "FAA AIM 4-2-8, seen"),
    ("one two two point one", "122.1", "FAA AIM 4-2-8, seen"),
    ("one two two decimal one", "122.1", "ICAO wording of the same, second-hand"),
    ("one one four niner five", "11495", "FAA JO 7110.65 2-4-17, second-hand"),
    ("two zero zero six niner", "20069", "FAA JO 7110.65 2-4-17, second-hand"),
    ("one seven thousand niner hundred", "17900", "FAA JO 7110.65 2-4-17, second-hand"),
    ("two niner niner two", "2992", "FAA JO 7110.65 2-4-18, second-hand"),
    ("twenty nine ninety two", "2992", "FAA JO 7110.65 2-4-18, second-hand"),
    # Respelled pronunciations that a decoder may write as words.
    ("tree fower fife niner zero", "34590", "FAA AIM table 4-2-2, seen"),
]


@pytest.mark.parametrize(("words", "value", "source"), PUBLISHED)
def test_published_example(words, value, source):
    assert str(parse_number(words.split())) == value, source


# Common practice, no source.
SAID = [
    ("two one zero", "210"),
    ("two ten", "210"),
    ("two hundred ten", "210"),
    ("two hundred and ten", "210"),
    ("one twenty five", "125"),
    ("ten fifty", "1050"),
    ("nineteen oh five", "1905"),
    ("twenty zero five", "2005"),
    ("one oh five", "105"),
    ("eighteen hundred", "1800"),
    ("eighteen hundred and fifty", "1850"),
    ("twenty five hundred", "2500"),
    ("twelve thousand", "12000"),
    ("two thousand ten", "2010"),
    ("two thousand and ten", "2010"),
    ("ninety nine thousand nine hundred and ninety nine", "99999"),
    ("twenty five", "25"),
    ("zero", "0"),
    ("zero zero zero", "0"),
    ("one one thousand", "11000"),
    ("zero decimal five", "0.5"),
    ("three point five zero", "3.50"),
    ("two point oh five", "2.05"),
    ("two hundred and ten point five", "210.5"),
    ("half", "0.5"),
    ("a half", "0.5"),
    ("one half", "0.5"),
    ("a quarter", "0.25"),
    ("three quarters", "0.75"),
    ("five eighths", "0.625"),
    ("one sixteenth", "0.0625"),
    ("seven sixteenths", "0.4375"),
    ("fifteen sixteenths", "0.9375"),
    ("one and three quarters", "1.75"),
    ("one and a half", "1.5"),
    ("twenty five and one eighth", "25.125"),
]


@pytest.mark.parametrize(("words", "value"), SAID)
def test_said(words, value):
    assert str(parse_number(words.split())) == value


WRITTEN = [
    (["210"], "210"),
    (["1800"], "1800"),
    (["1,800"], "1800"),
    (["080"], "080"),
    (["3.5"], "3.5"),
    (["1", "8", "0", "0"], "1800"),
    (["3", ".", "5"], "3.5"),
    (["2", "hundred", "and", "5"], "205"),
    (["1", "and", "a", "half"], "1.5"),
    (["5", "point", "2", "5"], "5.25"),
]


@pytest.mark.parametrize(("words", "value"), WRITTEN)
def test_written_by_a_free_decoder(words, value):
    assert parse_number(words) == Decimal(value)


REFUSED = [
    ("", "no words"),
    ("to one zero", "'to' is not a number word"),
    ("two won zero", "'won' is not a number word"),
    ("Two", "'Two' is not a number word"),
    ("twenty five five", "'five' cannot follow 'twenty five'"),
    ("twenty ten five", "'five' cannot follow 'twenty ten'"),
    ("two twenty hundred", "'hundred' cannot follow"),
    ("one two hundred", "'hundred' cannot follow"),
    ("one zero zero thousand", "'thousand' cannot follow"),  # above 99,999
    ("one hundred thousand", "'thousand' cannot follow"),
    ("one two three four five six", "'six' cannot follow"),
    ("zero ten", "'ten' cannot follow 'zero'"),
    ("zero four five zero", "'zero' cannot follow 'zero four five'"),  # one leading zero at most
    ("oh five", "a number cannot begin with 'oh'"),
    ("point five", "a number cannot begin with 'point'"),
    ("hundred", "a number cannot begin with 'hundred'"),
    ("and five", "a number cannot begin with 'and'"),
    ("two hundred and", "breaks off"),
    ("two point", "breaks off"),
    ("nineteen oh", "breaks off"),
    ("one and", "breaks off"),
    ("one and three", "breaks off"),
    ("a", "breaks off"),
    ("two point one two three four", "'four' cannot follow"),
    ("two point ten", "'ten' cannot follow"),
    ("two point one point one", "'point' cannot follow"),
    ("two hundred and and five", "'and' cannot follow"),
    ("two hundred zero five", "'zero' cannot follow"),
    # One word lost from "two and a quarter", "three and a quarter", "eight hundred".
    ("two quarter", "'quarter' cannot follow 'two'"),
    ("three quarter", "'quarter' cannot follow 'three'"),
    ("a hundred", "'hundred' cannot follow 'a'"),
    # Not in lowest terms, not proper, not in number agreement.
    ("two quarters", "'quarters' cannot follow"),
    ("five quarters", "'quarters' cannot follow"),
    ("one halves", "is not a number word"),
    ("five eighth", "'eighth' cannot follow"),
    ("twenty one sixteenths", "'sixteenths' cannot follow"),
    ("one and twenty", "'twenty' cannot follow"),
    ("20 5", "'20' is not a number word"),
    ("1 10", "'10' is not a number word"),
    ("123456", "is not a number word"),
    ("1.2345", "is not a number word"),
    ("1,80", "is not a number word"),
    (".5", "is not a number word"),
    ("3 .", "'.' is not a number word"),
    ("-5", "is not a number word"),
    ("٣", "is not a number word"),
]


@pytest.mark.parametrize(("words", "reason"), REFUSED)
def test_refused_with_the_reason(words, reason):
    with pytest.raises(NumberError) as refusal:
        parse_number(words.split())
    assert reason in str(refusal.value)


def cardinal_words(number):
    return num2words(number).replace(",", "").replace("-", " ").split()


def test_every_cardinal_that_num2words_writes():
    # num2words is slow: thousands and rests are put together here, and every 61st whole number
    # is compared with what it writes itself.
    rests = [cardinal_words(rest) for rest in range(1000)]
    for thousands in range(100):
        head = [*rests[thousands], "thousand"] if thousands else []
        for rest, words in enumerate(rests):
            number = 1000 * thousands + rest
            if head and rest:
                words = [*head, *(["and"] if rest < 100 else []), *words]
            elif head:
                words = head
            if number % 61 == 0:
                assert words == cardinal_words(number)
            assert parse_number(words) == number
            assert parse_number([word for word in words if word != "and"]) == number


@given(st.decimals(min_value=0, max_value=99_999, places=3))
def test_every_decimal_that_num2words_writes(value):
    assert parse_number(cardinal_words(value.normalize())) == value


@given(st.from_regex(r"[1-9][0-9]{0,4}", fullmatch=True))
def test_digit_by_digit_is_the_decimal_notation(digits):
    names = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    assert parse_number([names[int(digit)] for digit in digits]) == Decimal(digits)


@given(st.lists(st.sampled_from(sorted(NUMBER_WORDS)), max_size=8))
def test_a_value_or_a_number_error_and_nothing_else(words):
    try:
        value = parse_number(words)
    except NumberError:
        return
    assert 0 <= value < 100_000


values = st.one_of(
    st.integers(0, 99_999).map(Decimal),
    st.decimals(min_value=0, max_value=Decimal("99999.999"), places=3),
    st.decimals(min_value=0, max_value=Decimal("9999.9"), places=1),
)
sixteenths = st.integers(0, 99 * 16 + 15).map(lambda count: Decimal(count) / 16)


@given(st.one_of(values, sixteenths))
def test_each_spoken_form_parses_back(value):
    forms = spoken_forms(value, fractions=True)
    assert 1 <= len(forms) <= 12
    assert len(set(forms)) == len(forms)
    assert {parse_number(form) for form in forms} == {value}


@pytest.mark.parametrize(
    ("value", "forms"),
    [
        ("210", ["two one zero", "two hundred and ten", "two hundred ten", "two one oh",
                 "two ten"]),
        ("1905", ["one nine zero five", "one niner zero five",
                  "one thousand nine hundred and five", "one thousand nine hundred five",
                  "one nine oh five", "nineteen oh five", "nineteen hundred and five",
                  "nineteen hundred five"]),
        ("12000", ["one two zero zero zero", "twelve thousand", "one two oh oh oh",
                   "one two thousand"]),
        ("7", ["seven"]),
        ("122.1", ["one two two point one", "one two two decimal one",
                   "one hundred and twenty two point one", "one hundred twenty two point one",
                   "one twenty two point one"]),
        ("1.5", ["one point five", "one decimal five", "one and one half", "one and a half"]),
        ("0.5", ["zero point five", "zero decimal five", "one half", "a half", "half"]),
        ("0.0625", ["one sixteenth", "a sixteenth"]),
    ],
)  # fmt: skip
def test_spoken_forms_digit_by_digit_first(value, forms):
    made = spoken_forms(Decimal(value), fractions=True)
    assert [" ".join(form) for form in made] == forms


def test_fractions_are_said_only_where_asked_for():
    assert spoken_forms(Decimal("1.5")) == (("one", "point", "five"), ("one", "decimal", "five"))


@pytest.mark.parametrize("value", ["-1", "-0", "100000", "0.1234", "NaN", "Infinity"])
def test_values_without_spoken_form(value):
    with pytest.raises(NumberError):
        spoken_forms(Decimal(value))


@pytest.mark.parametrize(
    ("value", "readback"),
    [
        # "niner" and "zero", never "oh": FAA AIM table 4-2-2 and NAVEDTRA 14244, seen.
        ("1800", "one eight zero zero"),
        ("1905", "one niner zero five"),
        ("3.50", "three point five zero"),
        ("1E+2", "one zero zero"),
        ("0", "zero"),
    ],
)
def test_readback_digit_by_digit(value, readback):
    assert " ".join(digits_aloud(Decimal(value))) == readback


@given(values)
def test_a_readback_parses_back(value):
    words = digits_aloud(value)
    assert "oh" not in words
    assert parse_number(words) == value


@pytest.mark.parametrize("value", ["-1", "-0", "NaN", "Infinity"])
def test_no_readback(value):
    with pytest.raises(NumberError):
        digits_aloud(Decimal(value))


@pytest.mark.parametrize(
    ("words", "rival"),
    [
        ("fifteen", "fifty"),
        ("fifty", "fifteen"),
        ("nineteen", "ninety"),
        ("one eighteen", "one eighty"),
        ("nine five", "five five"),
        ("two niner", "two five"),
        ("one zero", "nine zero"),
        ("two two zero", "two zero"),
        ("two two zero", "two two two zero"),
        ("two two two", "two two"),
        ("one two one", "one one"),
        ("two one zero", "one zero"),
        ("two thousand five hundred", "two thousand five"),
        ("one and three quarters", "three quarters"),
        ("one point five five", "one point five"),
        ("one point five", "one five"),
        ("220", "two zero"),
    ],
)
def test_rivals_hold_the_known_mistakes(words, rival):
    assert tuple(rival.split()) in rivals(tuple(words.split()))


@given(values.flatmap(lambda value: st.sampled_from(spoken_forms(value))))
def test_rivals_are_other_values_few_and_the_same_each_time(words):
    found = rivals(words)
    others = [parse_number(rival) for rival in found]
    assert parse_number(words) not in others
    assert len(set(others)) == len(found) <= 24
    assert rivals(words) == found


def test_no_rivals_of_what_is_no_number():
    with pytest.raises(NumberError):
        rivals(("to", "one"))


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ("thirty", "thirteen", True),
        ("two one five zero", "two fifteen zero", False),
        ("one hundred and fifteen psi", "one fifty psi", True),
        ("nineteen ninety", "nineteen nineteen", True),
        ("nineteen ninety", "nineteen ninety", False),
        ("twenty", "twelve", False),
        ("thirty", "forty", False),
        ("thirty", "three", False),
        ("three", "three", False),
        ("ten", "eleven", False),
    ],
)
def test_teens_and_tens_are_taken_for_one_another(one, other, alike):
    assert teens_for_tens(one.split(), other.split()) is alike
    assert teens_for_tens(other.split(), one.split()) is alike
