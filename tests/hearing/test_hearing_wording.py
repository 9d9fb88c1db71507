"""Wordings: what a path through the graph was heard as, how it is written, what sounds near it."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicewalk.card.load import card_path, load_card
from voicewalk.hearing.wording import Part, guess_of, in_digits, near_wordings, spoken
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.vocabulary import vocabulary_of

WRITTEN = frozenset("0123456789.")


def wording(*parts: str) -> tuple[Part, ...]:
    """Parts of words; one that begins with ``#`` is a number."""
    return tuple(Part(tuple(p.lstrip("#").split()), p.startswith("#")) for p in parts)


def near(*parts: str) -> set[str]:
    return {" ".join(spoken(way)) for way in near_wordings(wording(*parts))}


def line(*words: str, reading: bool = False) -> PhraseGraph:
    """A graph of one phrase: an item's name, then a reading, or a state said in any words."""
    builder = GraphBuilder()
    src = 0
    for word in words:
        dst = builder.state()
        number = word.startswith("#")
        tags = (("number", word[1:]),) if number else ()
        builder.arc(src, dst, word.lstrip("#"), *tags, written=word.lstrip("#") in WRITTEN)
        src = dst
    builder.final(src, ("act", Act.READING if reading else Act.SATISFACTORY))
    return builder.freeze()


def test_words_and_digits_of_a_wording():
    heard = wording("left main tire pressure", "#two one zero", "psi")
    assert " ".join(spoken(heard)) == "left main tire pressure two one zero psi"
    assert " ".join(in_digits(heard)) == "left main tire pressure 210 psi"


@pytest.mark.parametrize(
    ("number", "digits"),
    [
        ("two hundred and ten", "210"),
        ("eighteen hundred", "1800"),
        ("three point five", "3.5"),
        ("three point five zero", "3.50"),
        ("five and three quarters", "5.75"),
        ("half", "0.5"),
        ("zero", "0"),
    ],
)
def test_numbers_are_written_as_people_write_them(number, digits):
    assert in_digits(wording(f"#{number}")) == [digits]


@pytest.mark.parametrize(
    ("heard", "other"),
    [
        ("left main tire good", "right main tire good"),
        ("right main tire good", "left main tire good"),
        ("battery switch off", "battery switch on"),
        ("battery switch on", "battery switch off"),
        ("cut inboard", "cut outboard"),
        ("cut outboard", "cut inboard"),
        ("cargo doors latched", "cargo doors not latched"),
        ("cargo doors not latched", "cargo doors latched"),
        # A lost "un-" turns bad into good as a lost "not" does.
        ("cargo doors latched", "cargo doors unlatched"),
        ("cargo doors unlatched", "cargo doors latched"),
        ("radome serviceable", "radome unserviceable"),
        ("radome unserviceable", "radome serviceable"),
        ("radome satisfactory", "radome not satisfactory"),
    ],
)
def test_the_opposite_is_near(heard, other):
    assert other in near(heard)


# Teens and tens, a repeated digit, the leading digit: what both listeners took for one another.
@pytest.mark.parametrize(
    ("heard", "other"),
    [
        ("nineteen", "ninety"),
        ("ninety", "nineteen"),
        ("two fifteen", "two fifty"),
        ("one one zero", "one zero"),
        ("two one zero", "one zero"),
        ("one zero", "one one zero"),
        ("two five", "two nine"),
    ],
)
def test_numbers_taken_for_one_another_are_near(heard, other):
    assert f"pressure {other} psi" in near("pressure", f"#{heard}", "psi")


def test_no_near_wording_is_the_wording_itself_or_empty():
    heard = wording("left door not latched", "#one one", "psi")
    ways = near_wordings(heard)
    assert heard not in ways
    assert all(way and all(part.words for part in way) for way in ways)


def test_a_wording_of_not_alone_leaves_nothing_empty():
    assert near_wordings(wording("#one", "not")) and "one" in near("#one", "not")


def test_numbers_stay_numbers_and_words_stay_words():
    for way in near_wordings(wording("pressure", "#nineteen", "psi")):
        assert [part.number for part in way] == [False, True, False][: len(way)]


