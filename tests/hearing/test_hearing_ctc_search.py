"""The search of frames against brute force: every word sequence times every labelling of frames.

The oracle writes each word sequence as a regular expression over frame labels, straight from
the rules: blanks may lead; a symbol lasts one frame or more; blanks may follow it; inside a
word two equal symbols need a blank between them, across words they do not (Graves et al. 2006,
connectionist temporal classification, has the blank rule for all; the exception is our own).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import product
from math import inf

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from voicewalk.hearing.ctc_search import Trellis
from voicewalk.hearing.symbol_graph import SymbolGraph
from voicewalk.language.graph import GraphBuilder, PhraseGraph

SIGNS = "ab_"  # label of each symbol
BLANK = 2
FRAMES = 5
Ways = dict[str, tuple[tuple[int, ...], ...]]

# Whole numbers add up without rounding, and make ties.
frames = st.integers(1, FRAMES).flatmap(
    lambda length: st.lists(
        st.tuples(*[st.integers(-6, 0)] * len(SIGNS)), min_size=length, max_size=length
    )
).map(lambda rows: np.array(rows, dtype=np.float32))  # fmt: skip
spelling = st.lists(st.integers(0, 1), min_size=1, max_size=3).map(tuple)
one_way = st.fixed_dictionaries({word: st.tuples(spelling) for word in "xyz"})
two_ways = st.fixed_dictionaries(
    {word: st.lists(spelling, min_size=1, max_size=2, unique=True).map(tuple) for word in "xyz"}
)


@st.composite
def graphs(draw, trees: bool) -> PhraseGraph:
    """Small graphs: trees, in which every path is the only one to its end, or any at all."""
    builder = GraphBuilder()
    states = draw(st.integers(2, 4))
    for _ in range(states - 1):
        builder.state()
    words = st.sampled_from("xyz")
    if trees:
        for state in range(1, states):
            builder.arc(draw(st.integers(0, state - 1)), state, draw(words))
    else:
        ends = st.integers(0, states - 1)
        for src, dst, word in draw(st.sets(st.tuples(ends, ends, words), min_size=1, max_size=5)):
            builder.arc(src, dst, word)
    for state in draw(st.sets(st.integers(0, states - 1), min_size=1)):
        builder.final(state)
    graph = builder.freeze()
    if not graph.arcs:
        builder.arc(0, 1, "x")
        builder.final(1)
        graph = builder.freeze()
    return graph


def sounds(way: tuple[int, ...]) -> str:
    """One word as an expression over labels."""
    pattern = ""
    for here, then in zip(way, (*way[1:], None), strict=True):
        pattern += f"{SIGNS[here]}+_{'+' if here == then else '*'}"
    return pattern


def best_of(pattern: str, rows: np.ndarray) -> float:
    """The best score of any labelling of the frames that the expression allows."""
    expression = re.compile(pattern)
    return max(
        (
            float(sum(row[label] for row, label in zip(rows, labels, strict=True)))
            for labels in product(range(len(SIGNS)), repeat=len(rows))
            if expression.fullmatch("".join(SIGNS[label] for label in labels))
        ),
        default=-inf,
    )


def sequences(graph: PhraseGraph, most: int, states: Iterable[int]) -> list[tuple[int, ...]]:
    """Every way through the graph from one of the states, of up to so many words, as arcs."""
    found, todo = {}, [(state, ()) for state in states]
    while todo:
        state, arcs = todo.pop()
        if state in graph.finals:
            found[arcs] = None
        if len(arcs) < most:
            todo += [(graph.arcs[i].dst, (*arcs, i)) for i in graph.leaving[state]]
    return list(found)


def brute(
    graph: PhraseGraph, ways: Ways, rows: np.ndarray, states: Iterable[int] = (0,)
) -> dict[tuple[int, ...], float]:
    """The score of every word sequence that fits the frames."""
    labelled = {
        "".join(SIGNS[label] for label in labels): float(
            sum(row[label] for row, label in zip(rows, labels, strict=True))
        )
        for labels in product(range(len(SIGNS)), repeat=len(rows))
    }
    scores = {}
    for arcs in sequences(graph, len(rows), states):
        choices = product(*(ways[graph.arcs[i].word] for i in arcs))
        patterns = [re.compile("_*" + "".join(map(sounds, choice))) for choice in choices]
        fitting = [
            score
            for labels, score in labelled.items()
            if any(pattern.fullmatch(labels) for pattern in patterns)
        ]
        if fitting:
            scores[arcs] = max(fitting)
    return scores


def searched(
    graph: PhraseGraph, ways: Ways, rows: np.ndarray, states: Iterable[int] = (0,)
) -> Trellis:
    return Trellis(SymbolGraph(graph, ways.__getitem__), rows, BLANK, states)


beginnings = st.sets(st.integers(0, 3), min_size=1)


def there(graph: PhraseGraph, states: set[int]) -> set[int]:
    """Of the states drawn those that the graph has; the start where it has none of them."""
    return {state for state in states if state < graph.states} or {0}


@settings(deadline=None, max_examples=200)
@given(graphs(trees=False), two_ways, frames, beginnings)
def test_the_best_path_is_the_best_of_all(graph, ways, rows, states):
    states = there(graph, states)
    true = brute(graph, ways, rows, states)
    trellis = searched(graph, ways, rows, states)
    found = list(trellis.paths(margin=1000.0, limit=300))
    assert bool(found) is bool(true)
    if true:
        assert found[0].score == max(true.values())
        assert true[found[0].arcs] == found[0].score
    scores = [path.score for path in found]
    assert scores == sorted(scores, reverse=True)
    for path in found:
        assert path.score <= true[path.arcs]
    for state in graph.finals:
        ending = [
            score for arcs, score in true.items() if arcs and graph.arcs[arcs[-1]].dst == state
        ]
        ending += [true[()]] if state in states else []
        assert trellis.best(state) == max(ending, default=-inf)


@settings(deadline=None, max_examples=150)
@given(graphs(trees=True), two_ways, frames)
def test_where_histories_do_not_meet_all_word_sequences_are_found_in_order(graph, ways, rows):
    """Each once and with its best spellings, however many a word has."""
    true = brute(graph, ways, rows)
    found = list(searched(graph, ways, rows).paths(margin=1000.0, limit=300))
    assert [path.score for path in found] == sorted(true.values(), reverse=True)
    assert {path.arcs: path.score for path in found} == true


@settings(deadline=None, max_examples=100)
@given(graphs(trees=False), two_ways, frames, beginnings)
def test_no_word_sequence_is_found_twice(graph, ways, rows, states):
    found = list(searched(graph, ways, rows, there(graph, states)).paths(1000.0, 300))
    spoken = [path.arcs for path in found if path.arcs]
    assert len(set(spoken)) == len(spoken)


@settings(deadline=None, max_examples=100)
@given(graphs(trees=True), one_way, frames, st.integers(1, 3))
def test_from_a_state_only_what_follows_it_is_found(graph, ways, rows, state):
    assume(state < graph.states)
    true = brute(graph, ways, rows, {state})
    found = list(searched(graph, ways, rows, {state}).paths(margin=1000.0, limit=300))
    assert {path.arcs: path.score for path in found} == true


@settings(deadline=None, max_examples=100)
@given(graphs(trees=False), one_way, frames)
def test_a_path_is_as_good_as_its_words_from_where_they_begin(graph, ways, rows):
    for path in searched(graph, ways, rows).paths(margin=1000.0, limit=40):
        assert len(path.begins) == len(path.arcs)
        assert list(path.begins) == sorted(set(path.begins))
        bounds = [*path.begins, len(rows)]
        score = float(rows[: bounds[0], BLANK].sum())
        for arc, begin, end in zip(path.arcs, bounds, bounds[1:], strict=False):
            (way,) = ways[graph.arcs[arc].word]
            score += best_of(sounds(way), rows[begin:end])
        assert path.score == score


@settings(deadline=None)
@given(graphs(trees=True), one_way, frames, st.integers(0, 8))
def test_the_margin_keeps_all_that_lies_within_it(graph, ways, rows, margin):
    true = brute(graph, ways, rows)
    top = max(true.values(), default=-inf)
    found = {path.arcs for path in searched(graph, ways, rows).paths(float(margin), 300)}
    within = {arcs for arcs, score in true.items() if score >= top - margin}
    assert within <= found | {()}
    assert found - {()} <= within


def line(*words: str) -> PhraseGraph:
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    builder.phrase(0, end, " ".join(words))
    return builder.freeze()


def heard(labels: str) -> np.ndarray:
    """Frames in which only these labels can be."""
    rows = np.full((len(labels), len(SIGNS)), -np.inf, dtype=np.float32)
    rows[range(len(labels)), [SIGNS.index(label) for label in labels]] = 0.0
    return rows


@pytest.mark.parametrize(
    ("labels", "fits"),
    [
        ("a_a", True),
        ("__aa__aa__", True),
        ("aa", False),  # one symbol held, and not two
        ("a", False),
        ("a_ab", False),
    ],
)
def test_equal_symbols_inside_a_word_need_a_blank(labels, fits):
    best = searched(line("x"), {"x": ((0, 0),)}, heard(labels)).best(1)
    assert (best == 0.0) is fits


@pytest.mark.parametrize(("labels", "fits"), [("aa", True), ("a_a", True), ("a", False)])
def test_equal_symbols_across_words_need_none(labels, fits):
    graph = line("x", "x")
    (end,) = graph.finals
    assert (searched(graph, {"x": ((0,),)}, heard(labels)).best(end) == 0.0) is fits


def test_a_loop_of_words_is_heard_as_often_as_it_is_said():
    builder = GraphBuilder()
    builder.arc(0, 0, "x")
    builder.final(0)
    graph = builder.freeze()
    first, *_ = searched(graph, {"x": ((0, 1),)}, heard("_ab_abab")).paths(10.0, 100)
    assert first.arcs == (0, 0, 0)
    assert first.begins == (1, 4, 6)


def entered() -> PhraseGraph:
    """ "x y" is an item and its answer; where the item was asked for, "y" alone is a call."""
    builder = GraphBuilder()
    tail, end = builder.state(), builder.state()
    builder.final(end)
    builder.entry("item", tail)
    builder.arc(0, tail, "x")
    builder.arc(tail, end, "y")
    return builder.freeze()


@pytest.mark.parametrize("labels", ["_b_", "b", "__bb_"])
def test_an_answer_is_heard_only_where_it_was_asked_for(labels):
    graph, ways = entered(), {"x": ((0,),), "y": ((1,),)}
    asked = (0, graph.entries["item"])
    (path,) = searched(graph, ways, heard(labels), asked).paths(60.0, 100)
    assert ([graph.arcs[i].word for i in path.arcs], path.score) == (["y"], 0.0)
    assert path.begins == (labels.index("b"),)
    assert list(searched(graph, ways, heard(labels)).paths(60.0, 100)) == []


def test_a_named_call_is_heard_whole_though_its_answer_was_asked_for():
    graph, ways = entered(), {"x": ((0,),), "y": ((1,),)}
    asked = (0, graph.entries["item"])
    first, *_ = searched(graph, ways, heard("_a_b_"), asked).paths(60.0, 100)
    assert [graph.arcs[i].word for i in first.arcs] == ["x", "y"]
    assert (first.begins, first.score) == ((1, 3), 0.0)


def test_silence_is_no_word():
    assert list(searched(line("x"), {"x": ((0,),)}, heard("___")).paths(60.0, 100)) == []


@pytest.mark.parametrize("length", [1, 2])
def test_a_clip_too_short_for_any_phrase_has_no_path(length):
    rows = np.zeros((length, len(SIGNS)), dtype=np.float32)
    assert list(searched(line("x"), {"x": ((0, 1, 0),)}, rows).paths(60.0, 100)) == []


def test_signs_that_a_decoder_writes_are_not_listened_for():
    builder = GraphBuilder()
    builder.arc(0, 0, "2", written=True)
    builder.arc(0, 0, "x")
    builder.final(0)
    graph = SymbolGraph(builder.freeze(), {"x": ((0, 1), (1,))}.__getitem__)
    assert graph.symbols.tolist() == [0, 1, 1]
    assert graph.arc.tolist() == [1, 1]
    assert (graph.heads.tolist(), graph.tails.tolist()) == ([0, 2], [1, 2])
    assert graph.doubled.tolist() == []
