"""What a call leaves unexplained of what was said."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.hearing.unexplained import (
    Leftover,
    doubtful_words,
    doubts,
    left_over,
    stating,
    words_of,
)

TEXT = st.text("abc ", max_size=12).map(lambda text: " ".join(text.split()))


@pytest.mark.parametrize(
    ("words", "text", "left"),
    [
        ("left fuel cap secure", "left fuel cap secure", Leftover(0, 0, 0, 0)),
        ("left fuel cap secure", "left fuel cap secure no", Leftover(0, 0, 2, 0)),
        ("front seat pin installed", "is the front seat pin installed", Leftover(5, 0, 0, 0)),
        ("landing gear handle down", "landing gear handle isn't down", Leftover(0, 5, 0, 0)),
        ("grounding cable connected", "grounding cable disconnected", Leftover(0, 3, 0, 0)),
        ("nose tyre good", "nose tire good", Leftover(0, 0, 0, 1)),
        ("left fuel cap secure", "left fuel secure", Leftover(0, 0, 0, 3)),
    ],
)
def test_letters_left_over_are_counted_where_they_lie(words: str, text: str, left: Leftover):
    assert left_over(words, text) == left


@given(TEXT, TEXT, TEXT)
def test_what_is_said_around_a_call_is_counted_whole(before: str, call: str, behind: str):
    """However long the call: nothing is divided by its length."""
    left = left_over(call, f"{before} {call} {behind}")
    assert left.lost == 0
    assert left.letters == len(f"{before}{behind}".replace(" ", ""))


@given(TEXT, TEXT)
def test_letters_balance(words: str, text: str):
    left = left_over(words, text)
    said, heard = len(words.replace(" ", "")), len(text.replace(" ", ""))
    assert max(0, heard - said) <= left.letters <= heard
    assert 0 <= left.lost <= said


@pytest.mark.parametrize(
    ("words", "text", "found"),
    [
        ("left fuel cap secure", "Left fuel cap secure, no.", ("no",)),
        ("front seat pin installed", "is the front seat pin installed", ("is",)),
        ("landing gear handle down", "Landing gear handle isn't down.", ("isn't",)),
        ("door latched", "door unlatched", ("unlatched",)),
        ("cable connected", "cable disconnected", ("disconnected",)),
        ("fuel cap not secure", "fuel cap not secure", ()),
        ("radome no defects", "radome no defects", ()),
        ("radome no defects", "radome no no defects", ("no",)),
        ("left main tyre good", "left main tire good", ()),
        ("fuel cap not secure", "fuel cap isn't secure", ()),
        ("fuel cap isn't secure", "fuel cap not secure", ()),
        ("fuel cap not secure", "fuel cap insecure", ()),
        ("fuel cap insecure", "fuel cap insecure", ()),
        ("fuel cap not secure", "fuel cap not not secure", ("not",)),
        ("fuel cap not secure", "fuel cap isn't not secure", ("isn't",)),
        ("fuel cap is not secure", "is fuel cap not secure", ()),
        ("is fuel cap secure", "is fuel cap secure", ()),
    ],
)
def test_words_of_doubt_that_the_call_does_not_hold(words: str, text: str, found: tuple[str, ...]):
    assert doubts(words, [text]) == found


@pytest.mark.parametrize("text", ["tyre pressure ninety p s i", "Tyre pressure 90 P S I"])
def test_letters_said_one_by_one_are_no_words(text: str):
    assert doubts("tyre pressure ninety psi", [text]) == ()
    for more in (f"i see {text}", f"{text} i hope", f"{text} i"):
        assert "i" in doubts("tyre pressure ninety psi", [more])


def test_a_word_of_doubt_in_any_listeners_text_counts():
    assert doubts("cap secure", ["cap secure", "cap secure tomorrow"]) == ("tomorrow",)


def test_the_words_are_written_as_they_are_compared():
    assert all(words_of(word) == [word] for word in doubtful_words())
    assert {"no", "not", "is", "except", "tomorrow"} <= doubtful_words()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("throttle cut off", set()),
        ("the throttle cut off", {"the"}),
        ("the throttle is cut off", {"the", "is"}),
        ("wheel well lines been serviceable", {"been"}),
        ("the throttle is not cut off", set()),
        ("throttle isn't cut off", set()),
    ],
)
def test_by_what_a_wording_states_something(words: str, said: set[str]):
    assert stating(words) == said
