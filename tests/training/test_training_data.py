"""Texts, voices and people for training: who is kept apart, and that nothing gets lost."""

import os
import signal
import time
from collections import Counter
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from training import shards
from training.joined import join, short
from training.people import Row, letters, part_of
from training.texts import CARDS, WORDS, number, odd, plain, trade, words_of
from training.voices import (
    CALIBRATE,
    TEST,
    TRAIN,
    Job,
    as_said,
    draw_voice,
    spoken,
    trimmed,
    voices_of,
)
from voicewalk.errors import NumberError
from voicewalk.language.numbers import parse_number

PARTS = (TRAIN, CALIBRATE, TEST)


def test_no_voice_is_in_two_parts():
    random = Random(1)
    drawn = {
        (engine, part): {draw_voice(part, engine, random) for _ in range(600)}
        for engine in ("classic", "kokoro")
        for part in PARTS
    }
    for engine in ("classic", "kokoro"):
        assert not drawn[engine, CALIBRATE] & drawn[engine, TEST]
        trained = " ".join(drawn[engine, TRAIN])
        for part in (CALIBRATE, TEST):
            assert not any(voice in trained.split() for voice in drawn[engine, part])
    blended = {name[4:] if name[0].isdigit() else name for voice in drawn["kokoro", TRAIN]
               for name in voice.removeprefix("kokoro:").split("+")}  # fmt: skip
    for part in (CALIBRATE, TEST):
        assert not blended & {v.removeprefix("kokoro:") for v in voices_of(part, "kokoro")}


def test_twelve_voices_measure_and_forty_train():
    random = Random(1)
    measuring = [v for engine in ("classic", "kokoro") for v in voices_of(TEST, engine)]
    assert len(set(measuring)) >= 12
    assert len({draw_voice(TRAIN, "classic", random) for _ in range(500)}) >= 40


def test_voices_kept_for_independent_checks_are_in_no_part():
    for part in PARTS:
        voices = [v for engine in ("classic", "kokoro") for v in voices_of(part, engine)]
        assert not any("slt" in voice or "piper" in voice for voice in voices)


@given(st.text(max_size=20), st.sampled_from(["AN4", "Common Voice"]), st.booleans())
def test_a_speaker_is_in_one_part_whatever_is_said(speaker: str, source: str, known: bool):
    parts = {part_of(Row(f"{n}.opus", f"text {n}", speaker, source, known)) for n in range(3)}
    assert len(parts) == 1
    if known and source != "AN4":
        assert parts <= {CALIBRATE, TEST}, "speakers of the tests are never trained on"


def test_about_a_tenth_of_the_speakers_measure():
    shares = Counter(
        part_of(Row("", "yes", f"speaker {n}", "Common Voice", False)) for n in range(2000)
    )
    assert 0.06 < shares[TEST] / 2000 < 0.14
    assert 0.06 < shares[CALIBRATE] / 2000 < 0.14


def test_a_transcript_with_digits_has_no_letters():
    assert letters("Gate 7") == ""
    assert letters("It’s 'all' well, isn't it?") == "it's all well isn't it"


def test_the_two_cards_that_measure_new_cards_are_not_trained_on():
    assert "vehicle-daily" not in CARDS
    assert not any("pump" in card for card in CARDS)


@given(st.integers(0, 10_000))
def test_texts_are_made_of_letters(seed: int):
    text = trade(Random(seed))
    assert plain(text) == text


def test_numbers_are_what_the_grammar_understands():
    """All but fractions, of which the grammar wants the whole number said otherwise."""
    random = Random(3)
    drawn = [number(random) for _ in range(400)]
    understood = 0
    for text in drawn:
        try:
            parse_number(text.split())
        except NumberError:
            continue
        understood += 1
    assert understood > 0.7 * len(drawn)


def test_every_list_of_words_has_words():
    assert all(all(word == word.strip() for word in words) for words in WORDS.values())
    assert {"nouns", "states", "openings", "not_yet", "behind"} <= WORDS.keys()


def test_what_is_spelt_is_said_letter_by_letter():
    assert as_said("two hundred psi") == "two hundred p s i"


def test_silence_around_speech_goes():
    sound = np.zeros(16_000, dtype=np.float32)
    sound[8000:9000] = 0.5
    assert len(trimmed(sound)) == 1000 + 320 + 639


