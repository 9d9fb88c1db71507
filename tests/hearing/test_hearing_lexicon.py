"""The lexicon: what it says of a word, and the faults of its file by line."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicewalk.card.load import FOLDERS, find
from voicewalk.errors import ModelError, SourceError
from voicewalk.hearing.lexicon import Entry, Lexicon, load_entries
from voicewalk.hearing.listeners import PhonemeListener
from voicewalk.language.graph import GraphBuilder

ENGLISH = find("english", FOLDERS)
assert ENGLISH is not None
SHIPPED = ENGLISH.with_name("english-lexicon.tsv")


def written(folder: Path, text: str) -> Path:
    path = folder / "words.tsv"
    path.write_text(text, encoding="utf-8")
    return path


def by_letters(word: str) -> tuple[str, ...]:
    return tuple(word)


def lexicon(folder: Path, text: str) -> Lexicon:
    return Lexicon(load_entries(written(folder, text)), by_letters)


def test_entries_with_everything(tmp_path):
    path = written(tmp_path, "# a comment\n\ntwo\tt oʊ / t u\ttwo 2\naft\t+ æ f\t\ncan\t\tcan\n")
    assert load_entries(path) == {
        "two": Entry((("t", "oʊ"), ("t", "u")), ("two", "2"), False),
        "aft": Entry((("æ", "f"),), (), True),
        "can": Entry((), ("can",), False),
    }


def test_entries_take_the_place_of_the_rule_or_add_to_it(tmp_path):
    words = lexicon(tmp_path, "two\tt u / t oʊ\t\naft\t+ æ f\t\ncan\t\tkan can\nof\t+ o f\t\n")
    assert words.pronounce("two") == (("t", "u"), ("t", "oʊ"))
    assert words.pronounce("aft") == (("æ", "f"), ("a", "f", "t"))
    assert words.pronounce("can") == (("c", "a", "n"),)
    assert words.pronounce("of") == (("o", "f"),)  # none twice
    assert words.pronounce("unlisted") == (tuple("unlisted"),)


def test_spellings_the_usual_one_first(tmp_path):
    words = lexicon(tmp_path, "tyre\t\ttire tyre\naft\tæ f t\t\n")
    assert words.spell("tyre") == ("tire", "tyre")
    assert words.spell("aft") == ("aft",)
    assert words.spell("unlisted") == ("unlisted",)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("two\tt u\n", 1),
        ("aft\t\t\ntwo t u\t\n", 2),
        ("# words\n\n\ntwo\tt u\t2\tmore\n", 4),
        ("\tt u\ttwo\n", 1),
        ("two\t\t\ntwo\tt u\t\n", 2),
        ("aft\t\t\ncan not\tk\t\n", 2),
        ("PSI\tp s i\t\n", 1),
    ],
    ids=[
        "two-columns",
        "blanks-for-a-tab",
        "four-columns",
        "no-word",
        "word-twice",
        "two-words",
        "capital-letters",
    ],
)
def test_a_fault_is_told_with_its_line(text, line, tmp_path):
    path = written(tmp_path, text)
    with pytest.raises(SourceError) as told:
        load_entries(path)
    assert told.value.where == f"{path}:{line}"
    assert told.value.what_to_do


def test_a_missing_file_and_one_of_bytes_are_told(tmp_path):
    with pytest.raises(SourceError, match="cannot be read") as told:
        load_entries(tmp_path / "none.tsv")
    assert told.value.what_to_do
    path = tmp_path / "latin-1.tsv"
    path.write_bytes("naïve\t\t\n".encode("latin-1"))
    with pytest.raises(SourceError, match="cannot be read"):
        load_entries(path)


class TwoPhonemes:
    """An acoustic model's list of symbols, and nothing else of it."""

    def __init__(self) -> None:
        self.phonemes = {"t": 0, "u": 1, "<blank>": 2}
        self.blank = 2


def two(way: str, folder: Path) -> PhonemeListener:
    builder = GraphBuilder()
    builder.arc(0, 0, "two")
    builder.final(0)
    return PhonemeListener(TwoPhonemes(), lexicon(folder, f"two\t{way}\t\n"), builder.freeze())


def test_pronunciations_become_symbols_of_the_model(tmp_path):
    assert two("t u / u t u", tmp_path).pronounce("two") == ((0, 1), (1, 0, 1))


def test_a_phoneme_that_the_model_does_not_know_is_told_with_its_word(tmp_path):
    with pytest.raises(ModelError, match="no w, as in 'two'") as told:
        two("t w u", tmp_path)
    assert "lexicon" in told.value.what_to_do


def test_the_shipped_file_is_whole():
    entries = load_entries(SHIPPED)
    assert entries
    assert all(way for entry in entries.values() for way in entry.says)


# Radiotelephony says "tree", "fower", "fife", "niner" (ICAO Doc 9432 2.4.3, recalled from
# memory): listed like the common words, because a letter rule knows none of them.
@pytest.mark.parametrize("word", ["two", "niner", "fife", "fower", "tree", "psi", "o'clock"])
def test_words_that_the_rule_gets_wrong_are_listed(word):
    assert load_entries(SHIPPED)[word].says