def test_a_path_is_heard_in_its_words():
    graph = line("tire", "#two", "#one", "#zero", "psi", reading=True)
    guess = guess_of(graph, range(5), -3.0)
    assert guess is not None
    assert guess.meaning == Meaning(Act.READING, value="210")
    assert guess.wordings == (wording("tire", "#two one zero", "psi"),)
    assert guess.score == -3.0


def test_digits_as_a_decoder_writes_them_are_said_in_several_forms():
    graph = line("tire", "#2", "#1", "#0", reading=True)
    guess = guess_of(graph, range(4), 0.0)
    assert guess is not None and guess.meaning.value == "210"
    said = {" ".join(spoken(way)) for way in guess.wordings}
    assert {"tire two one zero", "tire two hundred ten", "tire two ten"} <= said
    assert all(in_digits(way) == ["tire", "210"] for way in guess.wordings)


def test_a_decimal_point_as_a_decoder_writes_it():
    guess = guess_of(line("#3", "#.", "#5", reading=True), range(3), 0.0)
    assert guess is not None and guess.meaning.value == "3.5"
    assert "three point five" in {" ".join(spoken(way)) for way in guess.wordings}


@pytest.mark.parametrize("digits", ["2100000", "1.2345"], ids=["too-large", "too-many-places"])
def test_digits_that_are_no_number_mean_nothing(digits):
    graph = line(*(f"#{digit}" for digit in digits), reading=True)
    assert guess_of(graph, range(len(digits)), 0.0) is None


def test_two_numbers_in_a_row_are_no_number():
    """As two calls in one breath may hold them: they are mixed, and neither is a reading."""
    builder = GraphBuilder()
    states = [0, *(builder.state() for _ in range(6))]
    for (src, dst), digit in zip(pairwise(states), "177535", strict=True):
        builder.arc(src, dst, digit, ("number", digit), written=True)
    builder.final(states[-1], ("act", Act.MIXED))
    assert guess_of(builder.freeze(), range(6), 0.0) is None


@cache
def shipped(card: str, answers: bool) -> PhraseGraph:
    one = load_card(card_path(card))
    return phrase_graph(one, vocabulary_of(one), answers=answers)


@settings(deadline=None, max_examples=400)
@given(st.sampled_from(["jet-trainer", "light-turboprop"]), st.booleans(), st.randoms())
def test_whatever_path_is_heard_can_be_worded_and_written(card, answers, random):
    """An error here would end a walk."""
    graph = shipped(card, answers)
    state, path = random.choice([0, *graph.entries.values()]), []
    while state not in graph.finals or random.random() < 0.8:
        if not graph.leaving[state] or len(path) > 40:
            break
        path.append(random.choice(graph.leaving[state]))
        state = graph.arcs[path[-1]].dst
    guess = guess_of(graph, path, 0.0)
    for way in guess.wordings if guess else ():
        assert in_digits(way)
        assert near_wordings(way) is not None


def test_a_path_that_ends_in_the_middle_means_nothing():
    assert guess_of(line("tire", "pressure"), [0], 0.0) is None
    assert guess_of(line("tire", "pressure"), [], 0.0) is None


NAMES = [
    tuple(name.split())
    for name in ("front seat pin", "rear seat pin", "seat pin", "front seat belt", "canopy pin")
]


@pytest.mark.parametrize(
    ("heard", "others"),
    [
        ("front seat pin installed", {"rear seat pin installed", "seat pin installed"}),
        ("rear seat pin", {"front seat pin", "seat pin"}),
        ("front seat belt good", set()),
        ("radome good", set()),
    ],
)
def test_a_name_of_the_same_thing_that_is_a_word_off_is_near(heard, others):
    plain = {" ".join(spoken(way)) for way in near_wordings(wording(heard))}
    named = {" ".join(spoken(way)) for way in near_wordings(wording(heard), NAMES)}
    assert named - plain == others


def test_a_number_that_lost_its_unit_is_near():
    assert "pressure nineteen" in near("pressure", "#nineteen", "psi")
    assert "pressure" not in near("pressure", "#nineteen")
