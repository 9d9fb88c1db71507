"""Answers enter the graph where their item was asked for, and nowhere else."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from language_cards import SHIPPED, item, laid, shipped

from voicewalk.card.model import Item, Kind
from voicewalk.language.build import IDENTITY, MIXED, SIDES, WAITING, phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import NO_CALL, Act, Meaning
from voicewalk.language.numbers import spoken_forms
from voicewalk.language.parse import parse
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.units import UNITS
from voicewalk.language.vocabulary import vocabulary_of

ON_BOTH = pytest.mark.parametrize("name", SHIPPED)


@cache
def unanswered(name: str) -> PhraseGraph:
    """The graph of a card that came with the program, where nothing is asked."""
    on = shipped(name)
    return phrase_graph(on.card, on.words, answers=False)


def at(name: str, *entries: str) -> list[int]:
    graph = unanswered(name)
    return [0, *(graph.entries[entry] for entry in entries)]


def results(name: str) -> dict[str, Meaning]:
    """What can be said of any item at all."""
    words = shipped(name).words
    return {
        **{way: Meaning(Act.SATISFACTORY) for way in words.satisfactory.words},
        **{way: Meaning(Act.NOT_APPLICABLE) for way in words.not_applicable.words},
        **{way: Meaning(Act.NOT_INSPECTED) for way in words.not_inspected.words},
    }


def answers(name: str, one: Item) -> dict[str, Meaning]:
    """What can be said of one item, some of each kind, with what it then means."""
    words = shipped(name).words
    found = results(name)
    for state in one.states:
        for way in (state.name, *state.words):
            found[way] = Meaning(Act.STATE, state=state.name)
    for family in one.defects:
        for defect in words.families[family].defects:
            found |= {way: Meaning(Act.DISCREPANCY, defect=defect.name) for way in defect.words}
    if one.kind is Kind.COUNT:
        found["three"] = Meaning(Act.COUNT, value="3")
    if one.kind is Kind.READING:
        found |= {"three": Meaning(Act.READING, value="3")}
        found |= {
            f"three {way}": Meaning(Act.READING, value="3", unit=one.unit)
            for way in UNITS[one.unit].words
            if unshared(name, way)
        }
    return found


def unshared(name: str, word: str) -> bool:
    """Whether a unit's word is no other unit's of the card: "pounds" may be two."""
    used = {one.unit for one in shipped(name).card if one.unit}
    return sum(word in UNITS[unit].words for unit in used) == 1


@ON_BOTH
def test_every_item_and_group_is_an_entry_and_nothing_else_but_the_sides(name):
    card = shipped(name).card
    expected = {one.id for one in card} | {one.group for one in card} | {SIDES, WAITING}
    expected |= {IDENTITY} if vocabulary_of(card).spelling else set()
    assert unanswered(name).entries.keys() == expected
    assert shipped(name).graph.entries.keys() == expected


@ON_BOTH
def test_every_answer_is_read_where_its_item_was_asked_for(name):
    graph = unanswered(name)
    wrong = {
        (one.id, entry, text): found
        for one in shipped(name).card
        for entry in (one.id, one.group)
        for text, meaning in answers(name, one).items()
        if (found := parse(graph, text, at(name, entry))) != [meaning]
    }
    assert wrong == {}


@ON_BOTH
def test_no_answer_is_read_where_nothing_was_asked(name):
    graph = unanswered(name)
    texts = {text for one in shipped(name).card for text in answers(name, one)}
    texts |= {way for term in (shipped(name).words.left, shipped(name).words.right)
              for way in term.words}  # fmt: skip
    assert {text: found for text in texts if (found := parse(graph, text))} == {}


@ON_BOTH
def test_no_answer_of_another_kind_of_item_is_read(name):
    """Of every two items: the states, numbers and defects of one that are not the other's."""
    graph = unanswered(name)
    of = {one.id: answers(name, one) for one in shipped(name).card}
    kinds = {tuple(found): one for one, found in of.items()}.values()  # one item of each kind
    assert len(kinds) > 5
    read = {
        (asked, text): found
        for asked, other in product(kinds, kinds)
        for text in of[other].keys() - of[asked].keys()
        if not _is_reading(of[other][text])  # any unit may follow any number: it is asked about
        if (found := [m for m in parse(graph, text, at(name, asked)) if m.act not in NO_CALL])
    }
    assert read == {}


def _is_reading(meaning: Meaning) -> bool:
    return meaning.act is Act.READING


