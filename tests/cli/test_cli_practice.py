"""Practice through the program itself."""

import json

import numpy as np
import pytest
import soundfile
from cli_program import run

from voicewalk.practice.report import KEPT

KOREAN = "tow-tractor-korean"


def test_the_phrases_are_listed_to_be_recorded(tmp_path):
    arguments = ("practice", "vehicle-daily", "--list", "--count", "5")
    code, lines = run(*arguments, cwd=tmp_path)
    assert code == 0
    assert len(lines.splitlines()) == 5
    assert run(*arguments, cwd=tmp_path) == (0, lines)
    assert run(*arguments, "--seed", "2", cwd=tmp_path)[1] != lines


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("jet-trainr",), "Did you mean 'jet-trainer'?"),
        (("jet-trainer", "--json", "there.json"), "there.json: there is such a file already"),
        (("jet-trainer", "--from", "no.wav"), "no.wav: there is no such file"),
        (("jet-trainer", "--from", "."), "no manifest.tsv"),
        ((KOREAN,), "English only"),
    ],
)
def test_refusals_of_practice(tmp_path, arguments, says):
    (tmp_path / "there.json").write_text("{}")
    code, output = run("practice", *arguments, cwd=tmp_path)
    assert code == 1
    assert says in output
    assert "What to do" in output
    assert [one.name for one in tmp_path.iterdir()] == ["there.json"]


@pytest.mark.models
def test_a_folder_of_recordings_and_its_report(tmp_path):
    """Silence: no voice is needed to see the whole way, and nothing but the report is left."""
    folder = tmp_path / "calls"
    folder.mkdir()
    soundfile.write(folder / "a.flac", np.zeros(16_000, np.float32), 16_000)
    (folder / "manifest.tsv").write_text(
        "path\ttext\tspeaker\tsource\tseconds\na.flac\tradome satisfactory\tann\tours\t1\n"
    )
    code, output = run(
        "practice", "jet-trainer", "--from", "calls", "--json", "a.json", cwd=tmp_path
    )
    assert code == 0, output
    assert "1/1  say: radome satisfactory\n      no speech\n" in output
    assert output.endswith(f"{KEPT}\n")
    report = json.loads((tmp_path / "a.json").read_text("utf-8"))
    assert [one["outcome"] for one in report["phrases"]] == ["missed"]
    assert {one.name for one in tmp_path.iterdir()} == {"calls", "a.json"}
    assert {one.name for one in folder.iterdir()} == {"a.flac", "manifest.tsv"}
