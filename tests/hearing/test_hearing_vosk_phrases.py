"""The phrases for Vosk hold every pair of words that a call can have, and no other pair."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

from voicewalk.card.load import card_path, load_card
from voicewalk.hearing.vosk_phrases import phrases_of
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.meaning import Act
from voicewalk.language.parse import parse
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.vocabulary import vocabulary_of

KOREAN = "tow-tractor-korean"
CARDS = (KOREAN, "vehicle-daily", "jet-trainer")
ON_EACH = pytest.mark.parametrize("name", CARDS)


@cache
def laid(name: str) -> PhraseGraph:
    card = load_card(card_path(name))
    return phrase_graph(card, vocabulary_of(card))


def pairs(text: str) -> set[tuple[str, str]]:
    words = ("<s>", *text.split(), "</s>")
    return set(pairwise(words))


@ON_EACH
def test_every_drawn_call_is_made_of_their_pairs(name):
    card = load_card(card_path(name))
    known = set().union(*map(pairs, phrases_of(laid(name), answers=True)))
    for call in draw_phrases(card, vocabulary_of(card), 300, seed=1):
        assert pairs(call.text) <= known, call.text


@ON_EACH
def test_each_is_a_call(name):
    phrases = phrases_of(laid(name), answers=True)
    assert [phrase for phrase in phrases[::7] if not parse(laid(name), phrase)] == []


def test_without_answers_each_names_an_item_or_is_a_command():
    graph = laid(KOREAN)
    for phrase in phrases_of(graph, answers=False):
        assert any(m.item or m.act in (Act.COMMAND, Act.ITEM) for m in parse(graph, phrase)), phrase


def test_without_answers_no_other_word_begins():
    def first(answers: bool) -> set[str]:
        return {p.split()[0] for p in phrases_of(laid(KOREAN), answers=answers)}

    assert "정상" in first(True) - first(False)
    assert {"앞", "소화기", "정정", "그렇습니다"} <= first(False)


@ON_EACH
def test_there_are_no_more_than_pairs(name):
    phrases = phrases_of(laid(name), answers=True)
    assert len(set(phrases)) == len(phrases) <= len(set().union(*map(pairs, phrases)))


def test_loops_end_and_what_is_only_written_is_left_out():
    builder = GraphBuilder()
    loop, end = builder.state(), builder.state()
    builder.final(end)
    builder.arc(0, loop, "say", ("item", "x"))
    builder.arc(loop, loop, "one")
    builder.arc(loop, loop, "1", written=True)
    builder.arc(loop, end, "over")
    phrases = phrases_of(builder.freeze(), answers=True)
    assert set().union(*map(pairs, phrases)) == {
        ("<s>", "say"), ("say", "one"), ("one", "one"), ("one", "over"), ("say", "over"),
        ("over", "</s>"),
    }  # fmt: skip
