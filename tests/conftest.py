"""Fixtures that rooms share: recordings of human speech, and calls made by other programs."""

from __future__ import annotations

import atexit
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import soundfile
import soxr
from hypothesis import settings

import voicewalk  # noqa: F401 - reason: before any onnxruntime, whose telemetry it switches off

SPEECH_DATA = "VOICEWALK_SPEECH_DATA"
RATE = 16_000

# No test is timed: on a busy machine an example may take any time.
settings.register_profile("voicewalk", deadline=None)
settings.load_profile("voicewalk")

# No test signs with the key of whoever runs it. Set before any test looks at its surroundings.
os.environ["VOICEWALK_KEYS"] = tempfile.mkdtemp(prefix="voicewalk-keys-")
atexit.register(shutil.rmtree, os.environ["VOICEWALK_KEYS"], ignore_errors=True)

Samples = npt.NDArray[np.float32]
Synth = Callable[..., Samples]


@pytest.fixture(scope="session")
def speech_data() -> Path:
    """The folder of recordings; skips, saying so, where none is named."""
    named = os.environ.get(SPEECH_DATA)
    if not named:
        pytest.skip(f"{SPEECH_DATA} does not name a folder of recordings")
    folder = Path(named)
    assert (folder / "manifest.tsv").is_file(), f"{SPEECH_DATA}={named} holds no manifest.tsv"
    return folder


@pytest.fixture(scope="session")
def recording(speech_data: Path) -> Callable[[str], Samples]:
    """Reads one of the recordings by its path in the folder: float32 at 16 kHz."""

    def read(path: str) -> Samples:
        samples, rate = soundfile.read(speech_data / path, dtype="float32")
        assert rate == RATE
        return samples

    return read


@pytest.fixture(scope="session")
def synth(tmp_path_factory: pytest.TempPathFactory) -> Synth:
    """Makes a call by Debian's flite or espeak-ng: ``synth(text, voice, speed=165)``.

    ``voice`` is "flite:awb" (kal16, awb, rms) or "espeak:en-gb+m3"; ``speed`` is in words a
    minute, for espeak-ng only. Gives float32 samples at 16 kHz. Skips where the programs are
    missing, but fails there when CI=true.
    """
    missing = [program for program in ("flite", "espeak-ng") if not shutil.which(program)]
    if missing:
        reason = f"calls are made by {' and '.join(missing)}: apt-get install flite espeak-ng"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    folder = tmp_path_factory.mktemp("calls")
    made: dict[tuple[str, str, int], Samples] = {}

    def make(text: str, voice: str, speed: int = 165) -> Samples:
        if (key := (text, voice, speed)) not in made:
            file = folder / f"{len(made)}.wav"
            subprocess.run(_command(text, voice, speed, file), check=True, capture_output=True)
            samples, rate = soundfile.read(file, dtype="float32")
            made[key] = soxr.resample(samples, rate, RATE).astype(np.float32)
        return made[key]

    return make


def _command(text: str, voice: str, speed: int, file: Path) -> list[str]:
    program, _, name = voice.partition(":")
    match program:
        case "flite":
            return ["flite", "-voice", name, "-t", text, "-o", str(file)]
        case "espeak":
            return ["espeak-ng", "-v", name, "-s", str(speed), "-w", str(file), text]
    raise ValueError(f"no such voice: {voice}")