CLIPS = st.lists(
    st.builds(
        shards.Clip,
        st.lists(st.integers(-32768, 32767), min_size=1, max_size=30).map(
            lambda values: np.array(values, dtype=np.int16)
        ),
        st.sampled_from(["made", "AN4"]),
        st.sampled_from(["a", "b:c+d"]),
        st.sampled_from(["yes", "left tyre good"]),
    ),
    min_size=1,
    max_size=5,
)


@given(CLIPS)
def test_a_shard_is_read_as_it_was_written(tmp_path_factory, clips: list[shards.Clip]):
    stem = tmp_path_factory.mktemp("shard") / "some"
    assert not shards.is_whole(stem)
    assert shards.write(stem, clips) == len(clips)
    assert shards.is_whole(stem)
    shard = shards.read(stem)
    for index, clip in enumerate(clips):
        found = shard.clip(index)
        assert found.samples.tolist() == clip.samples.tolist()
        assert (found.source, found.speaker, found.text) == (clip.source, clip.speaker, clip.text)


def test_files_that_do_not_belong_together_are_told(tmp_path):
    stem = tmp_path / "some"
    shards.write(stem, [shards.Clip(np.ones(4, dtype=np.int16), "made", "a", "yes")])
    (tmp_path / "some.tsv").write_text("made\ta\tyes\nmade\ta\tno\n")
    with pytest.raises(ValueError, match="make it again"):
        shards.read(stem)


def test_silence_is_no_clip():
    with pytest.raises(ValueError, match="no sound"):
        shards.levelled(np.zeros(10))


def test_words_of_a_list_are_those_with_letters_only(tmp_path):
    path = tmp_path / "words.txt"
    path.write_text("harbour HH AA\nharbour(2) HH\n'tis\nx\nextraordinarily\nlight\n", "utf-8")
    assert words_of(path) == ["harbour", "light"]
    drawn = [odd(words_of(path), Random(seed)) for seed in range(50)]
    assert all({"harbour", "light"} & set(text.split()) for text in drawn)


@given(st.integers(0, 1000), st.integers(400, 20_000), st.integers(400, 20_000))
def test_two_voices_in_a_clip_are_both_whole_and_both_written(seed: int, one: int, other: int):
    clip = shards.Clip(np.full(one, 5000, np.int16), "made", "a", "left cap secure")
    word = shards.Clip(np.full(other, -3000, np.int16), "SC", "b", "no")
    joined = join(clip, word, Random(seed))
    assert joined.text in ("left cap secure no", "no left cap secure")
    assert (joined.samples > 0).sum() == one
    assert (joined.samples < 0).sum() == other
    assert (joined.samples[0] > 0) is np.True_ or joined.text.startswith("no")
    silent = (joined.samples == 0).sum() / shards.RATE
    assert 0.02 - 1e-3 <= silent <= 0.6 + 1e-3
    ratio = 20 * np.log10(-joined.samples.min() / joined.samples.max())
    assert -9.1 <= ratio <= 6.1


def test_only_short_clips_with_a_text_are_joined(tmp_path):
    clips = [
        shards.Clip(np.ones(size, np.int16), "made", "a", text)
        for size, text in ((8000, "left"), (80_000, "too long"), (8000, ""))
    ]
    shards.write(tmp_path / "some", clips)
    assert [n for _, n in short([tmp_path / "some"], 1.0)] == [0]


def _one_dies(device, pipe):
    """In place of a process that speaks."""
    job = pipe.recv()
    if device == "dies":
        os._exit(3)
    if device == "sticks":
        signal.pause()
    while job is not None:
        pipe.send(shards.Clip(np.zeros(1, np.int16), "made", job.voice, job.text))
        job = pipe.recv()


def test_a_process_that_dies_costs_two_texts(capsys):
    jobs = [Job(str(n), "flite:kal", n) for n in range(20)]
    made = list(spoken(jobs, ["", "dies"], 60, _one_dies))
    assert sorted(int(clip.text) for clip in made) == [0, 1, *range(4, 20)]
    assert "1 of 2 processes died: [3]" in capsys.readouterr().out


@pytest.mark.slow
def test_a_process_that_sticks_is_not_waited_for():
    jobs = [Job(str(n), "flite:kal", n) for n in range(20)]
    begun = time.monotonic()
    made = list(spoken(jobs, ["", "sticks"], 5, _one_dies))
    assert sorted(int(clip.text) for clip in made) == [0, 1, *range(4, 20)]
    assert time.monotonic() - begun < 20
