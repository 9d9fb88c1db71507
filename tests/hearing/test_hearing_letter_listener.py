"""The letter listener: what it takes frames of letters for, with no network."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from letters_heard import GivenFrames, frames_of, written

from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.errors import ModelError
from voicewalk.hearing.letter_listener import LAST, PAUSE, UNFIT, LetterHearing, LetterListener
from voicewalk.hearing.letter_model import FRAME_SECONDS, PADDED_SECONDS, SYMBOLS
from voicewalk.hearing.lexicon import Lexicon, load_lexicon
from voicewalk.hearing.wording import Part
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of

TYRE = Lexicon({"tyre": ("tire", "tyre"), "psi": ("psi", "p-s-i")})
NOTHING = np.zeros(0, np.float32)


def items(*names: str) -> PhraseGraph:
    """A graph in which each of the names is an item."""
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    for name in names:
        builder.phrase(0, end, name, ("act", "item"), ("item", name))
    return builder.freeze()


def listener(graph: PhraseGraph, labels: str = "", lexicon: Lexicon = TYRE) -> LetterListener:
    return LetterListener(GivenFrames(frames_of(labels)), lexicon, graph)


def heard(labels: str, *names: str) -> LetterHearing:
    return listener(items(*names or ("horn",)), labels).hear(NOTHING)


def wording(text: str) -> tuple[Part]:
    return (Part(tuple(text.split()), False),)


# --- its text ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("labels", "text"),
    [
        ("_|l_ef_t__|ccaa_p_", "left cap"),
        ("|s_e_e_p", "seep"),  # a blank parts two equal letters
        ("|seep", "sep"),
        ("horn", "horn"),  # a word without its beginning is none the less shown
        ("_|_|on|", "on"),
        ("|o'_c_lock", "o'clock"),
        ("____", ""),
        ("", ""),
    ],
)
def test_its_text_is_words(labels, text):
    assert heard(labels).text == text


@given(st.lists(st.text("abcdefghijklmnopqrstuvwxyz'", min_size=1), max_size=6).map(" ".join))
def test_what_is_heard_letter_by_letter_is_written_so(text):
    assert heard(written(text) if text else "__").text == text


def test_a_pause_parts_words_though_no_sign_begins_the_second():
    """Another voice's "no" behind a call was "removedo", one letter that nobody asked about."""
    pause = "_" * round(PAUSE / FRAME_SECONDS)
    assert heard("|removed" + pause + "o").text == "removedo"
    assert heard("|removed" + pause + "_o").text == "removed o"
    assert heard("|" + pause + "__removed" + pause + "__|o_" + pause).text == "removed o"


BEFORE = round(PADDED_SECONDS / FRAME_SECONDS)
"""Frames of the silence that the model puts before a clip."""


@pytest.mark.parametrize(
    ("labels", "first", "last"),
    [
        ("|_____hhoorn____", 6, 11),  # the sign may stand long before the word
        ("_" * BEFORE + "horn", BEFORE, BEFORE + 3),
        ("_a_", 1, 1),
    ],
)
def test_where_its_words_lie_is_from_letter_to_letter(labels, first, last):
    frames = np.array([first, last]) - BEFORE
    assert heard(labels).span == pytest.approx(tuple(frames * FRAME_SECONDS + [0, LAST]))


@pytest.mark.parametrize("labels", ["|__|__", "____", ""])
def test_where_it_hears_no_letter_no_words_lie(labels):
    assert heard(labels).span is None


@given(st.integers(0, 200), st.integers(0, 200))
def test_what_lies_around_the_words_moves_them_and_makes_them_no_longer(before, after):
    around = heard("_" * before + "|hoorn" + "_" * after).span
    shift = before * FRAME_SECONDS
    assert around == pytest.approx([at + shift for at in heard("|hoorn").span])


# --- words as symbols ----------------------------------------------------------------------


def as_symbols(word: str, lexicon: Lexicon = TYRE) -> list[str]:
    ways = listener(items("horn"), "", lexicon).spell(word)
    return ["".join(SYMBOLS[index] for index in way) for way in ways]


@pytest.mark.parametrize(
    ("word", "ways"),
    [
        ("horn", ["|horn"]),
        ("o'clock", ["|o'clock"]),
        ("tyre", ["|tire", "|tyre"]),
        ("psi", ["|psi", "|p|s|i"]),
    ],
)
def test_a_word_is_its_letters_behind_the_sign_that_begins_it(word, ways):
    assert as_symbols(word) == ways


