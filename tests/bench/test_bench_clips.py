"""Folders of recordings: what is read, and what is refused with its place."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from voicewalk.bench.clips import read_manifest, read_noises, read_sound
from voicewalk.errors import AudioError, SourceError
from voicewalk.language.talk import Near

HEADER = "path\ttext\tspeaker\tsource\tseconds\n"


def folder_with(tmp_path: Path, manifest: str, *sounds: str) -> Path:
    (tmp_path / "manifest.tsv").write_text(manifest, encoding="utf-8")
    for name in sounds:
        soundfile.write(tmp_path / name, np.zeros(1600, dtype=np.float32), 16_000)
    return tmp_path


def test_a_manifest_is_read_in_its_order(tmp_path: Path):
    lines = HEADER + "b.flac\tnose tyre good\tann\tours\t0.1\na.flac\t\tbob\tours\t0.1\n"
    folder = folder_with(tmp_path, lines, "a.flac", "b.flac")
    found = [(r.path.name, r.text, r.speaker) for r in read_manifest(folder)]
    assert found == [("b.flac", "nose tyre good", "ann"), ("a.flac", "", "bob")]


@pytest.mark.parametrize(
    ("manifest", "line", "says"),
    [
        ("path\ttext\tsource\tseconds\na.flac\t\tours\t1\n", 2, "no column speaker"),
        ("file\twords\na.flac\tstop\n", 2, "no column path, text, speaker, source"),
        (HEADER + "gone.flac\t\tann\tours\t1\n", 2, "gone.flac is not there"),
        (HEADER + "a.flac\t\tann\tours\t1\n\ngone.flac\t\tann\tours\t1\n", 4, "gone.flac"),
        (HEADER + "a.flac\t\tann\tours\t1\na.flac\tstop\n", 3, "no column speaker, source"),
        (HEADER + "a.flac stop ann ours 1\n", 2, "no column text, speaker, source"),
        (HEADER + "\t\tann\tours\t1\n", 2, "is not there"),
        (HEADER, 1, "names no recording"),
        ("", 1, "names no recording"),
    ],
    ids=[
        "a column is missing",
        "no column is known",
        "a file is missing",
        "a file is missing behind an empty line",
        "a line is short",
        "blanks for tabs",
        "no path",
        "no lines",
        "nothing at all",
    ],
)
def test_a_faulty_manifest_is_refused_with_its_line(
    tmp_path: Path, manifest: str, line: int, says: str
):
    folder = folder_with(tmp_path, manifest, "a.flac")
    with pytest.raises(SourceError, match=says) as caught:
        read_manifest(folder)
    assert caught.value.where.endswith(f"manifest.tsv:{line}")
    assert caught.value.what_to_do


def test_a_manifest_may_tell_what_is_near_a_call(tmp_path: Path):
    lines = (
        "path\tnear\ttext\tspeaker\tsource\n"
        "a.flac\ttwo calls\tnose tyre good nose wheel good\tann\tours\n"
        "a.flac\t\tnose tyre good\tann\tours\n"
    )
    found = read_manifest(folder_with(tmp_path, lines, "a.flac"))
    assert [one.near for one in found] == [Near.TWO_CALLS, None]


def test_a_line_may_end_before_the_column_of_near_calls(tmp_path: Path):
    lines = "path\ttext\tspeaker\tsource\tnear\na.flac\tstop\tann\tours\n"
    assert [one.near for one in read_manifest(folder_with(tmp_path, lines, "a.flac"))] == [None]


def test_speech_that_is_near_a_call_in_no_known_way_is_refused(tmp_path: Path):
    lines = "path\ttext\tspeaker\tsource\tnear\na.flac\tstop\tann\tours\tyes\n"
    with pytest.raises(SourceError, match="in no way 'yes'") as caught:
        read_manifest(folder_with(tmp_path, lines, "a.flac"))
    assert caught.value.where.endswith("manifest.tsv:2")
    assert "question" in caught.value.what_to_do


def test_a_manifest_in_another_encoding_is_refused(tmp_path: Path):
    (tmp_path / "manifest.tsv").write_bytes(HEADER.encode() + "größe".encode("latin-1"))
    with pytest.raises(SourceError, match="cannot be read") as caught:
        read_manifest(tmp_path)
    assert "UTF-8" in caught.value.what_to_do


def test_quotes_and_other_signs_are_texts_as_they_are(tmp_path: Path):
    text = 'he said "go" \u2028 and left'
    folder = folder_with(tmp_path, f"{HEADER}a.flac\t{text}\tann\tours\t1\n", "a.flac")
    assert [r.text for r in read_manifest(folder)] == [text]


def test_a_folder_without_manifest_is_refused(tmp_path: Path):
    with pytest.raises(SourceError, match=r"no manifest\.tsv"):
        read_manifest(tmp_path)


def test_sound_comes_mono_at_16_khz(tmp_path: Path):
    stereo = np.column_stack([np.full(4800, 0.5), np.zeros(4800)]).astype(np.float32)
    soundfile.write(tmp_path / "stereo.wav", stereo, 48_000)
    samples = read_sound(tmp_path / "stereo.wav")
    assert len(samples) == 1600
    assert samples[400:1200].mean() == pytest.approx(0.25, abs=0.01)


def test_noises_are_named_by_their_files(tmp_path: Path):
    folder = folder_with(tmp_path, HEADER, "wind.flac", "jet.flac")
    assert list(read_noises(folder)) == ["jet", "wind"]


@pytest.mark.parametrize("content", [b"", b"no sound", b"RIFF\0\0\0\0WAVE"], ids=repr)
def test_what_is_no_sound_is_refused(content: bytes, tmp_path: Path):
    (tmp_path / "a.flac").write_bytes(content)
    with pytest.raises(AudioError, match=r"a\.flac") as caught:
        read_sound(tmp_path / "a.flac")
    assert "manifest" in caught.value.what_to_do


@pytest.mark.parametrize("folder", [".", "gone"])
def test_a_folder_without_noise_is_refused(folder: str, tmp_path: Path):
    with pytest.raises(SourceError, match="no noise"):
        read_noises(tmp_path / folder)
