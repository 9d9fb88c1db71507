"""The calibration file: what is read of it, and that a broken one is told and never used."""

from __future__ import annotations

import json
from collections.abc import Callable
from copy import deepcopy
from dataclasses import asdict, fields
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.errors import ModelError
from voicewalk.hearing.calibration import (
    CALIBRATION,
    Thresholds,
    features_of,
    load_calibration,
    model_features,
    model_rows,
    sealed,
)
from voicewalk.hearing.ears import TRAITS
from voicewalk.hearing.evidence import marks_of

LISTENERS = ("letters", "words")
MARKS = marks_of(LISTENERS)
FEATURES = features_of(LISTENERS)
MODEL = model_features(FEATURES)
PLAIN = {
    field.name: 0.01 * number
    for number, field in enumerate(fields(Thresholds), 1)
    if field.name != "least"
}
LIMITS = {**PLAIN, "least": {"letters": -2.5, "words": -1.5}}


def written() -> dict:
    """A calibration as its file holds it; every number another."""
    return {
        "evidence": {
            "listeners": list(LISTENERS),
            "marks": list(MARKS),
            "weights": [0.1 + n for n in range(len(MARKS))],
            "alone": {"letters": [0.2, 1.2, 2.2, 3.2]},
        },
        "model": {
            "features": list(MODEL),
            "mean": [0.3 + n for n in range(len(MODEL))],
            "scale": [0.4 + n for n in range(len(MODEL))],
            "weights": [0.5 + n for n in range(len(MODEL))],
            "bias": 0.6,
        },
        "thresholds": deepcopy(LIMITS),
    }


def kept(folder: Path, data: object) -> Path:
    path = folder / "calibration.json"
    path.write_text(sealed(data) if isinstance(data, dict) else json.dumps(data), encoding="utf-8")
    return path


def test_a_file_is_read_as_it_is_written(tmp_path):
    data = written()
    calibration = load_calibration(kept(tmp_path, data))
    evidence = calibration.evidence
    assert evidence.listeners == LISTENERS
    assert evidence.weights.tolist() == data["evidence"]["weights"]
    assert {n: one.weights.tolist() for n, one in evidence.alone.items()} == (
        data["evidence"]["alone"]
    )
    for name in ("mean", "scale", "weights"):
        assert getattr(calibration.model, name).tolist() == data["model"][name]
    assert calibration.model.bias == 0.6
    assert asdict(calibration.thresholds) == LIMITS


@given(st.lists(st.floats(-9, 9), min_size=len(FEATURES), max_size=len(FEATURES)), st.booleans())
def test_the_model_sees_the_features_once_more_where_no_rule_speaks_against(seen, settled):
    (row,) = model_rows(np.array([seen]), np.array([settled]))
    found = dict(zip(MODEL, row.tolist(), strict=True))
    assert [found[name] for name in FEATURES] == seen
    assert found["settled"] == settled
    again = [found[f"settled {name}"] for name in FEATURES]
    assert again == (seen if settled else [0.0] * len(seen))


def test_only_a_score_for_each_letter_may_lie_below_nought(tmp_path):
    data = written()
    assert load_calibration(kept(tmp_path, data)).thresholds.least["words"] == -1.5
    data["thresholds"]["near"] = -0.5
    with pytest.raises(ModelError, match="near"):
        load_calibration(kept(tmp_path, data))


def test_what_it_was_learnt_from_is_not_read(tmp_path):
    data = {**written(), "learnt from": {"clips": ["made up"], "seed": 1}}
    assert load_calibration(kept(tmp_path, data)).thresholds == Thresholds(**LIMITS)


FAULTS: dict[str, Callable[[dict], object]] = {
    "no-model": lambda d: d.pop("model"),
    "no-evidence": lambda d: d.pop("evidence"),
    "no-thresholds": lambda d: d.pop("thresholds"),
    "no-bias": lambda d: d["model"].pop("bias"),
    "no-marks": lambda d: d["evidence"].pop("marks"),
    "no-weights-alone": lambda d: d["evidence"].pop("alone"),
    "no-listeners": lambda d: d["evidence"].pop("listeners"),
    "another-listener": lambda d: d["evidence"]["listeners"].append("third"),
    "listeners-turned": lambda d: d["evidence"]["listeners"].reverse(),
    "weights-alone-of-a-stranger": lambda d: d["evidence"]["alone"].update(third=[0.1] * 4),
    "weights-alone-a-list": lambda d: d["evidence"].update(alone=[0.1] * 4),
    "no-least-scores": lambda d: d["thresholds"].pop("least"),
    "a-least-score-missing": lambda d: d["thresholds"]["least"].pop("words"),
    "a-least-score-of-a-stranger": lambda d: d["thresholds"]["least"].update(third=-1.0),
    "least-scores-a-number": lambda d: d["thresholds"].update(least=-1.0),
    "other-features": lambda d: d["model"]["features"].reverse(),
    "other-marks": lambda d: d["evidence"]["marks"].reverse(),
    "one-feature-less": lambda d: d["model"]["features"].pop(),
    "one-weight-less": lambda d: d["model"]["weights"].pop(),
    "one-mean-too-many": lambda d: d["model"]["mean"].append(0.0),
    "one-mark-less": lambda d: d["evidence"]["weights"].pop(),
    "a-scale-of-zero": lambda d: d["model"]["scale"].__setitem__(0, 0.0),
    "a-weight-not-a-number": lambda d: d["model"]["weights"].__setitem__(0, float("nan")),
    "a-mark-without-end": lambda d: d["evidence"]["alone"]["letters"].__setitem__(0, float("inf")),
    "a-bias-not-a-number": lambda d: d["model"].update(bias=float("nan")),
    "a-bias-of-text": lambda d: d["model"].update(bias="high"),
    "weights-of-text": lambda d: d["model"].update(weights=["heavy"] * len(MODEL)),
    "weights-null": lambda d: d["model"].update(weights=None),
    "evidence-null": lambda d: d.update(evidence=None),
    "evidence-a-list": lambda d: d.update(evidence=[1.0]),
    "a-threshold-missing": lambda d: d["thresholds"].pop("near"),
    "a-threshold-unknown": lambda d: d["thresholds"].update(nearer=1.0),
    "thresholds-a-list": lambda d: d.update(thresholds=[0.9] * 7),
}


