"""What each language can say: English numbers, sides and letters; other scripts as words."""

from __future__ import annotations

import pytest

from voicewalk.card.load import FOLDERS, find, load_card
from voicewalk.errors import SourceError
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.parse import parse
from voicewalk.language.scope import unspeakable
from voicewalk.language.vocabulary import load_vocabulary, vocabulary_of

HEAD = """id: small
title: Small
version: "1"
subject: pump
caution: A card for tests.
vocabularies: {vocabulary}
stations:
  - station: room
    phase: stopped
    items:
"""


def small(folder, vocabulary, items):
    path = folder / "card.yaml"
    path.write_text(HEAD.format(vocabulary=vocabulary) + items, encoding="utf-8")
    return load_card(path)


@pytest.mark.parametrize(
    ("phrase", "language", "bad"),
    [
        ("two o'clock", "en", []),
        ("cross-threaded", "en", []),
        ("façade", "en", ["façade"]),
        ("façade", "fr", []),
        ("l'huile", "fr", []),
        ("앞 타이어", "ko", []),
        ("앞 타이어", "en", ["앞", "타이어"]),
        ("타이어 2", "ko", ["2"]),
        ("Öl", "de", ["Öl"]),
        ("_", "ko", ["_"]),
        ("", "ko", [""]),
    ],
)
def test_words_that_cannot_be_spoken(phrase, language, bad):
    assert unspeakable(phrase, language) == bad


@pytest.mark.parametrize(
    ("vocabulary", "items", "message"),
    [
        ("english", "      - name: pump façade\n", "unknown word 'façade'"),
        ("english", "      - name: v\n        state: {good: öde, bad: not öde}\n", "'öde'"),
        ("korean", "      - name: 타이어\n        count: 4\n", "numbers are understood in English"),
        ("korean", "      - name: 압력\n        reading: psi\n", "numbers are understood"),
        (
            "korean",
            "      - name: 타이어\n        sides: [left, right]\n",
            "sides are named",
        ),
    ],
)
def test_what_the_language_cannot_say_is_refused_at_its_item(tmp_path, vocabulary, items, message):
    card = small(tmp_path, vocabulary, items)
    with pytest.raises(SourceError, match=message) as caught:
        vocabulary_of(card)
    assert caught.value.where == f"{card.path}:11:1"


def test_sizes_are_refused_where_no_number_can_be_said(tmp_path):
    text = find("korean", FOLDERS).read_text(encoding="utf-8")
    path = tmp_path / "korean.yaml"
    old = "      - 펑크 # punctured\n"
    assert old in text
    path.write_text(
        text.replace(old, f"{old}    sized: [균열]\n    size_units: [millimetre]\n"), "utf-8"
    )
    with pytest.raises(SourceError, match="numbers are understood in English only") as caught:
        load_vocabulary(path)
    line = text[: text.index(old) + len(old)].count("\n") + 1
    assert caught.value.where == f"{path}:{line}:5"


def test_hangul_written_in_parts_is_the_same_word(tmp_path):
    """NFD, as some systems save text, is the same text (Unicode Standard Annex 15)."""
    parts = "\u110b\u1161\u11c1"
    card = small(tmp_path, "korean", f"      - name: {parts}\n")
    assert [item.name for item in card] == ["앞"]
    graph = phrase_graph(card, vocabulary_of(card))
    assert parse(graph, f"{parts} 정상") == [Meaning(Act.SATISFACTORY, item="앞")]
