"""Identities in the ears: written and near wordings, what they weigh, and how sure they must be."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.card.model import Card
from voicewalk.hearing.calibration import load_calibration
from voicewalk.hearing.ears import Ears
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.hearing.judge import close_to
from voicewalk.hearing.pool import Pooled
from voicewalk.hearing.prior import Prior, unasked
from voicewalk.hearing.wording import guess_of, in_digits, near_wordings, spoken
from voicewalk.language.build import IDENTITY, phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.sounds import sound_of

M07 = Meaning(Act.IDENTITY, value="M07")
ASKED = Expectation(identity=True)


@pytest.fixture(scope="module")
def card() -> Card:
    card = load_card(card_path("jet-trainer"))
    return replace(card, vocabularies=tuple(dict.fromkeys((*card.vocabularies, "spelling"))))


@pytest.fixture(scope="module")
def graph(card) -> PhraseGraph:
    return phrase_graph(card, vocabulary_of(card), answers=False)


def heard_as(graph: PhraseGraph, *words: str):
    """The guess of a path with these words from where an identity is said."""
    state, path = graph.entries[IDENTITY], []
    for word in words:
        (index,) = (i for i in graph.leaving[state] if graph.arcs[i].word == word)
        path.append(index)
        state = graph.arcs[index].dst
    return guess_of(graph, path, -1.0)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        (("mike", "0", "7"), ["mike zero seven"]),
        (("9", "kilo", "9"), ["niner kilo niner", "nine kilo nine"]),
        (("x", "ray", "4"), ["x ray four"]),
    ],
)
def test_written_digits_are_signs_in_words(graph, written, said):
    guess = heard_as(graph, *written)
    assert [" ".join(spoken(way)) for way in guess.wordings] == said


@pytest.mark.parametrize(
    ("words", "digits"),
    [
        ("mike zero seven", "mike 07"),
        ("niner tree kilo fower", "93 kilo 4"),
        ("x ray zulu", "x ray zulu"),
    ],
)
def test_signs_are_written_with_their_zeros(graph, words, digits):
    guess = heard_as(graph, *words.split())
    assert " ".join(in_digits(guess.wordings[0])) == digits


def test_what_sounds_near_is_a_digit_for_another_or_a_sign_lost_or_doubled(graph):
    """Five and nine: why radiotelephony says "fife" and "niner" (FAA AIM table 4-2-2 gives how
    they are said, not why)."""
    (way,) = heard_as(graph, "kilo", "five", "five").wordings
    near = {" ".join(spoken(one)) for one in near_wordings(way)}
    assert near >= {"kilo nine five", "kilo five", "kilo five five five", "five five"}
    assert "kilo five five" not in near


def test_an_identity_weighs_the_same_whatever_its_signs(card):
    prior = Prior(card)
    ways = ("M07", "1E5", "210", "99999", "INF", "NAN")
    assert {prior(replace(M07, value=signs), ASKED) for signs in ways} == {0.0}


def test_an_identity_is_a_call_only_where_it_was_asked_for():
    assert not unasked(M07, ASKED)
    assert unasked(M07, Expectation())
    assert unasked(M07, Expectation(item="radome", question=True))


@pytest.mark.parametrize(
    "other",
    [replace(M07, value="N07"), Meaning(Act.COMMAND, command=Command.GOING_ON)],
    ids=["one sign off", "a command"],
)
@pytest.mark.parametrize(("ahead", "close"), [(4.9, True), (5.1, False)])
def test_an_identity_stands_out_more_than_other_calls(other, ahead, close):
    limits = load_calibration().thresholds
    best, rival = (Pooled(m, "", {}, {}, e) for m, e in ((M07, 0.0), (other, -ahead)))
    assert bool(close_to(best, [rival], limits)) is close
    assert limits.pair < 4.9


# --- in sound -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def asking(card) -> Ears:
    return Ears(card, vocabulary_of(card), lexicon_path(card))


@pytest.fixture
def hear(asking, synth):
    """What the real ears make of a text said by a voice."""

    def say(text: str, voice: str, expectation: Expectation) -> Heard:
        samples = synth(text, voice)
        loud = np.asarray(samples * (0.3 / np.abs(samples).max()), np.float32)
        source = ScriptedSource([ScriptedCall(loud)])
        source.next_call()
        (piece,) = (one for one in segment(source) if isinstance(one, Segment))
        sound = sound_of(piece)
        return asking.hear(piece.samples, sound, expectation)

    return say


def understood(heard: Heard) -> str:
    """What it was taken for: the signs or the command, "" where it is to be said again."""
    if heard.verdict is not Verdict.UNDERSTOOD:
        return ""
    meaning = heard.candidates[0].meaning
    return meaning.value if meaning.act is Act.IDENTITY else meaning.command


@pytest.mark.models
@pytest.mark.synth
@pytest.mark.slow
class TestInSound:
    """Calls by Debian's flite and eSpeak NG."""

    @pytest.mark.parametrize("voice", ["flite:rms", "flite:kal16"])
    @pytest.mark.parametrize(
        ("text", "signs"), [("mike zero seven", "M07"), ("kilo bravo four two", "KB42")]
    )
    def test_it_is_understood_where_it_is_asked_for(self, hear, text, signs, voice):
        assert understood(hear(text, voice, ASKED)) == signs

    @pytest.mark.parametrize(
        ("text", "signs"), [("mike zero seven", "M07"), ("kilo bravo four two", "KB42")]
    )
    def test_of_a_voice_of_another_country_it_is_at_least_the_likeliest(self, hear, text, signs):
        """A Scot whom neither the listener nor the judge has learnt from."""
        heard = hear(text, "flite:awb", ASKED)
        assert heard.candidates[0].meaning.value == signs

    @pytest.mark.parametrize("voice", ["flite:rms", "espeak:en-us"])
    def test_nothing_is_understood_where_it_is_not(self, hear, voice):
        heard = hear("mike zero seven", voice, Expectation())
        assert understood(heard) == ""

    @pytest.mark.parametrize("voice", ["flite:rms", "flite:kal16", "espeak:en-us"])
    @pytest.mark.parametrize(
        "text", ["mike seventeen", "mike double zero seven", "em zero seven", "mike oh seven"]
    )
    def test_said_otherwise_it_never_passes_for_that_of_the_walk(self, hear, text, voice):
        assert understood(hear(text, voice, ASKED)) not in ("M07", "M7", "M17")

    @pytest.mark.parametrize("voice", ["flite:rms", "espeak:en-us"])
    @pytest.mark.parametrize("text", ["say again", "negative", "going on", "stand by", "stop"])
    def test_commands_are_understood_meanwhile(self, hear, text, voice):
        assert understood(hear(text, voice, ASKED)) == text
