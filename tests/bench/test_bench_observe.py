"""What is heard of recordings: the same in every run, whatever the order and the processes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile

from voicewalk.bench.clips import Recording
from voicewalk.bench.observe import (
    CLEAN,
    Room,
    Setting,
    Trial,
    around,
    observe,
    segments_of,
)
from voicewalk.errors import AudioError
from voicewalk.language.build import SIDES
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.language.near import NearCall
from voicewalk.language.talk import Near

RATE = 16_000
READING = "left main tyre pressure two one zero psi"
CALLS = {  # words, and the text that the manifest gives
    "reading": (READING.replace("psi", "p s i"), READING),
    "answer": ("not latched", "not latched"),
    "other": ("the ship was torn apart on the reefs", ""),
}


def hiss(seconds: float, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, 0.05, int(seconds * RATE)).astype(np.float32)


@pytest.fixture(scope="module")
def noise(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("noise")
    for seed in (1, 2):
        soundfile.write(folder / f"hiss-{seed}.flac", hiss(4.0, seed), RATE)
    return folder


@pytest.fixture(scope="module")
def recordings(tmp_path_factory, synth) -> dict[str, Recording]:
    folder = tmp_path_factory.mktemp("clips")
    for name, (words, _) in CALLS.items():
        soundfile.write(folder / f"{name}.flac", synth(words, "flite:rms"), RATE)
    return {
        name: Recording(folder / f"{name}.flac", text, "rms", "flite")
        for name, (_, text) in CALLS.items()
    }


# --- the mixing ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def call(synth) -> np.ndarray:
    return synth(CALLS["reading"][0], "flite:rms")


NOISES = {"one": hiss(1.0, 3), "other": hiss(2.0, 4)}


def found(call, snr: str, seed: int, noises=NOISES) -> list[np.ndarray]:
    return [piece.samples for piece in segments_of(call, snr, noises, Random(seed))]


def alike(one: list[np.ndarray], other: list[np.ndarray]) -> bool:
    return len(one) == len(other) and all(map(np.array_equal, one, other))


@pytest.mark.synth
@pytest.mark.parametrize("snr", [CLEAN, "20", "5"])
def test_the_same_chance_mixes_the_same(snr, call):
    pieces = found(call, snr, 1)
    assert pieces
    assert alike(pieces, found(call, snr, 1))
    assert alike(pieces, found(call, snr, 1, dict(reversed(NOISES.items()))))


@pytest.mark.synth
def test_another_chance_mixes_another_noise_or_part_of_it(call):
    assert not alike(found(call, "20", 1), found(call, "20", 2))
    assert alike(found(call, CLEAN, 1), found(call, CLEAN, 2))


@pytest.mark.synth
def test_noise_lies_beneath_the_call_as_asked(call):
    """As the segment itself measures it; a steady noise is measured to about 2 dB."""
    for snr in (20, 10):
        (piece,) = segments_of(call, str(snr), NOISES, Random(1))
        assert piece.snr_db == pytest.approx(snr, abs=3.5)


def test_nothing_is_found_in_silence():
    assert segments_of(np.zeros(RATE, dtype=np.float32), CLEAN, NOISES, Random(1)) == []


def test_near_calls_fall_where_nothing_or_their_own_item_is_asked():
    """Half and half, and always the same by the same chance."""
    near = NearCall(Near.QUESTION, "is the radome good", "radome")
    drawn = [around(near, Random(f"seed {n}")) for n in range(400)]
    asked = drawn.count(Expectation(item="radome"))
    assert asked + drawn.count(Expectation()) == 400
    assert 150 < asked < 250
    assert drawn == [around(near, Random(f"seed {n}")) for n in range(400)]
    of_none = replace(near, item="")
    assert {around(of_none, Random(n)) for n in range(20)} == {Expectation()}


# --- the real listeners --------------------------------------------------------------------


@pytest.fixture(scope="module")
def room(noise) -> Room:
    """The room of the jet trainer's card. Takes some seconds."""
    return Room(Setting("jet-trainer", noise, seed=7))


def untimed(trial: Trial) -> Trial:
    """Without what its hearing took."""
    return replace(trial, pieces=tuple(replace(piece, took={}) for piece in trial.pieces))


