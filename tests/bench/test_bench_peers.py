"""The peers: their grammar is the card's, their readings are exact where the text is, and they
hear and refuse speech."""

from __future__ import annotations

import importlib
from collections import defaultdict

import numpy as np
import pytest

from voicewalk.bench.observe import Setting
from voicewalk.bench.peer_sphinx import SphinxPeer, transitions
from voicewalk.bench.peer_transcript import (
    NUMBER,
    Matcher,
    Skeletons,
    TranscriptPeer,
    without_numbers,
)
from voicewalk.bench.peers import FREE_LETTERS, FREE_WORDS, Absent, VoskPeer, calls_alone, peers_of
from voicewalk.bench.report import report
from voicewalk.card.load import card_path, load_card
from voicewalk.errors import ModelError
from voicewalk.hearing.lexicon import Lexicon
from voicewalk.language.parse import parse
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.vocabulary import vocabulary_of

KOREAN = "tow-tractor-korean"
CARD = load_card(card_path("jet-trainer"))
WORDS = vocabulary_of(CARD)
GRAPH = calls_alone(CARD, WORDS)
DRAWN = draw_phrases(CARD, WORDS, 300, 11)


def read(text: str):
    (meaning,) = parse(GRAPH, text)
    return meaning


# --- numbers out of the text -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "skeleton", "numbers"),
    [
        ("nose tyre good", "nose tyre good", []),
        ("nose tyre pressure 9 5 psi", "nose tyre pressure # psi", ["9 5"]),
        ("pressure two hundred and ten psi", "pressure # psi", ["two hundred and ten"]),
        ("cut half an inch and 3 inches", "cut # an inch and # inches", ["half", "3"]),
        ("six o'clock", "# o'clock", ["six"]),
        ("and a point", "and a point", []),
        ("", "", []),
    ],
)
def test_numbers_are_taken_out(text, skeleton, numbers):
    assert without_numbers(text.split()) == (skeleton, numbers)


# --- matching --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def matcher() -> Matcher:
    return Matcher(GRAPH, lambda word: {"tyre": ("tyre", "tire")}.get(word, (word,)))


def test_what_the_graph_reads_is_read_so(matcher):
    assert [matcher(phrase.text) for phrase in DRAWN] == [phrase.meaning for phrase in DRAWN]


@pytest.mark.parametrize(
    ("text", "call"),
    [
        ("Left main tire pressure 210 psi.", "left main tyre pressure two one zero psi"),
        ("Left main tie pressure 210 psi.", "left main tyre pressure two one zero psi"),
        ("Left main tire cuts half inch, outboard.", "left main tyre cut half inch outboard"),
        ("Radome satisfactorily.", "radome satisfactory"),
        ("Walk around complete", "walkaround complete"),
    ],
)
def test_near_texts_are_read(matcher, text, call):
    assert matcher(text) == read(call)


@pytest.mark.parametrize(
    "text", ["", "The ship was torn apart on the reefs.", "210 210", "nose nose nose nose"]
)
def test_other_texts_are_refused(matcher, text):
    assert matcher(text) is None


def test_a_number_is_never_bent():
    """A matcher of strings alone would take 110 for 210, which is one sign of thirty."""
    skeletons = Skeletons(GRAPH)
    assert skeletons.nearest(f"left main tire pressure {NUMBER} psi") == (
        f"left main tyre pressure {NUMBER} psi"
    )


def test_a_peer_reads_what_its_listener_writes():
    heard = {1: "Radome satisfactorily.", 2: "The ship was torn apart on the reefs."}
    peer = TranscriptPeer("letters", lambda samples: heard[len(samples)], GRAPH, Lexicon({}))
    assert peer.name.startswith("letters, rapidfuzz ")
    assert peer.hear(np.zeros(1, np.float32)) == read("radome satisfactory")
    assert peer.hear(np.zeros(2, np.float32)) is None


# --- the grammar of PocketSphinx -------------------------------------------------------------


def test_chances_at_every_fork_are_one_together():
    arcs = transitions(GRAPH)
    chances: dict[int, float] = defaultdict(float)
    for src, _, chance, *_ in arcs:
        chances[src] += chance
    assert [total for total in chances.values() if total != pytest.approx(1)] == []
    assert chances
    assert {dst for _, dst, *_ in arcs} - {GRAPH.states} <= chances.keys()


def test_its_own_acceptor_takes_the_drawn_calls():
    sphinx = pytest.importorskip("pocketsphinx")
    decoder = sphinx.Decoder(lm=None, loglevel="FATAL")
    fsg = decoder.create_fsg("calls", 0, GRAPH.states, transitions(GRAPH))
    refused = [phrase.text for phrase in DRAWN if not fsg.accept(_plain(phrase.text))]
    assert refused == []
    assert not fsg.accept("radome latched by the sea")


