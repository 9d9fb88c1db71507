"""The letter graph and the word search against trying everything, on a toy word model."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from toy_words import TOKENS, ToyDecoding

from voicewalk.hearing.letter_graph import LetterGraph
from voicewalk.hearing.tokens import MARKS, Tokenizer, TokenTrie, letters_of
from voicewalk.hearing.word_search import LONGEST, Written, free, score, search
from voicewalk.language.graph import GraphBuilder, PhraseGraph

TRIE = TokenTrie(TOKENS)
MARK_IDS = [token for token, text in enumerate(TOKENS) if text in MARKS]
POINT = TOKENS.index(".")
WIDE = 6000
SEEDS = pytest.mark.parametrize("seed", range(6))


def as_written(word: str) -> tuple[str, ...]:
    return (word,)


def graph_of(*phrases: str) -> PhraseGraph:
    """Phrases of words; digits and points are written signs, one each."""
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    for phrase in phrases:
        src = 0
        *first, last = phrase.split()
        for word in first:
            dst = builder.state()
            builder.arc(src, dst, word, written=word in "35.")
            src = dst
        builder.arc(src, end, last, written=last in "35.")
    return builder.freeze()


def letters_on(*phrases: str, spell=as_written) -> LetterGraph:
    return LetterGraph(graph_of(*phrases), spell, TRIE)


def searched(
    decoding: ToyDecoding, letters: LetterGraph, width: int, states: Iterable[int] = (0,)
) -> list[Written]:
    return search(decoding, TRIE, letters, letters.start(states), width)


def tried(decoding: ToyDecoding, phrases: set[str]) -> dict[tuple[tuple[int, ...], str], float]:
    """Every token string that writes one of the phrases (letters only), with its score.

    A mark never comes first or after another, and after a full stop that is no decimal point
    no digit comes.
    """
    found = {}
    todo: list[tuple[tuple[int, ...], str, bool]] = [((), "", True)]
    while todo:
        tokens, letters, after_mark = todo.pop()
        if letters in phrases and tokens:
            found[tokens, letters] = decoding.total(tokens)
        if not after_mark:
            todo += [((*tokens, mark), letters, True) for mark in MARK_IDS]
        for token, text in enumerate(TOKENS):
            more = letters_of(text)
            if not more or not any(p.startswith(letters + more) for p in phrases):
                continue
            stopped = after_mark and bool(tokens) and tokens[-1] == POINT
            if not (stopped and more[0].isdigit()):
                todo.append(((*tokens, token), letters + more, False))
    return found


TEXTS = [("a b", "ab a"), ("3 . 5", "3 5", "a 3"), ("c", "a c", "b a b"), ("ab ba",)]


@SEEDS
@pytest.mark.parametrize("phrases", TEXTS, ids=" / ".join)
def test_a_wide_search_finds_everything_and_nothing_else(phrases, seed):
    decoding = ToyDecoding(seed)
    true = tried(decoding, {phrase.replace(" ", "") for phrase in phrases})
    found = searched(decoding, letters_on(*phrases), WIDE)
    assert {(text.tokens, text.letters) for text in found} == set(true)
    assert [text.score for text in found] == pytest.approx(
        sorted(true.values(), reverse=True), abs=1e-4
    )


@SEEDS
@pytest.mark.parametrize("width", [1, 2, 8])
def test_a_narrow_search_scores_what_it_finds_exactly(width, seed):
    phrases = TEXTS[1]
    decoding = ToyDecoding(seed)
    true = tried(decoding, {phrase.replace(" ", "") for phrase in phrases})
    found = searched(decoding, letters_on(*phrases), width)
    assert found or width == 1  # which may end in a full stop after which nothing can come
    assert len(found) <= 2 * width
    assert [text.score for text in found] == sorted((t.score for t in found), reverse=True)
    for text in found:
        assert text.score == pytest.approx(true[text.tokens, text.letters], abs=1e-4)
    assert max(decoding.asked) <= width


@SEEDS
def test_a_decimal_point_is_never_lost(seed):
    """ "3.5" is never read as 35, nor "3. 5"."""
    found = searched(ToyDecoding(seed), letters_on("3 5"), WIDE)
    assert found
    assert all(POINT not in text.tokens[:-1] for text in found)
    found = searched(ToyDecoding(seed), letters_on("3 . 5"), WIDE)
    assert found
    assert {text.letters for text in found} == {"3.5"}


@SEEDS
def test_two_marks_never_follow_each_other_nor_open_a_text(seed):
    found = searched(ToyDecoding(seed), letters_on("a b a", "3 5"), WIDE)
    marked = [tuple(token in MARK_IDS for token in text.tokens) for text in found]
    assert any(any(marks) for marks in marked)
    assert not any(marks[0] for marks in marked)
    assert not any(one and two for marks in marked for one, two in pairwise(marks))


@SEEDS
def test_a_loop_is_searched_to_an_end(seed):
    builder = GraphBuilder()
    builder.arc(0, 0, "a")
    builder.final(0)
    found = searched(ToyDecoding(seed), LetterGraph(builder.freeze(), as_written, TRIE), 4)
    assert found
    assert all(set(text.letters) <= {"a"} and len(text.tokens) <= LONGEST for text in found)


ENTERED = {"a": {"a b", "ab a"}, "b": {"c", "3 . 5"}}


@pytest.fixture(scope="module")
def entered() -> PhraseGraph:
    """Two items, each with its own answers; its name leads to them and it is an entry."""
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    for name, answers in ENTERED.items():
        tail = builder.state()
        builder.entry(name, tail)
        builder.arc(0, tail, name)
        for answer in answers:
            src = tail
            *first, last = answer.split()
            for word in first:
                dst = builder.state()
                builder.arc(src, dst, word, written=word in "35.")
                src = dst
            builder.arc(src, end, last, written=last in "35.")
    return builder.freeze()


@SEEDS
@pytest.mark.parametrize("asked", [(), ("a",), ("b",), ("a", "b")], ids="+".join)
def test_answers_are_written_only_where_they_were_asked_for(asked, seed, entered):
    decoding = ToyDecoding(seed)
    letters = LetterGraph(entered, as_written, TRIE)
    calls = {f"{name} {answer}" for name, answers in ENTERED.items() for answer in answers}
    calls |= {answer for name in asked for answer in ENTERED[name]}
    true = tried(decoding, {call.replace(" ", "") for call in calls})
    found = searched(decoding, letters, WIDE, {0, *(entered.entries[name] for name in asked)})
    assert {(text.tokens, text.letters) for text in found} == set(true)
    assert [text.score for text in found] == pytest.approx(
        sorted(true.values(), reverse=True), abs=1e-4
    )


@SEEDS
def test_the_free_text_is_the_likeliest_token_each_time(seed):
    decoding = ToyDecoding(seed)
    text = free(decoding)
    for at, token in enumerate(text.tokens):
        assert token == int(decoding.row(text.tokens[:at]).argmax())
    steps = [*text.tokens, 2][:LONGEST]
    expected = sum(decoding.row(text.tokens[:at])[step] for at, step in enumerate(steps))
    assert text.score == pytest.approx(float(expected), abs=1e-4)
    assert len(text.tokens) <= LONGEST


class Endless(ToyDecoding):
    def row(self, tokens):
        return np.log(np.eye(len(TOKENS), dtype=np.float32)[3] * 0.9 + 0.001)


def test_a_free_text_without_an_end_is_cut():
    assert free(Endless(0)).tokens == (3,) * LONGEST


texts = st.lists(st.lists(st.integers(3, 8), max_size=5).map(tuple), max_size=8)


@settings(deadline=None)
@given(texts, st.integers(0, 99))
def test_given_texts_are_scored_as_the_sum_of_their_steps(texts, seed):
    decoding = ToyDecoding(seed)
    assert score(decoding, texts) == pytest.approx(
        [decoding.total(text) for text in texts], abs=1e-4
    )


def test_texts_that_begin_alike_are_scored_together():
    decoding = ToyDecoding(0)
    score(decoding, [(3, 4, 5), (3, 4, 6), (3, 4, 6), (7,)])
    assert decoding.asked == [2, 1, 2]


# --- the letter graph ----------------------------------------------------------------------

WORDS = ["a", "b", "ab", "ba", "aba"]


@st.composite
def word_graphs(draw) -> PhraseGraph:
    builder = GraphBuilder()
    for _ in range(3):
        builder.state()
    ends = st.integers(0, 3)
    for arc in draw(st.sets(st.tuples(ends, ends, st.sampled_from(WORDS)), max_size=7)):
        builder.arc(*arc)
    for state in draw(st.sets(ends, min_size=1)):
        builder.final(state)
    return builder.freeze()


SPELLINGS = {"ab": ("ab", "b"), "a": ("a",), "aba": ("a'ba",)}


def spelled(word: str) -> tuple[str, ...]:
    return SPELLINGS.get(word, (word,))


def ways(graph: PhraseGraph, letters: str, states: Iterable[int] = (0,)) -> set[tuple[int, ...]]:
    """Every sequence of arcs from one of the states that can be spelled with these letters."""
    found, todo = set(), [(state, "", ()) for state in states]
    while todo:
        state, written, arcs = todo.pop()
        if written == letters and state in graph.finals:
            found.add(arcs)
        for index in graph.leaving[state]:
            for way in spelled(graph.arcs[index].word):
                longer = written + way.replace("'", "")
                if letters.startswith(longer):
                    todo.append((graph.arcs[index].dst, longer, (*arcs, index)))
    return found


@settings(deadline=None)
@given(word_graphs(), st.sets(st.integers(0, 3), min_size=1))
def test_paths_are_all_ways_to_spell_the_letters(graph, states):
    letters = LetterGraph(graph, spelled, TRIE)
    states = {0} | {state for state in states if state < graph.states}
    for length in range(5):
        for text in map("".join, product("ab", repeat=length)):
            assert set(letters.paths(text)) == ways(graph, text)
            assert set(letters.paths(text, states)) == ways(graph, text, states)


def beginnings(graph: PhraseGraph, length: int) -> set[str]:
    """What phrases begin with, in up to so many letters. Each state of a trimmed graph leads to an
    end."""
    found, todo = set(), [(0, "")] if graph.finals else []
    while todo:
        state, written = todo.pop()
        found.add(written)
        for index in graph.leaving[state]:
            for way in spelled(graph.arcs[index].word):
                longer = written + way.replace("'", "")
                found |= {longer[:cut] for cut in range(min(length, len(longer)) + 1)}
                if len(longer) <= length:
                    todo.append((graph.arcs[index].dst, longer))
    return found


@settings(deadline=None)
@given(word_graphs(), st.lists(st.sampled_from([3, 4, 5, 6, 7]), max_size=4))
def test_tokens_follow_where_their_letters_do(graph, tokens):
    letters = LetterGraph(graph, spelled, TRIE)
    number, written = letters.start(), ""
    reachable = beginnings(graph, 5)
    for token in tokens:
        following = letters.following(number)
        assert following.tokens.tolist() == sorted(set(following.tokens.tolist()))
        for allowed in (3, 4, 5, 6, 7):
            longer = written + TRIE.letters[allowed]
            if len(longer) <= 5:
                assert (allowed in following.tokens) is (longer in reachable)
        if token not in following.tokens:
            return
        written += TRIE.letters[token]
        number = int(following.sets[following.tokens.tolist().index(token)])
        if len(written) <= 5:
            assert letters.can_end(number) is bool(ways(graph, written))


def test_a_set_is_worked_out_once():
    letters = letters_on("a b", "ab a")
    assert letters.following(letters.start()) is letters.following(letters.start())


def test_split_and_joined_words_lead_to_the_same_place():
    letters = letters_on("a b a")
    following = letters.following(letters.start())
    sets = dict(zip(following.tokens.tolist(), following.sets.tolist(), strict=True))
    split = letters.following(sets[TOKENS.index(" a")])
    after = dict(zip(split.tokens.tolist(), split.sets.tolist(), strict=True))
    assert sets[TOKENS.index(" ab")] == after[TOKENS.index("b")]


# --- tokens --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "letters"),
    [
        (" Left", "left"),
        ("O'", "o"),
        ("'s", "s"),
        ("2", "2"),
        (".", "."),
        (" .", "."),
        (".5", ""),
        ("3.5", ""),
        (",", ""),
        ("é", ""),
        ("²", ""),
        ("１", ""),
        ("a-b", ""),
        ("%", ""),
        (" ", ""),
        ("", ""),
        ("'", ""),
        ("a b", ""),
    ],
)
def test_letters_of_tokens(text, letters):
    assert letters_of(text) == letters


def test_marks_points_and_digits():
    assert [TOKENS[mark] for mark in TRIE.marks] == [".", ","]
    assert TRIE.points == {POINT}
    assert [text for text, digit in zip(TOKENS, TRIE.digit, strict=True) if digit] == [
        " 3", "3", "5", "35",
    ]  # fmt: skip


def test_tokens_are_merged_lowest_id_first():
    """Worked out by hand: in "eft" the pair "ft" (7) goes before "ef" (9), which lies first."""
    texts = ["", "l", "e", "f", "t", " ", "le", "ft", " le", "ef", " left", "left"]
    tokenize = Tokenizer(texts)
    assert tokenize("eft") == (5, 2, 7)
    assert tokenize("left") == (10,)
    assert tokenize("left left") == (10, 10)
    assert tokenize("  ") == ()


@given(st.text("ab35.,", min_size=1, max_size=10))
def test_tokens_write_the_text_they_are_of(text):
    texts = [*TOKENS, " ", "c"]
    tokens = Tokenizer(texts)(text)
    assert "".join(texts[token] for token in tokens) == f" {text}"


def test_a_word_that_is_spelt_out_is_written_as_one():
    """The hyphens are for who hears letter by letter; here they are no second way."""
    letters = LetterGraph(graph_of("ab"), {"ab": ("ab", "a-b", "a'b")}.__getitem__, TRIE)
    assert letters.paths("ab") == [(0,)]
    assert letters.paths("a-b") == []
