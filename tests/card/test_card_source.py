"""Reading YAML: places, YAML 1.2 words, and what is refused before any meaning is looked at."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from card_marked import write
from pydantic import Field

from voicewalk.card.source import Number, Source, Texts, Written
from voicewalk.errors import SourceError


class Part(Written):
    name: str = ""
    size: Number | None = None
    good: bool = False


class Sheet(Written):
    title: str
    words: Texts = Field(default_factory=list)
    parts: list[Part] = Field(default_factory=list)
    by_name: dict[str, Part] = Field(default_factory=dict)


def refusal(folder: Path, text: str) -> tuple[SourceError, str]:
    path, where = write(folder, text)
    with pytest.raises(SourceError) as caught:
        Source(path).read(Sheet)
    return caught.value, where


# YAML 1.2.2, 10.3.2 (core schema): only true and false are booleans. From memory.
@pytest.mark.parametrize("word", ["NO", "no", "yes", "on", "off", "Off", "y", "n", "12:30", "1:2"])
def test_a_word_stays_a_word(tmp_path, word):
    path, _ = write(tmp_path, f"title: {word}\nwords: [{word}, b]\n")
    sheet = Source(path).read(Sheet)
    assert sheet.title == word
    assert sheet.words == [word, "b"]


@pytest.mark.parametrize(
    ("written", "number"),
    [("205", "205"), ("5.25", "5.25"), ("0.1", "0.1"), ("-3", "-3"), ("3.0", "3.0")],
)
def test_a_number_is_the_decimal_written(tmp_path, written, number):
    path, _ = write(tmp_path, f"title: t\nparts: [{{size: {written}}}]\n")
    assert Source(path).read(Sheet).parts[0].size == Decimal(number)


def test_one_text_stands_for_a_list_of_one(tmp_path):
    path, _ = write(tmp_path, "title: t\nwords: alone\n")
    assert Source(path).read(Sheet).words == ["alone"]


REFUSED = {
    "duplicate key": ("title: a\n¦title: b\n", 'duplicate key "title"', "Keep one"),
    "duplicate key deep": (
        "title: a\nparts:\n  - name: x\n    ¦name: y\n",
        'duplicate key "name"',
        "Keep one",
    ),
    "unknown key": ("title: a\n¦wrods: b\n", "unknown key 'wrods'", "Did you mean 'words'?"),
    "unknown key in a list": (
        "title: a\nparts:\n  - name: x\n  - ¦nmae: y\n",
        "unknown key 'nmae'",
        "Did you mean 'name'? Known: good, name, size.",
    ),
    "unknown key in a mapping": (
        "title: a\nby_name:\n  x: {name: y, ¦siez: 3}\n",
        "unknown key 'siez'",
        "Did you mean 'size'?",
    ),
    "unknown key like no other": (
        "title: a\n¦qqq: b\n",
        "unknown key 'qqq'",
        "Known: by_name, parts, title, words.",
    ),
    "missing key": ("¦words: [a]\n", "'title' is missing", "Add the key 'title'"),
    "number for a text": ("title: ¦12\n", "'title': input should be a valid string", "in quotes"),
    "truth value for a text": ("title: ¦true\n", "valid string", "true or false goes in quotes"),
    "date for a text": ("title: ¦2024-01-01\n", "valid string", "in quotes"),
    "nothing for a text": ("¦title:\nwords: [a]\n", "valid string", "Write a text"),
    "text for a number": ("title: a\nparts: [{size: ¦wide}]\n", "'size'", "Write a number"),
    "truth value for a number": ("title: a\nparts: [{size: ¦true}]\n", "'size'", "Write a number"),
    "word for a truth value": (
        "title: a\nparts: [{good: ¦yes}]\n",
        "'good': input should be a valid boolean",
        "Write true or false.",
    ),
    "text for a list": ("title: a\nparts: ¦none\n", "'parts'", "Write a list"),
    "text for keys": ("title: a\nparts: [¦x]\n", "there are no keys here", "key: value"),
    "number for a key": ("title: a\nparts: [{3: ¦x}]\n", "keys should be strings", "as a word"),
    "infinite number": ("title: a\nparts: [{size: ¦.inf}]\n", "finite number", "Correct"),
    "alias": ("title: &t a\nwords: [¦*t]\n", "aliases", "Write the value out"),
    "tag": ("title: ¦!odd a\n", "tags", "Write the value out"),
    "two documents": ("title: a\n¦---\ntitle: b\n", "another document", "'---'"),
    "open bracket": ("title: a\nwords: [a\n¦", "expected ',' or ']'", "quotes"),
    "tab for an indent": ("title: a\nparts:\n¦\t- name: x\n", "cannot start any token", "indents"),
    "colon in a text": ("title: a¦: b\n", "mapping values are not allowed", "colons"),
    "a list only": ("¦- a\n- b\n", "the file holds no keys", "key: value"),
    "empty file": ("¦", "the file holds no keys", "key: value"),
}


@pytest.mark.parametrize("fault", REFUSED)
def test_is_refused_at_its_place(tmp_path, fault):
    text, message, what_to_do = REFUSED[fault]
    error, where = refusal(tmp_path, text)
    assert error.where == where
    assert str(error.args[0]).startswith(f"{where}: ")
    assert message in str(error)
    assert what_to_do in error.what_to_do


def test_all_misfits_of_a_file_are_told(tmp_path):
    error, where = refusal(tmp_path, "title: ¦12\nparts:\n  - nmae: x\n  - size: wide\n")
    assert error.where == where
    lines = str(error.args[0]).splitlines()
    assert [line.split(":")[1] for line in lines] == ["1", "3", "4"]


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(SourceError, match="cannot be read: No such file"):
        Source(tmp_path / "none.yaml")


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(SourceError, match="cannot be read"):
        Source(tmp_path)


def test_a_file_in_another_encoding_is_refused_at_its_line(tmp_path):
    path = tmp_path / "card.yaml"
    path.write_bytes("title: a\nwords: [é]\n".encode("latin-1"))
    with pytest.raises(SourceError, match="not UTF-8") as caught:
        Source(path)
    assert caught.value.where == f"{path}:2:1"


def test_a_control_character_is_refused(tmp_path):
    path = tmp_path / "card.yaml"
    path.write_bytes(b"title: a\x07\n")
    with pytest.raises(SourceError, match="no text"):
        Source(path)


def test_a_file_without_an_end_of_brackets_is_refused(tmp_path):
    path, _ = write(tmp_path, "title: " + "[" * 3000)
    with pytest.raises(SourceError, match="nested too deeply"):
        Source(path)


def test_the_place_of_a_value_that_is_not_there_is_the_nearest_around_it(tmp_path):
    path, where = write(tmp_path, "title: a\nparts:\n  - ¦name: x\n")
    assert Source(path).where(("parts", 0, "size")) == where
