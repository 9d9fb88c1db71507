"""``voicewalk bench`` with faulty input: what is wrong, where, and what to do about it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from cli_program import run

from voicewalk.hearing.calibration import CALIBRATION

HEADER = "path\ttext\tspeaker\tsource\n"


@pytest.fixture
def clips(tmp_path: Path) -> Path:
    """A folder with one recording, of silence."""
    folder = tmp_path / "clips"
    folder.mkdir()
    soundfile.write(folder / "a.flac", np.zeros(1600, dtype=np.float32), 16_000)
    (folder / "manifest.tsv").write_text(f"{HEADER}a.flac\tstop\tann\tours\n", encoding="utf-8")
    return folder


@pytest.fixture
def noise(tmp_path: Path) -> Path:
    """A folder with one noise."""
    folder = tmp_path / "noise"
    folder.mkdir()
    hiss = np.random.default_rng(1).normal(0, 0.01, 16_000)
    soundfile.write(folder / "hiss.flac", hiss.astype(np.float32), 16_000)
    return folder


def hearing(clips: Path, noise: Path, *arguments: str | Path) -> tuple[int, str]:
    given = ("--clips", clips, "--noise", noise, *arguments)
    return run("bench", "hearing", *given, cwd=clips.parent)


def words(given: object) -> str:
    """The name of a case: what was given, not what is told."""
    return " ".join(given) if isinstance(given, tuple) else getattr(given, "__name__", "")


def no_manifest(clips: Path) -> None:
    (clips / "manifest.tsv").unlink()


def no_folder(clips: Path) -> None:
    no_manifest(clips)
    (clips / "a.flac").unlink()
    clips.rmdir()


def no_sound(clips: Path) -> None:
    (clips / "a.flac").unlink()


def no_column(clips: Path) -> None:
    (clips / "manifest.tsv").write_text("path\ttext\tspeaker\na.flac\tstop\tann\n")


def no_lines(clips: Path) -> None:
    (clips / "manifest.tsv").write_text(HEADER)


@pytest.mark.parametrize(
    ("fault", "where", "what", "remedy"),
    [
        (no_manifest, "clips", "no manifest.tsv", "Name a folder of recordings."),
        (no_folder, "clips", "no manifest.tsv", "Name a folder of recordings."),
        (no_sound, "clips/manifest.tsv:2", "a.flac is not there", "Remove the line"),
        (no_column, "clips/manifest.tsv:2", "no column source", "Give every line path, text"),
        (no_lines, "clips/manifest.tsv:1", "names no recording", "Write a line for each."),
    ],
    ids=words,
)
def test_a_faulty_folder_of_recordings_is_told(fault, where, what, remedy, clips, noise):
    fault(clips)
    code, output = hearing(clips, noise)
    assert code == 1
    first, second = output.splitlines()
    assert first.startswith(f"voicewalk: {clips.parent / where}: ")
    assert what in first
    assert second.startswith("  What to do: ")
    assert remedy in second


@pytest.mark.parametrize(
    ("arguments", "what", "remedy"),
    [
        (("--listeners", "dogs"), "no listeners named dogs", "Choose from ears, peers."),
        (("--listeners", "ears,cats,dogs"), "no listeners named cats, dogs", "ears, peers"),
        (("--listeners", ""), "no listeners named", "ears, peers"),
        (("--snr", "loud"), "'loud' is no level of noise", "Write 'clean' or decibels"),
        (("--snr", "clean,nan"), "'nan' is no level of noise", "Write 'clean' or decibels"),
        (("--card", "jet-trainr"), "jet-trainr", "Did you mean 'jet-trainer'?"),
        (("--card", "jet-trainr", "--jobs", "2"), "jet-trainr", "Did you mean 'jet-trainer'?"),
        (("--json", "gone/out.json"), "gone/out.json: cannot be written", "Name a file"),
    ],
    ids=words,
)
def test_what_cannot_be_done_is_told_with_what_to_do(arguments, what, remedy, clips, noise):
    code, output = hearing(clips, noise, *arguments)
    assert code == 1
    assert output.startswith("voicewalk: ")
    assert what in output
    assert remedy in output
    assert "Traceback" not in output


@pytest.mark.parametrize("jobs", ["1", "2"])
@pytest.mark.parametrize("fault", ["gone", "empty", "no sound"])
def test_a_faulty_folder_of_noise_is_told(fault, jobs, clips, noise):
    sound = noise / "hiss.flac"
    if fault == "no sound":
        sound.write_bytes(b"hiss")
    else:
        sound.unlink()
    if fault == "gone":
        noise.rmdir()
    code, output = hearing(clips, noise, "--jobs", jobs)
    assert code == 1
    first, second = output.splitlines()
    where = f"{sound}: this is no sound" if fault == "no sound" else f"{noise}: no noise (*.flac)"
    assert first.startswith(f"voicewalk: {where}")
    assert second.startswith("  What to do: ")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--noise", "noise"), "--clips"),
        (("--clips", "clips"), "--noise"),
        (("--clips", "clips", "--noise", "noise", "--jobs", "0"), "--jobs"),
        (("--clips", "clips", "--noise", "noise", "--seed", "one"), "--seed"),
        (("--clips", "clips", "--noise", "noise", "--loud"), "--loud"),
    ],
    ids=words,
)
def test_a_wrong_use_of_the_command_ends_with_2(arguments, says, clips, noise):
    code, output = run("bench", "hearing", *arguments, cwd=clips.parent)
    assert code == 2
    assert says in output


CALIBRATE = ("bench", "calibrate", "--noise", "noise")


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("--clips", "gone", "--card", "jet-trainer"), 1, "gone: no manifest.tsv"),
        (("--clips", "clips", "--card", "jet-trainr"), 1, "Did you mean 'jet-trainer'?"),
        (("--clips", "clips", "--card", "jet-trainer", "--snr", "loud"), 1, "no level of noise"),
        (
            ("--clips", "clips", "--card", "jet-trainer", "--out", "gone/new.json"),
            1,
            "gone/new.json: cannot be written",
        ),
        (("--clips", "clips"), 2, "--card"),
        (("--card", "jet-trainer"), 2, "--clips"),
    ],
    ids=words,
)
def test_refusals_of_calibrating(arguments, code, says, clips, noise):
    done, output = run(*CALIBRATE, *arguments, cwd=clips.parent)
    assert (done, "Traceback" in output) == (code, False)
    assert says in output


@pytest.mark.models
def test_too_little_to_learn_from_is_told_and_the_calibration_is_kept(clips, noise):
    before = CALIBRATION.read_bytes()
    code, output = run(*CALIBRATE, "--clips", "clips", "--card", "jet-trainer", cwd=clips.parent)
    assert code == 1
    assert output.startswith("voicewalk: the judge cannot be learnt: ")
    assert "Traceback" not in output
    assert CALIBRATION.read_bytes() == before