def faulty(change: Callable[[dict], object], folder: Path) -> Path:
    data = written()
    change(data)
    return kept(folder, data)


@pytest.mark.parametrize("change", FAULTS.values(), ids=FAULTS)
def test_a_broken_file_is_told(change, tmp_path):
    path = faulty(change, tmp_path)
    with pytest.raises(ModelError) as told:
        load_calibration(path)
    assert str(path) in str(told.value)
    assert "voicewalk bench calibrate" in told.value.what_to_do


@pytest.mark.parametrize("threshold", PLAIN)
@pytest.mark.parametrize("value", ["high", None, float("nan"), -30.5, True], ids=str)
def test_a_threshold_that_is_no_number_is_told(threshold, value, tmp_path):
    """A comparison with it would let everything pass."""
    path = faulty(lambda data: data["thresholds"].update({threshold: value}), tmp_path)
    with pytest.raises(ModelError, match=threshold):
        load_calibration(path)


@pytest.mark.parametrize("value", ["high", None, float("nan"), -30.5, True], ids=str)
def test_a_least_score_that_is_no_number_is_told(value, tmp_path):
    path = faulty(lambda data: data["thresholds"]["least"].update(words=value), tmp_path)
    with pytest.raises(ModelError, match="words"):
        load_calibration(path)


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"null", b'"model"', b"\xff\xfe"], ids=repr)
def test_a_file_that_is_no_calibration_is_told(content, tmp_path):
    path = tmp_path / "calibration.json"
    path.write_bytes(content)
    with pytest.raises(ModelError):
        load_calibration(path)


@pytest.mark.parametrize(
    "change",
    {
        "a-threshold-lowered": lambda d: d["thresholds"].update(plain=0.001),
        "a-weight": lambda d: d["evidence"]["weights"].__setitem__(0, 9.0),
        "what-it-was-learnt-from": lambda d: d.update({"learnt from": {}}),
        "the-seal-missing": lambda d: d.pop("sha256"),
        "another-seal": lambda d: d.update(sha256="0" * 64),
    }.values(),
)
def test_a_file_altered_after_it_was_learnt_is_told(change, tmp_path):
    """Each of these would be taken otherwise: it is of the right form."""
    path = kept(tmp_path, written())
    data = json.loads(path.read_text(encoding="utf-8"))
    change(data)
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(ModelError, match="cannot be used"):
        load_calibration(path)


def test_its_layout_may_change(tmp_path):
    path = kept(tmp_path, written())
    data = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps(dict(reversed(data.items())), indent=7), encoding="utf-8")
    assert load_calibration(path).evidence.listeners == LISTENERS


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(ModelError, match="cannot be used"):
        load_calibration(tmp_path / "none.json")


def test_the_shipped_file_can_be_used_and_its_thresholds_are_in_order():
    calibration = load_calibration()
    limits = calibration.thresholds
    assert 0 < limits.unclear < limits.ask < limits.plain <= limits.critical < 1
    assert limits.plain <= limits.reading < 1
    assert limits.plain <= limits.bare < 1
    assert 0 < limits.near <= limits.pair <= limits.alike
    assert 0 < limits.noisy_dissent <= limits.dissent
    for settled in (False, True):
        assert 0 < calibration.probability([0.0] * len(FEATURES), settled=settled) < 1
    assert calibration.evidence.listeners == tuple(one.name for one in TRAITS)


def test_the_shipped_file_names_what_it_was_learnt_from():
    learnt = json.loads(CALIBRATION.read_text(encoding="utf-8"))["learnt from"]
    assert learnt["clips"]
    assert learnt["hearings"] > 100
    assert learnt["speakers"] >= 4  # as many as there are folds
    assert 0 <= learnt["expected calibration error, speakers held out"] < 0.05
    assert (
        sum(count for count, _, _ in learnt["reliability, speakers held out"])
        == (learnt["hearings"])
    )


def test_better_scores_are_better_evidence():
    """Of every listener, in quiet and in the loudest noise that is counted."""
    weigh = load_calibration().evidence
    for one in (weigh, *weigh.alone.values()):
        mark = dict(zip(marks_of(one.listeners), one.weights, strict=True))
        for name in one.listeners:
            for noise in (0.0, 1.2):
                assert mark[name] + noise * mark[f"{name} in noise"] > 0, (one.listeners, name)
