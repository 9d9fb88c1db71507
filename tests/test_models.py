"""Model files are the measured ones, or an error says what to do; their packages never run."""

from __future__ import annotations

import hashlib
import sys
from importlib.machinery import ModuleSpec
from pathlib import Path

import pytest

from voicewalk import models
from voicewalk.errors import ModelError
from voicewalk.models import checked_file, own_file

CONTENT = b"weights"
DIGEST = hashlib.sha256(CONTENT).hexdigest()


@pytest.fixture
def carrier(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a package that carries a model and must not be imported."""
    (tmp_path / "assets").mkdir()
    (tmp_path / "assets" / "model.ort").write_bytes(CONTENT)
    (tmp_path / "__init__.py").write_text("raise AssertionError('imported')")
    spec = ModuleSpec("carrier", None, is_package=True)
    spec.submodule_search_locations = [str(tmp_path)]
    monkeypatch.setattr(models, "find_spec", {"carrier": spec}.get)
    return tmp_path


def test_the_measured_file_is_found_without_importing_its_package(carrier):
    assert checked_file("carrier", "assets/model.ort", DIGEST) == carrier / "assets/model.ort"
    assert "carrier" not in sys.modules


def altered(folder: Path) -> None:
    (folder / "assets" / "model.ort").write_bytes(CONTENT + b"\0")


def emptied(folder: Path) -> None:
    (folder / "assets" / "model.ort").write_bytes(b"")


def missing(folder: Path) -> None:
    (folder / "assets" / "model.ort").unlink()


def a_folder(folder: Path) -> None:
    missing(folder)
    (folder / "assets" / "model.ort").mkdir()


@pytest.mark.parametrize(
    ("fault", "message"),
    [
        (altered, "not the one that was measured"),
        (emptied, "not the one that was measured"),
        (missing, "cannot be read"),
        (a_folder, "cannot be read"),
    ],
    ids=lambda fault: getattr(fault, "__name__", ""),
)
def test_a_faulty_file_is_told(fault, message, carrier):
    fault(carrier)
    with pytest.raises(ModelError, match=message) as told:
        checked_file("carrier", "assets/model.ort", DIGEST)
    assert str(carrier / "assets" / "model.ort") in str(told.value)
    assert "install carrier" in told.value.what_to_do


def test_a_missing_package_is_told(carrier):
    with pytest.raises(ModelError, match="package absent, which carries") as told:
        checked_file("absent", "assets/model.ort", DIGEST)
    assert "install absent" in told.value.what_to_do


def test_a_module_that_is_no_package_carries_nothing():
    with pytest.raises(ModelError, match="is missing"):
        checked_file("this", "model.ort", DIGEST)


@pytest.fixture
def ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that stands in for the program's own package."""
    (tmp_path / "hearing").mkdir()
    (tmp_path / "hearing" / "model.onnx").write_bytes(CONTENT)
    monkeypatch.setattr(models, "_OURS", tmp_path)
    return tmp_path


def test_a_file_of_our_own_is_found(ours):
    assert own_file("hearing/model.onnx", DIGEST) == ours / "hearing" / "model.onnx"


@pytest.mark.parametrize(
    ("content", "message"),
    [(CONTENT + b"\0", "not the one that was measured"), (None, "cannot be read")],
    ids=["altered", "missing"],
)
def test_a_faulty_file_of_our_own_is_to_be_restored(content, message, ours):
    path = ours / "hearing" / "model.onnx"
    if content is None:
        path.unlink()
    else:
        path.write_bytes(content)
    with pytest.raises(ModelError, match=message) as told:
        own_file("hearing/model.onnx", DIGEST)
    assert "voicewalk/hearing/model.onnx from the repository" in told.value.what_to_do
