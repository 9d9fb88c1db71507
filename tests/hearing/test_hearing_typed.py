"""The typed twin: exact calls are understood, slips are asked back, dangerous ones never mended."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Card
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.hearing.typed import MOST_LETTERS, MOST_MENDED, read_typed
from voicewalk.language.build import phrase_graph
from voicewalk.language.draw import draw_call
from voicewalk.language.graph import GraphBuilder, PhraseGraph
from voicewalk.language.match import best_matches
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.numbers import NUMBER_WORDS
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import Vocabulary, vocabulary_of


@cache
def trainer() -> tuple[Card, Vocabulary, PhraseGraph]:
    card = load_card(card_path("jet-trainer"))
    words = vocabulary_of(card)
    return card, words, phrase_graph(card, words)


def typed(text: str) -> Heard:
    return read_typed(trainer()[2], text)


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("Radome good.", Meaning(Act.SATISFACTORY, item="radome")),
        (
            "left main tyre pressure 210 psi",
            Meaning(Act.READING, item="left-main-tyre-pressure", value="210", unit="psi"),
        ),
        (
            "left main tyre pressure two one zero psi",
            Meaning(Act.READING, item="left-main-tyre-pressure", value="210", unit="psi"),
        ),
        (
            "oxygen pressure 1,650 pounds",
            Meaning(Act.READING, item="oxygen-pressure", value="1650", unit="psi"),
        ),
        ("nose strut extension 5.5 inches",
         Meaning(Act.READING, item="nose-strut-extension", value="5.5", unit="inch")),
        ("left avionics door NOT latched",
         Meaning(Act.STATE, item="left-avionics-door", state="not latched")),
        ("stop", Meaning(Act.COMMAND, command="stop")),
        ("210 psi", Meaning(Act.READING, value="210", unit="psi")),
    ],
)  # fmt: skip
def test_an_exact_call_is_understood(text, meaning):
    heard = typed(text)
    assert heard.verdict is Verdict.UNDERSTOOD
    assert [candidate.meaning for candidate in heard.candidates] == [meaning]
    assert (heard.probability, heard.how, heard.clip) == (1.0, "typed", "")
    assert heard.evidence == {"how": "typed", "text": text}


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("radome godo", "radome good"),
        ("radom satisfactory", "radome satisfactory"),
        ("radome satisfctory", "radome satisfactory"),
        ("gear handel down", "gear handle down"),
        ("walkaround compelte", "walkaround complete"),
        ("left pitot cover instaled", "left pitot cover installed"),
        ("left main tyre pressur 210 psi", "left main tyre pressure 2 1 0 psi"),
        # Words that must agree are mended only to themselves.
        ("lft main tyre worn", "left main tyre worn"),
        ("rihgt main tyre worn", "right main tyre worn"),
        ("left avionics door nto latched", "left avionics door not latched"),
        ("left avionics door unlatchd", "left avionics door unlatched"),
        ("left main tyre cut outbord", "left main tyre cut outboard"),
    ],
)
def test_a_slip_is_asked_back_and_never_understood(text, meant):
    heard = typed(text)
    assert heard.verdict is Verdict.ASK
    assert heard.candidates[0].words == meant
    assert heard.candidates[0].meaning == typed(meant).candidates[0].meaning
    assert heard.probability == 0.0


@pytest.mark.parametrize(
    "text",
    [
        "xyzzy plugh",
        "good morning everyone",
        "roger",
        "radome good good",
        "left avionics door not",
        "left avionics door no latched",
        "left avionics door un latched",
        "left main tyre pressure tow one zero psi",
        "left main tyre pressure two oen zero psi",
        "left main tyre pressure nineten psi",
        "left main tyre pressure 21O psi",
        "left main tyre pressure l10 psi",
        "left main tyre pressure 1/2 psi",
        "left main tyre pressure -210 psi",
        "left main tyre pressure 210000 psi",
        "battery switch of",
        "battery switch onn",
        "rear seat pin nstalled or not",
        "",
        "...",
    ],
)
def test_what_could_be_anything_is_not_understood(text):
    heard = typed(text)
    assert (heard.verdict, heard.candidates) == (Verdict.UNCLEAR, ())


@pytest.mark.parametrize(
    ("text", "act"),
    [
        ("radome good nose tyre good", Act.MIXED),
        ("radome good, no", Act.MIXED),
        ("gear pins stowed two, no", Act.MIXED),
        ("left main tyre pressure 210 psi, negative", Act.MIXED),
        ("left main tyre pressure 210, disregard", Act.MIXED),
        ("left main tyre cut, right main tyre good", Act.MIXED),
        ("is the radome good", Act.TALK),
        ("make sure the rear seat pin is installed", Act.TALK),
        ("left main tyre pressure is not 210 psi", Act.TALK),
        ("isn't removed", Act.STATE),
    ],
)
def test_what_comes_near_a_call_is_told_apart(text, act):
    heard = typed(text)
    assert heard.verdict is Verdict.UNDERSTOOD
    assert [one.meaning.act for one in heard.candidates] == [act]


def test_a_call_with_two_meanings_is_asked_back():
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    for item in ("front-pin", "rear-pin", "third-pin"):
        builder.phrase(0, end, "pin removed", ("act", "state"), ("item", item))
    heard = read_typed(builder.freeze(), "pin removed")
    assert heard.verdict is Verdict.ASK
    assert [c.meaning.item for c in heard.candidates] == ["front-pin", "rear-pin"]


@pytest.mark.parametrize("text", ["pin removed", "pin remoued"])
@pytest.mark.parametrize("no_call", [("talk", "yes"), ("mixed", "yes")])
def test_what_may_be_a_call_or_none_is_not_asked_about(no_call, text):
    """The walk is asked about calls alone: "affirm" must not confirm a question."""
    builder = GraphBuilder()
    end = builder.state()
    builder.final(end)
    builder.phrase(0, end, "pin removed", ("act", "state"), ("item", "front-pin"))
    builder.phrase(0, end, "pin removed", no_call, ("item", "front-pin"))
    heard = read_typed(builder.freeze(), text)
    assert (heard.verdict, heard.candidates) == (Verdict.UNCLEAR, ())


SLIPS = {
    "drop": lambda word, at, letter: word[:at] + word[at + 1 :],
    "swap": lambda word, at, letter: word[:at] + word[at + 1 : at + 2] + word[at] + word[at + 2 :],
    "other": lambda word, at, letter: word[:at] + letter + word[at + 1 :],
    "more": lambda word, at, letter: word[:at] + letter + word[at:],
}


@settings(deadline=None)
@given(
    st.integers(0, 2**32),
    st.integers(0, 9),
    st.integers(0, 12),
    st.sampled_from(list(SLIPS)),
    st.sampled_from("abcdefghilmnoprstuw"),
)
def test_a_slip_never_bridges_a_not_a_side_or_a_number(seed, word, at, slip, letter):
    card, vocabulary, graph = trainer()
    _, said = draw_call(card, vocabulary, Random(seed))
    words = said.split()
    meant, index = words[word % len(words)], word % len(words)
    slipped = SLIPS[slip](meant, at % len(meant), letter)
    assume(slipped not in graph.words)
    text = " ".join([*words[:index], slipped, *words[index + 1 :]])
    (true,) = parse(graph, said)
    heard = typed(text)
    assert heard.verdict in (Verdict.ASK, Verdict.UNCLEAR)
    for candidate in heard.candidates:
        found = candidate.meaning
        assert (found.value, found.size) == (true.value, true.size)
        assert meant not in NUMBER_WORDS or candidate.words == said
        assert candidate.words.split().count("not") == words.count("not")
        for side in ("left", "right"):
            assert candidate.words.split().count(side) == words.count(side)
        # A word alone names no item: "lcosed" may be asked about as "closed" and as "cold".
        if true.item and found.item == true.item and found.act is true.act is Act.STATE:
            assert found.state == true.state
        opposite = meant[2:] if meant.startswith("un") else f"un{meant}"
        assert opposite not in candidate.words.split()


@pytest.mark.parametrize(
    "text", ["radome good " * 100_000, "9" * 1_000_000, "x" * (MOST_LETTERS + 1)]
)
def test_a_line_longer_than_any_call_is_not_even_parsed(text, monkeypatch):
    def never(*_):
        raise AssertionError("parsed")

    monkeypatch.setattr("voicewalk.hearing.typed.parse", never)
    heard = typed(text)
    assert (heard.verdict, heard.candidates) == (Verdict.UNCLEAR, ())


def test_only_a_few_slips_are_mended_each_once(monkeypatch):
    tried = []

    def counted(word, *rest):
        tried.append(word)
        return best_matches(word, *rest)

    monkeypatch.setattr("voicewalk.hearing.typed.best_matches", counted)
    assert typed("rudder satisfactry").verdict is Verdict.ASK
    typed("satisfactry satisfactry rudder satisfactry")
    assert tried == ["satisfactry"] * 2
    typed("n o s e t y r e c u t")
    typed("rudder " * (MOST_MENDED + 1) + "satisfactry")
    assert len(tried) == 2


def test_the_longest_calls_that_are_drawn_are_short_enough():
    card, words, _ = trainer()
    drawn = [draw_call(card, words, Random(seed)) for seed in range(500)]
    assert max(len(way) for ways in drawn for way in ways) < 0.8 * MOST_LETTERS
