"""The lexicon: what it says of a word, and the faults of its file by line."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicewalk.card.load import FOLDERS, find
from voicewalk.errors import SourceError
from voicewalk.hearing.letter_model import SYMBOLS
from voicewalk.hearing.lexicon import SPELT_OUT, Lexicon, load_lexicon

ENGLISH = find("english", FOLDERS)
assert ENGLISH is not None
SHIPPED = ENGLISH.with_name("english-lexicon.tsv")


def written(folder: Path, text: str) -> Path:
    path = folder / "words.tsv"
    path.write_text(text, encoding="utf-8")
    return path


def test_words_with_their_spellings(tmp_path):
    path = written(tmp_path, "# a comment\n\ntwo\ttwo to  too\npsi\tpsi p-s-i psi\n")
    assert load_lexicon(path) == Lexicon({"two": ("two", "to", "too"), "psi": ("psi", "p-s-i")})


def test_the_usual_spelling_comes_first_and_an_unlisted_word_is_spelt_as_it_is(tmp_path):
    words = load_lexicon(written(tmp_path, "tyre\ttire tyre\n"))
    assert words.spell("tyre") == ("tire", "tyre")
    assert words.spell("unlisted") == ("unlisted",)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("two\n", 1),
        ("two\t \n", 1),
        ("aft\taft\ntwo to\n", 2),
        ("# words\n\n\ntwo\tto\tmore\n", 4),
        ("\ttwo\n", 1),
        ("two\tto\ntwo\ttoo\n", 2),
        ("aft\taft\ncan not\tcannot\n", 2),
        ("PSI\tpsi\n", 1),
        ("psi\tPSI\n", 1),
    ],
    ids=[
        "one-column",
        "no-spelling",
        "blanks-for-a-tab",
        "three-columns",
        "no-word",
        "word-twice",
        "two-words",
        "capital-letters",
        "spelt-in-capitals",
    ],
)
def test_a_fault_is_told_with_its_line(text, line, tmp_path):
    path = written(tmp_path, text)
    with pytest.raises(SourceError) as told:
        load_lexicon(path)
    assert told.value.where == f"{path}:{line}"
    assert told.value.what_to_do


def test_a_missing_file_and_one_of_bytes_are_told(tmp_path):
    with pytest.raises(SourceError, match="cannot be read") as told:
        load_lexicon(tmp_path / "none.tsv")
    assert told.value.what_to_do
    path = tmp_path / "latin-1.tsv"
    path.write_bytes("naïve\tnaïve\n".encode("latin-1"))
    with pytest.raises(SourceError, match="cannot be read"):
        load_lexicon(path)


def test_the_shipped_file_has_only_letters_that_are_heard():
    spellings = load_lexicon(SHIPPED).spellings
    assert spellings
    letters = {letter for ways in spellings.values() for way in ways for letter in way}
    assert letters <= {*SYMBOLS[1:-1], SPELT_OUT}


def test_a_line_of_the_shipped_file_says_more_than_its_word():
    assert [word for word, ways in load_lexicon(SHIPPED).spellings.items() if ways == (word,)] == []


# Radiotelephony says "tree" and "fife" (ICAO Doc 9432 2.4.3, recalled from memory); who writes
# what was said may well write the number.
@pytest.mark.parametrize(
    ("word", "spelling"),
    [("tree", "three"), ("fife", "five"), ("tyre", "tire"), ("alfa", "alpha"), ("psi", "p-s-i")],
)
def test_words_that_are_written_in_another_way_are_listed(word, spelling):
    assert spelling in load_lexicon(SHIPPED).spell(word)
