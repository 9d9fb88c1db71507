"""Identities in the phrase graph: any letters and digits, and only where they are asked for."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import GoBack
from voicewalk.errors import SourceError
from voicewalk.language.build import IDENTITY, phrase_graph
from voicewalk.language.graph import Arc, PhraseGraph
from voicewalk.language.meaning import Act, Meaning, is_part
from voicewalk.language.parse import parse
from voicewalk.language.spelling import SIGNS, aloud
from voicewalk.language.vocabulary import Vocabulary, load_vocabulary, vocabulary_of

GRAMMARS = Path(__file__).parents[2] / "grammars"
SPELLING = GRAMMARS / "spelling.yaml"
SHIPPED = (
    "jet-trainer",
    "vehicle-daily",
    "light-turboprop",
    "two-person-check",
    "tow-tractor-korean",
)


@pytest.fixture(scope="module")
def words() -> Vocabulary:
    return load_vocabulary(GRAMMARS / "english.yaml", SPELLING)


@pytest.fixture(scope="module")
def graph(words) -> PhraseGraph:
    return phrase_graph(load_card(card_path("jet-trainer")), words)


def read(graph: PhraseGraph, text: str) -> list[Meaning]:
    return parse(graph, text, (graph.entries[IDENTITY],))


def identity(signs: str) -> list[Meaning]:
    return [Meaning(Act.IDENTITY, value=signs)]


@pytest.mark.parametrize(
    ("text", "signs"),
    [
        ("mike zero seven", "M07"),
        ("Mike 07.", "M07"),  # as the word listener writes it
        ("x-ray niner", "X9"),
        ("x ray tree fower fife", "X345"),  # FAA AIM table 4-2-2: TREE, FOW-ER, FIFE, NIN-ER
        ("nine three four five", "9345"),
        ("one zero one zero", "1010"),  # ICAO Annex 10 vol. II 5.2.1.4.1.1, second-hand
        ("november seven five four two bravo papa quebec", "N7542BPQ"),
        ("alfa", "A"),
    ],
)
def test_signs_are_said_one_by_one(graph, text, signs):
    assert read(graph, text) == identity(signs)


@pytest.mark.parametrize(
    "text",
    [
        "mike oh seven",
        "mike seventeen",
        "mike double zero",
        "mike triple seven",
        "mike seven hundred",
        "em zero seven",
        "mike dash zero seven",
        "mike point seven",
        "correction mike zero seven",
    ],
)
def test_every_other_way_is_none(graph, text):
    assert read(graph, text) == []


def test_every_sign_of_the_alphabet_is_understood_as_it_is_read_back(words, graph):
    assert words.spelling.keys() == SIGNS.keys()
    for sign, term in words.spelling.items():
        assert term.words[0] == SIGNS[sign]
        for way in term.words:
            assert read(graph, way) == identity(sign.upper())


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", min_size=1, max_size=8))
def test_whatever_is_read_back_is_understood(graph, signs):
    assert read(graph, aloud(signs)) == identity(signs)


@pytest.mark.parametrize("text", ["mike zero seven", "mike", "M 0 7", "0 7"])
def test_nobody_spells_where_no_identity_was_asked_for(graph, text):
    assert not [one for one in parse(graph, text) if one.act is Act.IDENTITY]


def reached(graph: PhraseGraph) -> list[tuple[Arc, ...]]:
    """The arcs that can be passed from the start, state by state as they are met, with the states
    numbered in that order; and the ends among them."""
    number, queue, found = {0: 0}, [0], []
    for state in queue:  # grows while it is read
        row = []
        for index in graph.leaving[state]:
            arc = graph.arcs[index]
            if arc.dst not in number:
                number[arc.dst] = len(number)
                queue.append(arc.dst)
            row.append(replace(arc, src=number[state], dst=number[arc.dst]))
        found.append((*row, graph.finals.get(state)))
    return found


@pytest.mark.parametrize("answers", [True, False])
@pytest.mark.parametrize("name", SHIPPED)
def test_what_can_be_said_elsewhere_is_the_same_with_and_without_these_words(name, answers):
    card = load_card(card_path(name))
    words = vocabulary_of(card)
    signs = load_vocabulary(GRAMMARS / "english.yaml", SPELLING).spelling
    without = phrase_graph(card, replace(words, spelling={}), answers=answers)
    within = phrase_graph(card, replace(words, spelling=signs), answers=answers)
    assert reached(within) == reached(without)
    assert within.entries.keys() - without.entries.keys() == {IDENTITY}
    assert within.states == without.states + 2  # one of them inside "x-ray"


def test_two_identities_are_never_a_part_of_one_another():
    one, other = identity("M07") + identity("M0")
    assert is_part(one, one)
    assert not is_part(other, one)
    assert not is_part(Meaning(Act.READING, value="7"), identity("7")[0])


# --- the words are all there, or the card is refused --------------------------------------------


def asking(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "asking.yaml"
    path.write_text(text, encoding="utf-8")
    return path


DAILY = card_path("vehicle-daily").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "asks",
    [
        "after_interruption: resume\nvocabularies: english",
        "identity_said: true\nvocabularies: english",
        "vocabularies: [english, hand-over]",
    ],
)
def test_a_card_that_asks_for_an_identity_needs_the_words(tmp_path, asks):
    path = asking(tmp_path, DAILY.replace("vocabularies: english", asks))
    with pytest.raises(SourceError, match="no words") as caught:
        vocabulary_of(load_card(path))
    line = path.read_text(encoding="utf-8").splitlines().index(asks.splitlines()[0]) + 1
    assert f"{path}:{line}:" in str(caught.value)
    assert "'spelling'" in caught.value.what_to_do


def test_with_the_words_it_is_fit(tmp_path):
    rule = "after_interruption: resume\nvocabularies: [english, spelling]\n"
    card = load_card(asking(tmp_path, DAILY.replace("vocabularies: english\n", rule)))
    assert card.after_interruption is GoBack.RESUME
    assert vocabulary_of(card).spelling["m"].words == ("mike",)


def test_identities_are_spelled_in_english_only(tmp_path):
    text = card_path("tow-tractor-korean").read_text(encoding="utf-8")
    path = asking(tmp_path, f"after_interruption: resume\n{text}")
    with pytest.raises(SourceError, match="in English only") as caught:
        vocabulary_of(load_card(path))
    assert f"{path}:1:" in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("  q: quebec\n", "", "no words for q"),
        ("  q: quebec\n", "  qu: quebec\n", "'qu' is no letter"),
        ("alfa", "alfa 1", "unknown word '1'"),
        ("tree", "two", "ambiguous: 'two'"),
        ("golf", "negative", "ambiguous: 'negative'"),
    ],
)
def test_faults_of_the_words_have_a_place(tmp_path, old, new, message):
    path = asking(tmp_path, SPELLING.read_text(encoding="utf-8").replace(old, new, 1))
    with pytest.raises(SourceError, match=message) as caught:
        load_vocabulary(GRAMMARS / "english.yaml", path)
    assert f"{path}:" in str(caught.value)
    assert caught.value.what_to_do
