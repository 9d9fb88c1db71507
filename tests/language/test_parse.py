"""Text by the phrase graph: words, digits, and signs that must not be lost."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from language_cards import item, laid

from voicewalk.card.model import Kind
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.numbers import parse_number
from voicewalk.language.parse import tokens
from voicewalk.language.tags import plain

ON = laid(
    item("tyre pressure", Kind.READING, unit="psi"),
    item("gap", Kind.READING, unit="inch"),
    item("oil heat", Kind.READING, unit="degree celsius"),
    item("tyre", defects=("tyre",)),
)


def psi(value: str) -> list[Meaning]:
    return [Meaning(Act.READING, item="tyre-pressure", value=value, unit="psi")]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("tyre pressure 210 psi", "210"),
        ("tyre pressure 2 1 0 psi", "210"),
        ("tyre pressure 210psi", "210"),
        ("tyre pressure 1,800 psi", "1800"),
        ("tyre pressure 12,345 psi", "12345"),
        ("tyre pressure 1,800.5 psi", "1800.5"),
        ("tyre pressure 3.5 psi", "3.5"),
        ("tyre pressure 3.50 psi", "3.5"),
        ("tyre pressure 0.25 psi", "0.25"),
        ("tyre pressure 0 psi", "0"),
        ("Tyre pressure: 210 PSI.", "210"),
        ("TYRE PRESSURE, 210, PSI!", "210"),
        ("  tyre\tpressure\n 210 psi\n", "210"),
        ("tyre-pressure two one zero psi", "210"),
        # A blank around the point changes nothing.
        ("tyre pressure 3. 5 psi", "3.5"),
        ("tyre pressure 3 .5 psi", "3.5"),
        ("tyre pressure 3 . 5 psi", "3.5"),
    ],
)
def test_numbers_in_text(text, value):
    assert ON.read(text) == psi(value)


@pytest.mark.parametrize(
    "number",
    [
        "1/2", "1 / 2", "3,5", "3, 5", "0,500", "1,8000", "1,80", "10-15", "10 - 15", "10–15",
        "-5", "−5", "–5", "- 5", ".5", "2½", "½", "2²", "2:30", "5'6", "'.5", "..5", "3.5.5",
        "5..5", "5. .5", "5.-5", "2e3",
        "~5", "<5", ">5", "+5", "#5", "5%", "2+2", "5_5", "٣", "1,234,567", "123,456", "1.2345",
        "123456",
    ],
)  # fmt: skip
def test_a_sign_that_says_more_is_never_dropped(number):
    """ "1/2" is not 12, "3,5" not 35, "-5" not 5: such a number is no number."""
    assert ON.read(f"tyre pressure {number} psi") == []


@given(st.text(st.sampled_from("0123456789.,-/ ½'%"), min_size=1, max_size=8))
def test_a_number_in_text_is_read_as_written_or_not_at_all(text):
    found = ON.read(f"tyre pressure {text} psi")
    if found:
        bare = text.strip(" .,-'").replace(" ", "")
        assert found == psi(plain(parse_number([bare])))


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("Where are we?", ["where", "are", "we"]),
        ("two o’clock", ["two", "o'clock"]),
        ("“not latched”", ["“", "not", "latched", "”"]),
        ("not—latched", ["not", "latched"]),
        ("'latched'", ["latched"]),
        ("≠ latched", ["≠", "latched"]),
        ("", []),
        ("...", []),
        ("größe", ["größe"]),
        ("앞 타이어, 정상.", ["앞", "타이어", "정상"]),
        ("\u110b\u1161\u11c1 1\uba85", ["앞", "1", "명"]),  # typed in parts, as macOS writes names
    ],
)
def test_words_of_a_text(text, read):
    assert tokens(text) == read


@pytest.mark.parametrize(
    "text",
    ["tyre", "TYRE", "Tyre.", "tyre,", "tyre -"],
)
def test_a_name_in_any_writing(text):
    assert ON.read(text) == [Meaning(Act.ITEM, item="tyre")]


@pytest.mark.parametrize(
    "text",
    [
        "tyre pressure two one zero psi good",  # more than a call
        "tyre pressure pressure 210 psi",
        "tyre pressure two one zero p s i",
        "pressure 210 psi",
        "tyre goods",
        "tyregood",
    ],
)
def test_only_whole_calls_are_read(text):
    assert ON.read(text) == []


def test_an_answer_with_a_name_behind_it_is_more_than_a_call():
    assert ON.read("good tyre") == [Meaning(Act.MIXED)]


def test_one_meaning_said_in_two_ways_is_one():
    assert ON.read("tyre slipped") == [Meaning(Act.DISCREPANCY, item="tyre", defect="slipped")]


@given(st.text(max_size=40))
def test_any_text_is_read_without_a_fault_and_mostly_means_nothing(text):
    read = tokens(text)
    assert all(token == token.strip() != "" for token in read)
    assert tokens(" ".join(read)) == read
    assert all(isinstance(meaning, Meaning) for meaning in ON.read(text))


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("oil heat minus three zero degrees celsius", "-30", "degree celsius"),
        ("oil heat -30 degrees celsius", "-30", "degree celsius"),
        ("oil heat minus five", "-5", ""),
        ("oil heat minus zero", "0", ""),
        ("tyre pressure minus five psi", None, ""),
    ],
)
def test_only_a_temperature_is_below_zero(text, value, unit):
    assert [(one.value, one.unit) for one in ON.read(text)] == ([(value, unit)] if value else [])
