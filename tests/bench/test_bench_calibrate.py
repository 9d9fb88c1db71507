"""Learning the judge from observations: what may be kept, and what may not."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.calibration import calibration_curve

from voicewalk.bench.calibrate import above_wrong, calibration_of, expected_error
from voicewalk.bench.clips import Recording
from voicewalk.bench.observe import Observation
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.judge import Sound, load_judge
from voicewalk.hearing.pool import Pooled
from voicewalk.language.meaning import Act, Expectation, Meaning

GOOD = Meaning(Act.SATISFACTORY, item="nose-tyre")
CUT = Meaning(Act.DISCREPANCY, item="nose-tyre", defect="cut")


def observation(speaker: int, truth: Meaning | None, first: float, second: float) -> Observation:
    pooled = (
        Pooled(GOOD, "nose tyre good", {"phonemes": first, "words": first}),
        Pooled(CUT, "nose tyre cut", {"phonemes": second, "words": second}),
    )
    recording = Recording(Path("x.flac"), "", f"speaker {speaker}", "ours")
    return Observation(recording, "clean", truth, pooled, Sound(1.2, 20.0), True)


def observations() -> list[Observation]:
    """Calls that fit well, and other speech that fits badly, from twelve speakers."""
    made = []
    for number in range(240):
        spread = (number * 37 % 100) / 100
        made.append(observation(number % 12, GOOD, -2 - spread, -14 - 6 * spread))
        made.append(observation(number % 12, None, -30 - 9 * spread, -31 - 10 * spread))
    return made


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1), st.floats(0.5, 0.99))
def test_no_wrong_hearing_of_the_data_reaches_the_threshold(
    hearings: list[tuple[float, bool]], least: float
):
    probability = np.array([p for p, _ in hearings])
    right = np.array([r for _, r in hearings])
    threshold = above_wrong(probability, right, least)
    assert threshold >= round(least, 4)
    assert all(p <= threshold for p in probability[~right])


def test_the_calibration_error_agrees_with_scikit_learn():
    random = np.random.default_rng(3)
    probability = random.random(1000)
    right = random.random(1000) < probability**2
    of_right, of_probability = calibration_curve(right, probability, n_bins=10, strategy="quantile")
    theirs = float(np.abs(of_right - of_probability).mean())  # the bins hold as many each
    assert expected_error(probability, right) == pytest.approx(theirs, abs=0.005)


def test_a_learnt_judge_takes_calls_and_refuses_other_speech(tmp_path: Path):
    text, report = calibration_of(observations(), ["made up"], 1)
    path = tmp_path / "calibration.json"
    path.write_text(text, encoding="utf-8")
    judge = load_judge(frozenset(), path)
    call, other = observation(99, GOOD, -2.5, -17.0), observation(99, None, -35.0, -36.0)
    verdicts = [judge(list(o.pooled), o.sound, Expectation()).verdict for o in (call, other)]
    assert verdicts == [Verdict.UNDERSTOOD, Verdict.OUTSIDE]
    assert "wrong among the understood: 0" in report


def test_the_file_names_its_data():
    text, _ = calibration_of(observations(), ["made up"], 7)
    learnt = json.loads(text)["learnt from"]
    assert (learnt["clips"], learnt["seed"], learnt["speakers"]) == (["made up"], 7, 12)


def test_data_without_wrong_hearings_teach_nothing():
    calls = [o for o in observations() if o.truth is not None]
    with pytest.raises(ValueError, match="not for the tool"):
        calibration_of(calls, ["made up"], 1)
