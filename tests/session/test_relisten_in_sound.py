"""Hearing again with the real models: an entry that was made from another hearing is found, in a
folder, in processes of their own, through the program itself.

Calls are made by Debian's flite and eSpeak NG.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from relisten_booth import Maker, Said

from voicewalk.card.load import card_path, load_card
from voicewalk.record.clip import encode_clip
from voicewalk.record.relistened import path_beside

pytestmark = [pytest.mark.models, pytest.mark.synth, pytest.mark.slow]

ROOT = Path(__file__).parents[2]
QUIET = np.zeros(4_800, np.float32)


@pytest.fixture
def folder(tmp_path, synth):
    """Two walks; in the first, the record has taken a defect for "satisfactory"."""
    maker = Maker(load_card(card_path("jet-trainer")))

    def clip(text, voice):
        spoken = synth(text, voice)
        loud = 0.3 * spoken / np.abs(spoken).max()
        return encode_clip(np.concatenate([QUIET, loud, QUIET]).astype(np.float32), 0)

    said = ("left main tyre satisfactory", "left fuel cap secure")
    clips = [clip("left main tyre cut", "flite:rms"), clip(said[1], "flite:rms")]
    maker.record(tmp_path / "a.walk", map(Said, said), clips)
    clips = [clip(text, "espeak:en-us") for text in said]
    maker.record(tmp_path / "b.walk", map(Said, said), clips)
    return tmp_path


def test_a_folder_is_heard_again_and_the_worst_told_first(folder):
    before = {path: path.read_bytes() for path in folder.glob("*.walk")}
    command = [sys.executable, "-m", "voicewalk.cli.main", "relisten", str(folder), "--jobs", "2"]
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
    for _ in range(2):  # the second time nothing is heard, and the same is told
        done = subprocess.run(
            command, env=surroundings, capture_output=True, text=True, timeout=600, check=False
        )
        assert done.returncode == 0, done.stderr
        first, *_, last = done.stdout.splitlines()
        assert first.startswith(f"{folder / 'a.walk'}: ANOTHER CALL: #2 left main tyre: was")
        assert '"left main tyre satisfactory" (0.990), now "left main tyre cut"' in first
        assert last.startswith("2 records, 4 calls in sound: 1 another call")
    assert {path: path.read_bytes() for path in before} == before
    lines = path_beside(folder / "a.walk").read_text("utf-8").splitlines()
    assert [json.loads(line)["finding"] for line in lines[1:2]] == ["another call"]
