"""The real models: what they hear of calls made by Debian's flite and espeak-ng, and of none."""

from __future__ import annotations

import numpy as np
import pytest

from voicewalk.card.load import card_path, load_card
from voicewalk.hearing import word_search
from voicewalk.hearing.ears import starts_of
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.letter_listener import LetterListener
from voicewalk.hearing.letter_model import FLOOR
from voicewalk.hearing.tokens import letters_of
from voicewalk.hearing.word_listener import WordListener
from voicewalk.hearing.wording import Part
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Expectation
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of

pytestmark = pytest.mark.models

RATE = 16_000
QUIET = 40.0  # a signal-to-noise ratio at which nothing is reduced
NOTHING = Expectation()

PRESSURE = ("left main tyre pressure two one zero psi", "flite:awb")


@pytest.fixture(scope="module")
def call(synth):
    """A call with a little silence around it."""

    def make(text: str, voice: str) -> np.ndarray:
        return np.pad(synth(text.replace("psi", "p s i"), voice), RATE // 4)

    return make


def noise(seconds: float, level: float, seed: int = 1) -> np.ndarray:
    random = np.random.default_rng(seed)
    return random.normal(0, level, int(seconds * RATE)).astype(np.float32)


def listened(ears, clip: np.ndarray, snr: float = QUIET, expecting: Expectation = NOTHING):
    return ears.listen(clip, Sound(len(clip) / RATE, snr), expecting)


@pytest.fixture(scope="module")
def letters(ears) -> LetterListener:
    (found,) = (one for one in ears.listeners if isinstance(one, LetterListener))
    return found


@pytest.fixture(scope="module")
def words(ears) -> WordListener:
    (found,) = (one for one in ears.listeners if isinstance(one, WordListener))
    return found


# --- words and models ----------------------------------------------------------------------


@pytest.mark.parametrize("name", ["jet-trainer", "vehicle-daily"])
def test_every_word_of_a_card_can_be_heard_by_both_models(name, letters, words):
    card = load_card(card_path(name))
    heard = phrase_graph(card, vocabulary_of(card)).words
    known = {letters_of(token) for token in words.model.tokens}
    for word in heard:
        assert letters.spell(word)
    for way in {way for word in heard for way in words._lexicon.spell(word)}:
        assert set(way.replace("'", "").replace("-", "")) <= known, way


def test_frames_are_log_probabilities(letters):
    model = letters.model
    frames = model.log_probs(noise(1.0, 0.05))
    assert frames.shape == (60, len(model.symbols))  # with a tenth of a second on both sides
    assert frames.min() >= FLOOR
    # Raising all to the floor adds at most the floor's own share to each symbol.
    assert np.exp(frames).sum(axis=1) == pytest.approx(1.0, abs=len(model.symbols) * np.exp(FLOOR))


@pytest.mark.synth
@pytest.mark.parametrize(
    ("text", "voice"),
    [
        ("left fuel cap secure", "flite:rms"),
        ("left fuel cap not secure", "espeak:en-gb"),
        ("grounding cable disconnected", "flite:awb"),
        ("is the front seat pin installed", "flite:kal16"),
    ],
)
def test_what_is_said_is_written_though_no_card_has_it(text, voice, letters, call):
    assert letters.hear(call(text, voice)).text == text


@pytest.mark.synth
@pytest.mark.parametrize("text", ["walkaround complete", "oxygen pressure sixteen fifty psi"])
def test_the_tokenizer_writes_as_the_model_does(text, words, call):
    """The model's own tokens are the outside reference: it was trained with the true tokenizer."""
    hearing = words.hear(call(text, "flite:rms"))
    assert len(hearing._unheld.tokens) > 3
    assert words._tokenize(hearing.text) == hearing._unheld.tokens


@pytest.mark.parametrize("samples", [0, 1, 100, 600, 894, 895, 1600, 150_000, 192_000])
def test_a_clip_of_any_length_can_be_heard(samples, ears):
    clip = noise(samples / RATE, 0.05)
    for expecting in (NOTHING, Expectation(item="nose-tyre-pressure", side=True)):
        for one in listened(ears, clip, QUIET, expecting).pooled:
            assert np.isfinite([one.evidence, *one.scores.values(), *one.free.values()]).all()


# --- calls ---------------------------------------------------------------------------------


@pytest.mark.synth
@pytest.mark.parametrize(
    ("text", "voice"),
    [
        PRESSURE,
        ("walkaround complete", "flite:kal16"),
        ("left avionics door not latched", "flite:rms"),
        ("oxygen pressure sixteen fifty psi", "espeak:en-gb"),
        ("nose tyre cut half an inch", "espeak:en-gb"),
    ],
)
def test_each_listener_alone_hears_the_call(text, voice, ears, call):
    (meaning,) = parse(ears.graph, text)
    for hearing in listened(ears, call(text, voice)).hearings:
        guesses = hearing.guesses(4)
        assert guesses[0].meaning == meaning, hearing.traits.name
        scores = [guess.score for guess in guesses]
        assert scores == sorted(scores, reverse=True)
        assert len({guess.meaning for guess in guesses}) == len(guesses) <= 4
        assert hearing.text


@pytest.mark.synth
@pytest.mark.parametrize(
    ("text", "voice"),
    [
        ("left avionics door not latched", "flite:kal16"),
        ("right pitot cover removed", "espeak:en-gb"),
        ("radome satisfactory", "flite:awb"),
    ],
)
def test_together_they_hear_what_one_alone_does_not(text, voice, ears, call):
    (meaning,) = parse(ears.graph, text)
    assert listened(ears, call(text, voice)).pooled[0].meaning == meaning


ANSWERS = {
    "two one zero psi": Expectation(item="left-main-tyre-pressure"),
    "not latched": Expectation(item="left-avionics-door"),
    "left": Expectation(side=True),
}


@pytest.mark.synth
@pytest.mark.parametrize("text", ANSWERS)
def test_an_answer_is_heard_where_it_was_asked_for(text, ears, call):
    expecting = ANSWERS[text]
    (meaning,) = parse(ears.graph, text, starts_of(ears.graph, expecting))
    assert not meaning.item
    clip = call(text, "flite:awb")
    assert listened(ears, clip, QUIET, expecting).pooled[0].meaning == meaning
    assert meaning not in {one.meaning for one in listened(ears, clip).pooled}


@pytest.mark.synth
def test_a_call_at_another_item_is_heard_though_an_answer_was_asked_for(ears, call):
    """Any item may be called at any time."""
    (meaning,) = parse(ears.graph, PRESSURE[0])
    expecting = Expectation(item="left-avionics-door", question=True, side=True)
    assert listened(ears, call(*PRESSURE), QUIET, expecting).pooled[0].meaning == meaning


@pytest.mark.synth
@pytest.mark.parametrize("snr", [QUIET, 10.0], ids=["quiet", "noise-reduced"])
def test_the_same_clip_is_heard_the_same(snr, ears, call):
    clip = call(*PRESSURE) + noise(len(call(*PRESSURE)) / RATE, 0.01)
    assert listened(ears, clip, snr).pooled == listened(ears, clip, snr).pooled


@pytest.mark.synth
@pytest.mark.parametrize("text", ["walkaround complete", "left avionics door not latched"])
def test_the_search_and_the_scoring_of_words_agree(text, words, call):
    hearing = words.hear(call(text, "flite:rms"))
    start = words.letters.start()
    found = word_search.search(hearing._decoding, words.trie, words.letters, start, 8)
    again = word_search.score(hearing._decoding, [one.tokens for one in found])
    assert again == pytest.approx([one.score for one in found], abs=word_search.BATCH_NOISE)


@pytest.mark.synth
def test_the_search_and_the_scoring_of_letters_agree(letters, call):
    hearing = letters.hear(call(*PRESSURE))
    for guess in hearing.guesses(3):
        assert max(hearing.score(guess.wordings)) >= guess.score - 0.01
    assert max(hearing.score(hearing.guesses(1)[0].wordings)) <= 0.01


@pytest.mark.synth
def test_a_wording_longer_than_the_clip_has_a_number_for_a_score(letters, call):
    hearing = letters.hear(call("stop", "flite:rms"))
    long = (Part(("satisfactory",) * 60, False),)
    short = (Part(("stop",), False),)
    assert np.isfinite(hearing.score([long, short])).all()
    assert hearing.score([]) == []


@pytest.mark.synth
def test_a_clear_call_is_understood_with_its_evidence(ears, call):
    clip = call(*PRESSURE)
    heard = ears.hear(clip, Sound(len(clip) / RATE, QUIET), NOTHING)
    (meaning,) = parse(ears.graph, PRESSURE[0])
    assert heard.verdict is Verdict.UNDERSTOOD
    assert heard.candidates[0].meaning == meaning
    assert {listener["name"] for listener in heard.evidence["listeners"]} == {"letters", "words"}
    assert plain(heard.evidence)


def plain(data: object) -> bool:
    """Whether data is made of strings, lists and objects only."""
    if isinstance(data, dict):
        return all(isinstance(key, str) and plain(value) for key, value in data.items())
    return isinstance(data, str) or (isinstance(data, list) and all(map(plain, data)))


# --- no calls ------------------------------------------------------------------------------

SPEECHLESS = {  # with the signal-to-noise ratio that a segment might be given
    "silence": (np.zeros(3 * RATE, dtype=np.float32), 0.0),
    "faint-noise": (noise(3.0, 0.001), QUIET),
    "noise": (noise(3.0, 0.01), 0.0),
    "loud-noise": (noise(3.0, 0.1), 0.0),
    "short-noise": (noise(0.6, 0.003, seed=0), 3.0),
    "two-seconds-of-noise": (noise(2.0, 0.003, seed=0), 12.0),
}
ASKED = {
    "nothing": NOTHING,
    "count": Expectation(item="equipment-brought"),
    "state": Expectation(item="battery-switch"),
    "reading": Expectation(item="nose-tyre-pressure"),
    "answer": Expectation(question=True),
    "side": Expectation(side=True),
}


@pytest.fixture(scope="module")
def verdicts(ears):
    """Each sound without speech, judged under each expectation."""
    judged = {}
    for name, (clip, snr) in SPEECHLESS.items():
        for asked, expecting in ASKED.items():
            pooled = listened(ears, clip, snr, expecting).pooled
            sound = Sound(len(clip) / RATE, snr)
            judged[name, asked] = ears.judge(pooled, sound, expecting).verdict
    return judged


def test_noise_and_silence_are_never_understood_where_nothing_is_asked(verdicts):
    taken = (Verdict.UNDERSTOOD, Verdict.ASK)
    assert [key for key in verdicts if key[1] == "nothing" and verdicts[key] in taken] == []


def test_noise_and_silence_are_never_understood_whatever_is_asked(verdicts):
    assert [key for key in verdicts if verdicts[key] is Verdict.UNDERSTOOD] == []


def test_noise_and_silence_give_nothing_that_could_be_affirmed(verdicts):
    """At most a "say again": the speech detector before the ears lets none of it through."""
    harmless = (Verdict.OUTSIDE, Verdict.UNCLEAR)
    assert [key for key in verdicts if verdicts[key] not in harmless] == []
