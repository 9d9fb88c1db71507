"""Where a Vosk model is looked for, how it is checked, and what is told where it is not fit."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from voicewalk.errors import ModelError
from voicewalk.hearing import vosk_model
from voicewalk.hearing.vosk_model import MODELS, VoskModel, digest, find_model


def folder(path: Path, *files: str) -> Path:
    """A folder with files that hold their own names."""
    path.mkdir(parents=True)
    for name in files:
        (path / name).parent.mkdir(parents=True, exist_ok=True)
        (path / name).write_text(name, encoding="utf-8")
    return path


@pytest.fixture
def places(tmp_path) -> dict[str, str]:
    """An environment in which no model is found but those that the test lays down."""
    return {MODELS: str(tmp_path / "named"), "XDG_DATA_HOME": str(tmp_path / "data")}


def test_the_named_folder_goes_before_the_users_own(places, tmp_path):
    own = folder(tmp_path / "data/voicewalk/models/vosk-xx")
    assert find_model("xx", places) == own
    named = folder(tmp_path / "named/vosk-xx")
    assert find_model("xx", places) == named
    assert find_model("xx", {"XDG_DATA_HOME": places["XDG_DATA_HOME"]}) == own


def test_the_users_own_folder_is_where_data_of_programs_lies(monkeypatch, tmp_path):
    """XDG Base Directory Specification: $HOME/.local/share where XDG_DATA_HOME is not set."""
    monkeypatch.setenv("HOME", str(tmp_path))
    own = folder(tmp_path / ".local/share/voicewalk/models/vosk-xx")
    assert find_model("xx", {}) == own


def test_an_installed_package_may_carry_it(monkeypatch, places, tmp_path):
    model = folder(tmp_path / "site/vosk_model_xx_yy/model")
    (model.parent / "__init__.py").touch()
    monkeypatch.syspath_prepend(str(tmp_path / "site"))
    assert find_model("xx-YY", places) == model


def test_without_one_every_place_looked_at_is_told(places, tmp_path):
    with pytest.raises(ModelError, match="no Vosk model for the language 'xx'") as caught:
        find_model("xx", places)
    told = str(caught.value)
    assert f"{tmp_path}/named/vosk-xx, {tmp_path}/data/voicewalk/models/vosk-xx" in told
    assert "models_readme/README.md" in caught.value.what_to_do


@pytest.mark.parametrize(
    ("files", "missing"),
    [
        ((), "am/final.mdl"),
        (("am/final.mdl", "graph/HCLG.fst"), "graph/HCLr.fst and graph/Gr.fst"),
        (("am/final.mdl", "graph/HCLr.fst"), "graph/Gr.fst"),
        (("final.mdl", "HCLG.fst"), "HCLr.fst and Gr.fst"),  # models of the older layout
    ],
)
def test_a_model_that_cannot_be_held_to_phrases_is_refused(tmp_path, files, missing):
    """With HCLG.fst Vosk leaves the phrases out and says so in its log only."""
    with pytest.raises(ModelError, match=f"{missing} missing") as caught:
        VoskModel(folder(tmp_path / "vosk-xx", *files))
    assert "held to a list of phrases" in caught.value.what_to_do


def test_what_is_no_model_is_told_in_words(tmp_path):
    broken = folder(tmp_path / "vosk-xx", "am/final.mdl", "graph/HCLr.fst", "graph/Gr.fst")
    with pytest.raises(ModelError, match="cannot be read"):
        VoskModel(broken)


def test_without_vosk_it_is_said_how_to_get_it(monkeypatch, tmp_path):
    monkeypatch.setattr(vosk_model, "find_spec", lambda name: None)
    with pytest.raises(ModelError, match="package vosk is missing") as caught:
        VoskModel(tmp_path)
    assert "voicewalk[vosk]" in caught.value.what_to_do


def test_a_library_that_does_not_load_is_told(monkeypatch, tmp_path):
    (tmp_path / "libvosk.so").write_text("no library")

    class Spec:
        submodule_search_locations = (str(tmp_path),)

    monkeypatch.setattr(vosk_model, "find_spec", lambda name: Spec)
    with pytest.raises(ModelError, match="cannot be used"):
        VoskModel(tmp_path)


def test_the_digest_is_what_the_documented_command_prints(tmp_path):
    """The command of models_readme, so that a model can be checked by hand."""
    text = (Path(__file__).parents[2] / "models_readme/README.md").read_text(encoding="utf-8")
    command = "find . -type f | LC_ALL=C sort | xargs -d '\\n' sha256sum | sha256sum"
    assert command in text
    if not shutil.which("sha256sum"):
        pytest.skip("sha256sum is not installed")
    model = folder(tmp_path / "vosk-xx", "b", "a/c d", "a-b", "A")
    done = subprocess.run(
        ["bash", "-c", command], cwd=model, check=True, capture_output=True, text=True
    )
    assert digest(model) == done.stdout.split()[0]


def test_the_digest_tells_one_model_from_another(tmp_path):
    one, other = folder(tmp_path / "one", "a", "b"), folder(tmp_path / "other", "a", "b")
    assert digest(one) == digest(other)
    (other / "b").write_text("changed")
    assert digest(one) != digest(other)