def _plain(text: str) -> str:
    return text.replace("-", " ").replace("s' ", "s ")


def test_a_missing_package_is_told(monkeypatch):
    def missing(name):
        raise ImportError(name)

    monkeypatch.setattr(importlib, "import_module", missing)
    with pytest.raises(ModelError, match="pocketsphinx is not installed"):
        SphinxPeer(GRAPH)


# --- hearing ---------------------------------------------------------------------------------

CALLS = [
    ("left main tyre pressure two one zero psi", "flite:awb"),
    ("radome satisfactory", "flite:rms"),
    ("nose tyre worn", "flite:kal16"),
    ("canopy glass crazing", "flite:rms"),
    ("walkaround complete", "flite:awb"),
    ("fuel quantity five thousand pounds", "flite:kal16"),
]


@pytest.fixture(scope="module")
def peers():
    found, absent = peers_of("jet-trainer")
    assert absent == [] or all(isinstance(one, Absent) and one.reason for one in absent)
    return found


def around(samples):
    """With half a second of silence on both sides."""
    return np.pad(samples, 8000)


@pytest.mark.models
def test_both_listeners_free_transcripts_are_measured(peers):
    names = [peer.name.partition(", ")[0] for peer in peers]
    assert names[:2] == [FREE_WORDS, FREE_LETTERS]


@pytest.mark.models
def test_names_tell_the_version(peers):
    names = [peer.name for peer in peers]
    assert len(set(names)) == len(names)
    assert all(any(sign.isdigit() for sign in name) for name in names)


@pytest.mark.models
@pytest.mark.synth
def test_peers_hear_clear_calls(peers, synth):
    """Not all of them: the figures are the benchmark's. A peer set up wrongly hears none."""
    for peer in peers:
        heard = [peer.hear(around(synth(text, voice))) for text, voice in CALLS]
        right = sum(one == read(text) for one, (text, _) in zip(heard, CALLS, strict=True))
        assert right >= 2, (peer.name, heard)


@pytest.mark.models
@pytest.mark.synth
def test_peers_hear_the_same_again(peers, synth):
    calls = [around(synth(text, voice)) for text, voice in CALLS[:3]]
    for peer in peers:
        first = [peer.hear(call) for call in calls]
        assert [peer.hear(call) for call in reversed(calls)] == first[::-1]


@pytest.mark.models
@pytest.mark.synth
def test_vosk_hears_where_its_model_is(synth):
    """Its Korean model is a developers' package; its English ones are in no package."""
    card = load_card(card_path(KOREAN))
    vocabulary = vocabulary_of(card)
    graph = calls_alone(card, vocabulary)
    peer = VoskPeer(card, vocabulary.language, graph)
    calls = [phrase.text for phrase in draw_phrases(card, vocabulary, 8, 3)]
    heard = [peer.hear(around(synth(text, "espeak:ko+f2", 150))) for text in calls]
    assert any([one] == parse(graph, text) for one, text in zip(heard, calls, strict=True))
    assert peer.hear(np.zeros(32_000, np.float32)) is None


@pytest.fixture
def no_model(tmp_path, monkeypatch):
    monkeypatch.setenv("VOICEWALK_MODELS", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))


def test_without_a_model_there_is_no_vosk(no_model):
    with pytest.raises(ModelError, match="no Vosk model for the language 'en'"):
        VoskPeer(CARD, "en", GRAPH)


@pytest.mark.models
@pytest.mark.parametrize("peers", [True, False])
def test_the_report_tells_which_peers_are_absent(no_model, tmp_path, peers):
    told = report(Setting("jet-trainer", tmp_path, peers=peers), []).splitlines()
    assert ("Vosk is absent: there is no Vosk model for the language 'en'." in told) is peers


@pytest.mark.models
def test_peers_refuse_silence_and_hiss(peers):
    hiss = np.random.default_rng(1).normal(0, 0.01, 32_000).astype(np.float32)
    for peer in peers:
        for sound in (np.zeros(32_000, np.float32), hiss):
            assert peer.hear(sound) is None, peer.name


@pytest.mark.models
@pytest.mark.slow
def test_the_matcher_refuses_read_sentences(peers, speech_data, recording):
    lines = (speech_data / "manifest.tsv").read_text("utf-8").splitlines()[1:]
    paths = [line.split("\t")[0] for line in lines if len(line.split("\t")[1].split()) > 6][:12]
    assert len(paths) == 12
    matching = peers[0]
    assert [matching.hear(around(recording(path))) for path in paths] == [None] * 12
