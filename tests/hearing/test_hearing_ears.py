"""The ears around their listeners, which are made up: who hears which sound, and what is kept."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.card.model import Card
from voicewalk.errors import ModelError
from voicewalk.hearing import ears as module
from voicewalk.hearing.calibration import features_of
from voicewalk.hearing.ears import QUIET_DB, TRAITS, VERSIONS, Ears, Listeners
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.listeners import Hearing, Starts, Traits
from voicewalk.hearing.wording import Guess, Part, Wording, spoken
from voicewalk.language.meaning import Act, Expectation, Meaning
from voicewalk.language.vocabulary import vocabulary_of

RADOME = Guess(
    Meaning(Act.SATISFACTORY, item="radome"), ((Part(("radome", "satisfactory"), False),),), -0.1
)
CLIP = np.full(16_000, 0.25, np.float32)
NOISY = Sound(2.0, QUIET_DB - 1)
QUIET = Sound(2.0, QUIET_DB)


class Made:
    """A listener that hears one call, and keeps what it was given to hear."""

    def __init__(self, traits: Traits, guesses: Sequence[Guess] = (RADOME,)) -> None:
        self.traits = traits
        self.text = f"what {traits.name} heard"
        self.free = -2.0
        self.span = None
        self.clips: list[np.ndarray] = []
        self.asked: list[int] = []
        self._guesses = list(guesses)

    def hear(self, samples: np.ndarray, starts: Starts = (0,)) -> Hearing:
        self.clips.append(samples)
        return self

    def guesses(self, count: int) -> list[Guess]:
        self.asked.append(count)
        return self._guesses[:count]

    def score(self, wordings: Sequence[Wording]) -> list[float]:
        return [-0.1 if spoken(way) == ("radome", "satisfactory") else -60.0 for way in wordings]


def halved(samples: np.ndarray) -> np.ndarray:
    return samples / 2


@pytest.fixture(scope="module")
def card() -> Card:
    return load_card(card_path("jet-trainer"))


@pytest.fixture
def given(monkeypatch) -> list[Made]:
    """The listeners that are loaded, by the usual names; the noise reducer is ``halved``."""
    made = [Made(one) for one in TRAITS]
    monkeypatch.setattr(module, "load_listeners", lambda *_: tuple(made))
    monkeypatch.setattr(module, "NoiseReducer", lambda: halved)
    return made


def listeners(card: Card, width: int = 1, kind: type[Listeners] = Listeners):
    return kind(card, vocabulary_of(card), lexicon_path(card), width)


@pytest.mark.parametrize("sound", [NOISY, QUIET], ids=["noisy", "quiet"])
@pytest.mark.parametrize("reduced", [(True, False), (False, True), (True, True), (False, False)])
def test_only_who_wants_it_hears_the_sound_with_its_noise_reduced(card, given, sound, reduced):
    for one, wants in zip(given, reduced, strict=True):
        one.traits = Traits(one.traits.name, 80, 20, False, wants)
    listeners(card).listen(CLIP, sound, Expectation())
    for one, wants in zip(given, reduced, strict=True):
        (clip,) = one.clips
        assert clip[0] == (0.125 if wants and sound is NOISY else 0.25)


def test_letters_hear_the_sound_as_it_is_and_words_with_less_noise():
    assert {one.name: one.reduced for one in TRAITS} == {"letters": False, "words": True}


@pytest.mark.parametrize("width", [1, 4])
def test_each_is_asked_for_as_many_meanings_as_it_is_read(card, given, width):
    listeners(card, width).listen(CLIP, QUIET, Expectation())
    assert [one.asked for one in given] == [[one.traits.read * width] for one in given]


def test_what_the_first_hears_is_the_transcript(card, given):
    assert listeners(card).transcribe(CLIP) == "what letters heard"
    assert given[1].clips == []


def test_the_evidence_names_each_listener_and_each_feature(card, given):
    heard = listeners(card, kind=Ears).hear(CLIP, QUIET, Expectation())
    assert heard.candidates[0].words == "radome satisfactory"
    assert heard.evidence["listeners"] == [
        {"name": one.name, "text": f"what {one.name} heard", "score": "-0.1"} for one in TRAITS
    ]
    assert heard.evidence["versions"] == VERSIONS
    assert set(VERSIONS) == {*(one.name for one in TRAITS), "noise reduction"}
    names = features_of(one.name for one in TRAITS)
    assert set(names) <= heard.evidence["judge"].keys()
    assert heard.evidence["judge"]["letters total"] == "-0.10"


def test_where_nothing_fits_the_evidence_has_no_features(card, given):
    for one in given:
        one._guesses = []
    heard = listeners(card, kind=Ears).hear(CLIP, QUIET, Expectation())
    assert (heard.verdict, heard.candidates) == (Verdict.OUTSIDE, ())
    assert [one["score"] for one in heard.evidence["listeners"]] == ["", ""]
    assert "lead" not in heard.evidence["judge"]


def test_a_listener_that_was_added_can_be_heard_and_not_judged_by(card, given):
    """Its trials are what the calibration is learnt from; till then no judge knows its weight."""
    given.append(Made(Traits("third", 5, 5, False, False)))
    pooled = listeners(card).listen(CLIP, QUIET, Expectation()).pooled
    assert set(pooled[0].scores) == {"letters", "words", "third"}
    with pytest.raises(ModelError, match="other listeners") as told:
        listeners(card, kind=Ears)
    assert "bench calibrate" in told.value.what_to_do


def test_an_error_of_a_listener_is_not_lost_in_its_thread(card, given, monkeypatch):
    def fails(*_: object) -> None:
        raise ModelError("it gave frames of another shape", "Restore it.")

    monkeypatch.setattr(given[1], "hear", fails)
    with pytest.raises(ModelError, match="another shape"):
        listeners(card).listen(CLIP, QUIET, Expectation())