@ON_BOTH
def test_sides_are_read_where_a_side_was_asked_for(name):
    words, graph = shipped(name).words, unanswered(name)
    for side, term in (("left", words.left), ("right", words.right)):
        for way in term.words:
            assert parse(graph, way, at(name, SIDES)) == [Meaning(Act.SIDE, side=side)]
    of_items = [one for one in shipped(name).card if not one.states]
    assert all(parse(graph, "left", at(name, one.id)) == [] for one in of_items)


@ON_BOTH
def test_no_words_mean_nothing_whatever_was_asked(name):
    graph = unanswered(name)
    for text in ("", " ", "...", "—"):
        assert parse(graph, text, [0, *graph.entries.values()]) == []


@cache
def drawn(name: str):
    on = shipped(name)
    return [p for p in draw_phrases(on.card, on.words, 400, 7) if p.meaning.item or p.meaning.group]


@ON_BOTH
@settings(deadline=None)
@given(data=st.data())
def test_a_call_that_names_its_item_means_the_same_whatever_was_asked(name, data):
    graph = unanswered(name)
    phrase = data.draw(st.sampled_from(drawn(name)))
    asked = data.draw(st.sets(st.sampled_from(sorted(graph.entries)), max_size=3))
    assert parse(graph, phrase.text, at(name, *asked)) == [phrase.meaning]
    assert parse(graph, phrase.text) == [phrase.meaning]


@ON_BOTH
def test_a_name_is_only_heard_at_the_start_of_a_call(name):
    """Where an item was asked for, what follows its name is open and no other item's is."""
    graph = unanswered(name)
    names = [one.name for one in shipped(name).card]
    random = Random(3)
    for entry in random.sample(sorted(graph.entries.keys() - {SIDES, WAITING, IDENTITY}), 20):
        for other in random.sample(names, 10):
            text = f"satisfactory {other} satisfactory"
            assert parse(graph, text, at(name, entry)) == [Meaning(Act.MIXED)]
            assert parse(graph, f"{other} satisfactory", [graph.entries[entry]]) == []


@ON_BOTH
def test_no_arc_behind_an_entry_names_an_item_or_a_side_that_is_not_its_own(name):
    """Nothing that is said of an item leads into another item or out of what was asked."""
    graph = unanswered(name)
    for entry in graph.entries.keys() - {SIDES}:
        slots = {slot for slot, _ in tags_behind(graph, graph.entries[entry])}
        assert slots.isdisjoint({"item", "group", "side", "choice", "command", "corrects"})
    sides = tags_behind(graph, graph.entries[SIDES])
    assert {slot for slot, _ in sides} == {"act", "side"}


def tags_behind(graph: PhraseGraph, state: int) -> set[tuple[str, str]]:
    found, seen, todo = set(), {state}, [state]
    while todo:
        at = todo.pop()
        found.update(graph.finals.get(at, ()))
        for index in graph.leaving[at]:
            arc = graph.arcs[index]
            if MIXED in arc.tags:
                continue  # no call any more, whatever else is said
            found.update(arc.tags)
            if arc.dst not in seen:
                seen.add(arc.dst)
                todo.append(arc.dst)
    return found


@ON_BOTH
def test_the_graph_with_answers_reads_the_same_without_being_asked(name):
    """The typed twin asks for nothing beforehand; whether a number is a count the walk tells."""
    graph = shipped(name).graph
    for one in shipped(name).card:
        for text, meaning in answers(name, one).items():
            (found,) = parse(graph, text)
            if meaning.act is Act.COUNT:
                assert found == Meaning(Act.READING, value=meaning.value)
            else:
                assert found == meaning


def test_an_item_called_sides_hides_no_side():
    on = laid(item("sides"), item("doors"))
    graph = phrase_graph(on.card, on.words, answers=False)
    assert parse(graph, "left", [graph.entries[SIDES]]) == [Meaning(Act.SIDE, side="left")]
    assert parse(graph, "left", [graph.entries["sides"]]) == []
    assert parse(graph, "satisfactory", [graph.entries["sides"]]) == [Meaning(Act.SATISFACTORY)]


@pytest.mark.parametrize("number", [0, 3, 10, 19, 90, 99, 100, 210, 999])
def test_a_number_is_read_as_the_item_asked_for_has_it(number):
    on = laid(item("lights", Kind.COUNT, expected=3), item("pressure", Kind.READING, unit="psi"))
    graph = phrase_graph(on.card, on.words, answers=False)
    counts = [Meaning(Act.COUNT, value=str(number))] if number < 100 else []
    for words in spoken_forms(Decimal(number)):
        text = " ".join(words)
        read = parse(graph, text, [0, graph.entries["pressure"]])
        assert read == [Meaning(Act.READING, value=str(number))]
        assert parse(graph, text, [0, graph.entries["lights"]]) == counts
        assert parse(graph, text) == []