def recorded(text: str) -> Recording:
    return Recording(Path("x.flac"), text, "ann", "ours")


@pytest.mark.models
@pytest.mark.parametrize(
    ("text", "truth", "expectation"),
    [
        ("", None, Expectation()),
        ("the ship was torn apart on the reefs", None, Expectation()),
        (
            READING,
            Meaning(Act.READING, item="left-main-tyre-pressure", value="210", unit="psi"),
            Expectation(),
        ),
        ("next", Meaning(Act.COMMAND, command=Command.NEXT), Expectation()),
        ("affirm", Meaning(Act.COMMAND, command=Command.AFFIRM), Expectation(question=True)),
        ("left", Meaning(Act.SIDE, side="left"), Expectation(side=True)),
    ],
)
def test_what_a_recording_means_on_the_card(text, truth, expectation, room):
    assert room.truth(recorded(text)) == (truth, expectation)


@pytest.mark.models
@pytest.mark.parametrize("text", ["not latched", "two hundred psi", "three", "no defects"])
def test_an_answer_is_a_call_at_an_item_that_it_answers(text, room):
    truth, expectation = room.truth(recorded(text))
    assert truth is not None
    assert truth.item == ""
    assert expectation.item in room.listeners.graph.entries.keys() - {SIDES}


@pytest.mark.models
@pytest.mark.synth
def test_the_same_seed_gives_the_same_trials_in_one_process_and_in_two(noise, recordings):
    setting = Setting("jet-trainer", noise, seed=7)
    tasks = [(recordings["reading"], "10"), (recordings["answer"], CLEAN)]
    tasks += [(recordings["other"], "5")]
    alone = [untimed(trial) for trial in observe(setting, tasks)]
    assert [(trial.recording, trial.snr) for trial in alone] == tasks
    assert all(trial.pieces for trial in alone)
    assert [untimed(trial) for trial in observe(setting, tasks, jobs=2)] == alone
    again = [untimed(trial) for trial in observe(setting, tasks[::-1])]
    assert again == alone[::-1]


@pytest.mark.models
@pytest.mark.synth
def test_another_seed_gives_another_noise(room, noise, recordings):
    first = room.hear(recordings["reading"], "10")
    (other,) = observe(Setting("jet-trainer", noise, seed=8), [(recordings["reading"], "10")])
    assert first.truth == other.truth
    assert first.pieces[0].pooled != other.pieces[0].pooled


@pytest.mark.models
@pytest.mark.synth
def test_calls_are_heard_and_other_speech_falls_where_an_item_is_due(room, recordings):
    trial = room.hear(recordings["reading"], CLEAN)
    assert trial.pieces[0].pooled[0].meaning == trial.truth
    assert trial.pieces[0].took.keys() == {"noise reduction", "listening", "pooling"}
    assert trial.pieces[0].busy == sum(trial.pieces[0].took.values()) > 0
    other = room.hear(recordings["other"], CLEAN)
    assert other.truth is None
    assert other.expectation.item in {item.id for item in room.card}
    assert room.hear(recordings["other"], CLEAN).expectation == other.expectation


@pytest.mark.models
@pytest.mark.synth
def test_near_calls_are_heard_with_what_they_may_enter(room, recordings):
    """Whatever the graph makes of the words."""
    text = "left avionics door isn't latched"
    trial = room.hear(replace(recordings["answer"], text=text, near=Near.OPPOSITE), CLEAN)
    not_latched = Meaning(Act.STATE, item="left-avionics-door", state="not latched")
    assert trial.truth is None
    assert trial.near is not None
    assert not_latched in trial.near.meanings
    assert trial.expectation in (Expectation(), Expectation(item="left-avionics-door"))
    assert trial.pieces


@pytest.mark.models
@pytest.mark.synth
@pytest.mark.parametrize("jobs", [1, 2])
def test_a_recording_that_is_no_sound_is_told(jobs, noise, recordings, tmp_path):
    bad = replace(recordings["reading"], path=tmp_path / "bad.flac")
    bad.path.write_bytes(b"no sound")
    with pytest.raises(AudioError, match=r"bad\.flac: this is no sound"):
        list(observe(Setting("jet-trainer", noise), [(bad, CLEAN)], jobs))