@pytest.mark.parametrize("word", ["naïve", "a1", "ＡＢ"])
def test_a_letter_that_the_model_does_not_know_is_told_with_its_word(word):
    with pytest.raises(ModelError, match=f"as in '{word}'") as told:
        listener(items("horn", word))
    assert "lexicon" in told.value.what_to_do


def test_a_spelling_mends_a_word_that_the_model_cannot_write():
    assert as_symbols("naïve", Lexicon({"naïve": ("naive",)})) == ["|naive"]


@pytest.mark.parametrize("name", ["jet-trainer", "light-turboprop", "two-person-check"])
def test_every_word_of_a_shipped_card_can_be_heard(name):
    card = load_card(card_path(name))
    graph = phrase_graph(card, vocabulary_of(card), answers=False)
    made = listener(graph, "", load_lexicon(lexicon_path(card)))
    assert {made.symbols.graph.arcs[arc].word for arc in made.symbols.arc} == {
        arc.word for arc in graph.arcs if not arc.written
    }


# --- guesses and scores --------------------------------------------------------------------


@pytest.mark.parametrize("said", ["nose tyre", "nose tire"])
def test_a_call_is_heard_by_either_of_its_spellings(said):
    best, *_ = heard(written(said), "nose tyre", "nose wheel", "horn").guesses(2)
    assert best.meaning == Meaning(Act.ITEM, item="nose tyre")
    assert best.score == pytest.approx(0.0, abs=1e-3)


def test_what_is_spelt_out_is_heard_letter_by_letter():
    first, second = heard(written("p s i"), "psi", "pin").guesses(2)
    assert (first.meaning.item, second.meaning.item) == ("psi", "pin")
    assert first.score == pytest.approx(0.0, abs=1e-3)


NAMES = ("left fuel cap", "right fuel cap", "left fuel vent")


@given(st.sampled_from(NAMES), st.integers(0, 999))
def test_search_and_scoring_agree(said, seed):
    noise = np.random.default_rng(seed).normal(0, 1, (len(written(said)), len(SYMBOLS)))
    frames = frames_of(written(said)) + noise.astype(np.float32)
    hearing = LetterListener(GivenFrames(frames), TYRE, items(*NAMES)).hear(NOTHING)
    guesses = hearing.guesses(3)
    scores = hearing.score([guess.wordings[0] for guess in guesses])
    assert scores == pytest.approx([guess.score for guess in guesses], abs=1e-2)
    assert all(score <= 1e-2 for score in scores)


@pytest.mark.parametrize("behind", ["no", "stop", "not"])
def test_a_word_behind_a_call_costs_what_its_letters_cost(behind):
    """The call fits as well as before; that more was said stands in the score as a whole."""
    alone, more = (heard(written(text), *NAMES) for text in (NAMES[0], f"{NAMES[0]} {behind}"))
    lost = alone.guesses(1)[0].score - more.guesses(1)[0].score
    assert lost > 5 * len(behind)
    assert more.text == f"{NAMES[0]} {behind}"


def test_a_wording_longer_than_the_clip_has_a_number_for_a_score():
    hearing = heard(written("horn"), "horn")
    assert hearing.score([wording("satisfactory " * 9), wording("horn")])[0] == UNFIT
    assert hearing.score([]) == []


def test_answers_are_heard_only_where_they_were_asked_for():
    builder = GraphBuilder()
    door, end = builder.state(), builder.state()
    builder.final(end)
    builder.entry("door", door)
    builder.phrase(0, door, "door", ("item", "door"))
    builder.phrase(door, end, "closed", ("act", "state"), ("state", "closed"))
    graph = builder.freeze()
    made = listener(graph, written("closed"))
    assert made.hear(NOTHING, (0, door)).guesses(1)[0].meaning == Meaning(Act.STATE, state="closed")
    assert [g.meaning.item for g in made.hear(NOTHING).guesses(1)] == ["door"]


CALLS = (
    "left fuel cap secure",
    "nose tyre pressure nine two psi",
    "left main tyre cut half an inch outboard",
    "walkaround complete",
)


@pytest.mark.parametrize("text", CALLS)
def test_a_call_of_the_jet_trainer_is_found_among_all(text):
    card = load_card(card_path("jet-trainer"))
    graph = phrase_graph(card, vocabulary_of(card), answers=False)
    made = listener(graph, written(text), load_lexicon(lexicon_path(card)))
    best, *others = made.hear(NOTHING).guesses(20)
    assert [best.meaning] == parse(graph, text)
    assert best.score == pytest.approx(0.0, abs=1e-2)
    assert all(other.score < -5 for other in others)
