"""What a call leaves unexplained of what was said."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.hearing.unexplained import (
    Leftover,
    doubts,
    left_over,
    sound_behind,
    stating,
    telling_words,
    word_beyond,
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
    told = telling_words()
    for words in (told.doubtful, told.denying, told.stating, told.undoing):
        assert words
        assert all(words_of(word) == [word] for word in words)
    assert {"no", "not", "is", "except", "tomorrow"} <= told.doubtful


def test_another_language_brings_its_own_words(tmp_path):
    path = tmp_path / "german.txt"
    path.write_text(
        "# Kinds\n[doubtful]\nob\nmorgen\n[denying]\nnicht\n-los\n[undoing]\nun-\n[stating]\nist\n",
        encoding="utf-8",
    )
    german = telling_words(path)
    assert doubts("deckel dicht", ["deckel nicht dicht morgen"], german) == ("nicht", "morgen")
    assert doubts("deckel dicht", ["deckel undicht"], german) == ("undicht",)
    assert doubts("rad gut", ["rad haltlos gut"], german) == ("haltlos",)
    assert doubts("deckel dicht", ["is deckel not dicht"], german) == ()
    assert stating("der deckel ist dicht", german) == {"ist"}
    assert stating("der deckel ist nicht dicht", german) == set()


def test_words_under_no_kind_and_a_kind_without_words_are_refused(tmp_path):
    path = tmp_path / "words.txt"
    path.write_text("no\n[doubtful]\n", encoding="utf-8")
    with pytest.raises(ValueError, match="'no' stands under no kind"):
        telling_words(path)
    path.write_text("[doubtful]\nno\n", encoding="utf-8")
    with pytest.raises(KeyError, match="denying"):
        telling_words(path)


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


@pytest.mark.parametrize(
    ("words", "text", "beyond"),
    [
        ("pitot cover removed", "pitot cover removed o", True),
        ("pitot cover removed", "no pitot cover removed", True),
        ("pitot cover removed", "pitot cover removedp", False),
        ("pitot cover removed", "pito cover remove", False),
        ("tyre pressure ninety psi", "tyre pressure ninety p s i", False),
        ("pitot cover removed", "", False),
    ],
)
def test_a_whole_word_beyond_a_call_is_told(words, text, beyond):
    assert word_beyond(words, text) is beyond


RATE = 16_000


def tone(seconds: float, level: float) -> np.ndarray:
    return np.full(round(seconds * RATE), level, np.float32)


PAD = tone(0.32, 0.0)
"""What a segment keeps behind the speech."""


@pytest.mark.parametrize(
    ("after", "behind", "loud"),
    [
        ([], 0.0, 0.0),
        ([tone(0.2, 0.0)], 0.2, 0.0),
        ([tone(0.2, 0.0), tone(0.4, 0.1)], 0.6, 0.4),
        ([tone(0.2, 0.0), tone(0.4, 0.02)], 0.6, 0.0),  # a breath
    ],
)
def test_speech_behind_the_words_is_measured(after, behind, loud):
    samples = np.concatenate([tone(0.4, 0.0), tone(1.0, 0.1), *after, PAD])
    found = sound_behind(samples, (0.4, 1.4))
    assert found == pytest.approx((behind, loud), abs=1e-6)


@pytest.mark.parametrize("after", [0.0, 0.32, 0.576])
def test_what_a_segment_keeps_behind_the_speech_is_none_of_it(after):
    samples = np.concatenate([tone(1.0, 0.1), tone(0.3, 0.1), tone(after, 0.1)])
    assert sound_behind(samples, (-0.1, 1.0), after) == pytest.approx((0.3, 0.3), abs=1e-6)


def test_noise_that_was_there_before_the_words_is_not_said_behind_them():
    samples = np.concatenate([tone(0.5, 0.08), tone(1.0, 0.1), tone(0.4, 0.08), PAD])
    assert sound_behind(samples, (0.5, 1.5)) == pytest.approx((0.4, 0.0), abs=1e-6)


@given(st.floats(-0.1, 3), st.floats(0, 3), st.floats(0, 4))
def test_no_span_is_beyond_the_clip(begin, length, seconds):
    behind, loud = sound_behind(tone(seconds, 0.1), (begin, begin + length))
    assert 0 <= loud <= behind + 1e-9
    assert behind <= seconds + 1e-3


def test_two_words_of_the_wording_written_as_one_are_no_undoing():
    assert doubts("in place", ["inplace"]) == ()
    assert doubts("left pin place", ["left pin inplace"]) == ("inplace",)
