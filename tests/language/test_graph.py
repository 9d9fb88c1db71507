"""The phrase graph: freezing keeps every phrase with its tags and nothing else."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.language.graph import GraphBuilder, PhraseGraph

LONGEST = 4
STATES = 5
Accepted = set[tuple[tuple[str, ...], tuple[tuple[str, str], ...]]]

states = st.integers(0, STATES - 1)
tags = st.lists(st.tuples(st.sampled_from("xy"), st.sampled_from("12")), max_size=1).map(tuple)
arcs = st.lists(st.tuples(states, states, st.sampled_from("ab"), tags), max_size=8)
finals = st.dictionaries(states, tags, max_size=2)
# Empty arcs lead to a higher state: no loops.
empties = st.lists(
    st.tuples(states, states, tags).filter(lambda empty: empty[0] < empty[1]), max_size=4
)
looping = st.lists(st.tuples(states, states, tags), min_size=1, max_size=4)


def built(arcs, empties, finals) -> GraphBuilder:
    builder = GraphBuilder()
    for _ in range(STATES - 1):
        builder.state()
    for src, dst, word, its in arcs:
        builder.arc(src, dst, word, *its)
    for src, dst, its in empties:
        builder.empty(src, dst, *its)
    for state, its in finals.items():
        builder.final(state, *its)
    return builder


def walked(arcs, empties, finals, start: int = 0) -> Accepted:
    """Every phrase of up to LONGEST words, by trying everything on the parts as given."""
    found: Accepted = set()
    todo = [(start, (), ())]
    while todo:
        state, words, picked = todo.pop()
        if state in finals:
            found.add((words, picked + finals[state]))
        todo += [(dst, words, picked + its) for src, dst, its in empties if src == state]
        if len(words) < LONGEST:
            todo += [
                (dst, (*words, word), picked + its) for src, dst, word, its in arcs if src == state
            ]
    return found


def accepted(graph: PhraseGraph, start: int = 0) -> Accepted:
    plain = [(arc.src, arc.dst, arc.word, arc.tags) for arc in graph.arcs]
    return walked(plain, [], graph.finals, start)


def endings(state, empties, finals) -> set:
    found = {finals[state]} if state in finals else set()
    for src, dst, its in empties:
        if src == state:
            found |= {its + ending for ending in endings(dst, empties, finals)}
    return found


def has_loop(empties) -> bool:
    reached = {src: {dst for s, dst, _ in empties if s == src} for src in range(STATES)}
    for _ in range(STATES):
        for state, onward in reached.items():
            reached[state] = onward.union(*(reached[other] for other in onward))
    return any(state in onward for state, onward in reached.items())


@given(arcs, empties, finals)
def test_a_frozen_graph_accepts_what_its_parts_accept(arcs, empties, finals):
    builder = built(arcs, empties, finals)
    if any(len(endings(state, empties, finals)) > 1 for state in range(STATES)):
        with pytest.raises(RuntimeError, match="two endings"):
            builder.freeze()
    else:
        assert accepted(builder.freeze()) == walked(arcs, empties, finals)


@given(arcs, empties, states)
def test_a_frozen_graph_is_trimmed_and_in_order(arcs, empties, final):
    empties = [(src, dst, ()) for src, dst, _ in empties]
    graph = built(arcs, empties, {final: ()}).freeze()
    assert list(graph.arcs) == sorted(graph.arcs, key=lambda arc: arc.src)
    assert len(set(graph.arcs)) == len(graph.arcs)
    assert graph.finals.keys() <= set(range(graph.states))
    pairs = [(arc.src, arc.dst) for arc in graph.arcs]
    from_start, to_end = {0}, set(graph.finals)
    for _ in range(graph.states):
        from_start |= {dst for src, dst in pairs if src in from_start}
        to_end |= {src for src, dst in pairs if dst in to_end}
    assert from_start == set(range(graph.states))
    assert to_end == set(range(graph.states)) or not (graph.finals or graph.arcs)
    for state in range(graph.states):
        assert [graph.arcs[i].src for i in graph.leaving[state]] == [state] * len(
            graph.leaving[state]
        )
        assert {i for i, arc in enumerate(graph.arcs) if arc.dst == state} == set(
            graph.entering[state]
        )
    assert sum(map(len, graph.leaving)) == len(graph.arcs)


@given(arcs, empties, states, st.dictionaries(st.sampled_from("pqr"), states))
def test_what_follows_an_entry_is_kept_and_nothing_else_changes(arcs, empties, final, entries):
    empties = [(src, dst, ()) for src, dst, _ in empties]
    builder = built(arcs, empties, {final: ()})
    for name, state in entries.items():
        builder.entry(name, state)
    graph = builder.freeze()
    assert accepted(graph) == walked(arcs, empties, {final: ()})
    behind = {name: walked(arcs, empties, {final: ()}, state) for name, state in entries.items()}
    # Where an end lies too far away to be walked to here, an entry may have it all the same.
    assert {name for name, phrases in behind.items() if phrases} <= graph.entries.keys()
    assert graph.entries.keys() <= entries.keys()
    for name, state in graph.entries.items():
        assert accepted(graph, state) == behind[name]
    reached = {0, *graph.entries.values()}
    for _ in range(graph.states):
        reached |= {arc.dst for arc in graph.arcs if arc.src in reached}
    assert reached == set(range(graph.states))


@given(looping)
def test_a_loop_of_empty_arcs_is_refused_and_only_that(empties):
    builder = built([], [(src, dst, ()) for src, dst, _ in empties], {0: ()})
    if has_loop(empties):
        with pytest.raises(RuntimeError, match="loop of empty arcs"):
            builder.freeze()
    else:
        assert accepted(builder.freeze()) == {((), ())}


def test_a_state_that_empty_arcs_lead_back_to_is_a_loop():
    builder = GraphBuilder()
    other = builder.state()
    builder.empty(0, other)
    builder.empty(other, 0)
    with pytest.raises(RuntimeError, match="loop of empty arcs"):
        builder.freeze()


def test_two_endings_of_one_state_are_refused():
    builder = GraphBuilder()
    builder.final(0, ("act", "state"))
    builder.final(0, ("act", "state"))
    with pytest.raises(RuntimeError, match="two endings"):
        builder.final(0, ("act", "reading"))


def test_the_same_word_twice_between_two_states_keeps_both_tags():
    builder = GraphBuilder()
    end, other = builder.state(), builder.state()
    builder.final(end)
    builder.arc(0, end, "pin", ("item", "left"))
    builder.empty(0, other, ("item", "right"))
    builder.arc(other, end, "pin")
    assert accepted(builder.freeze()) == {
        (("pin",), (("item", "left"),)),
        (("pin",), (("item", "right"),)),
    }


def phrases(*texts: str) -> PhraseGraph:
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    for text in texts:
        builder.phrase(0, end, text, ("said", text))
    return builder.freeze()


def test_phrases_share_their_beginnings_and_not_their_last_word():
    graph = phrases("left main tyre", "left main tyre pressure", "left main strut", "left")
    assert [arc.word for arc in graph.arcs].count("main") == 1
    assert [arc.word for arc in graph.arcs].count("tyre") == 2
    assert accepted(graph) == {
        (tuple(text.split()), (("said", text),))
        for text in ("left main tyre", "left main tyre pressure", "left main strut", "left")
    }


def test_hyphens_part_words_and_a_last_apostrophe_is_not_heard():
    graph = phrases("tyres' wear-pins", "one o'clock")
    assert graph.words == {"tyres", "wear", "pins", "one", "o'clock"}


def test_written_signs_are_no_spoken_words():
    builder = GraphBuilder()
    builder.arc(0, 0, "2", written=True)
    builder.arc(0, 0, "two")
    builder.final(0)
    assert builder.freeze().words == {"two"}


def test_a_graph_without_an_end_accepts_nothing():
    builder = GraphBuilder()
    builder.phrase(0, builder.state(), "left main tyre")
    builder.phrase(0, 0, "and")
    graph = builder.freeze()
    assert (graph.states, graph.arcs, graph.finals) == (1, (), {})


def test_names_are_the_words_that_lead_to_an_item_and_no_talk():
    builder = GraphBuilder()
    end, opened = builder.state(), builder.state()
    builder.final(end)
    for name, slot in (("left main tyre", "item"), ("main tyre", "group")):
        for src in (0, opened):
            builder.phrase(src, end, name, (slot, "x"))
    builder.phrase(0, 0, "and")
    builder.phrase(0, opened, "is", ("talk", "yes"))
    builder.phrase(0, end, "next", ("command", "next"))
    assert builder.freeze().names == (("left", "main", "tyre"), ("main", "tyre"))
