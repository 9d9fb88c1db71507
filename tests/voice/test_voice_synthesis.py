"""eSpeak NG behind its port: sound, cache, and what happens when the worker fails."""

import ast
import os
import select
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voicewalk.audio.resample import resample
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.errors import VoicewalkError
from voicewalk.settings import VoiceSettings
from voicewalk.voice import espeak_worker
from voicewalk.voice.synthesis import EspeakVoice

S = VoiceSettings()


@pytest.fixture
def voice():
    made = EspeakVoice()
    yield made
    made.close()


def worker_pid(voice):
    return voice._worker._process.pid


def has_ended(pid):
    """Whether the process is gone or ends within 10 s; waits no longer than it must."""
    try:
        handle = os.pidfd_open(pid)
    except ProcessLookupError:
        return True
    try:
        return bool(select.select([handle], [], [], 10)[0])
    finally:
        os.close(handle)


def test_text_becomes_speech(voice):
    """Oracle: the speech detector, which knows nothing of the voice."""
    speech = voice.synthesise("left main tyre pressure, two one zero p s i, recorded.")
    assert speech.samples.dtype == np.float32
    assert 0.1 < np.abs(speech.samples).max() <= 1
    assert 2 < len(speech.samples) / speech.rate < 6
    source = ScriptedSource([ScriptedCall(resample(speech.samples, speech.rate))])
    source.next_call()
    found = [one for one in segment(source) if isinstance(one, Segment)]
    assert found
    assert max(one.speech_probability for one in found) > 0.7


def test_a_longer_text_takes_longer(voice):
    short, long = voice.synthesise("say again."), voice.synthesise("say again. " * 5)
    assert len(long.samples) > 3 * len(short.samples)


def test_a_slower_voice_takes_longer():
    slow = EspeakVoice(settings=replace(S, words_per_minute=100))
    fast = EspeakVoice("en-us", settings=replace(S, words_per_minute=250))
    text = "nose wheel tyre, satisfactory, recorded."
    try:
        assert len(slow.synthesise(text).samples) > 1.5 * len(fast.synthesise(text).samples)
    finally:
        slow.close()
        fast.close()


def test_a_prompt_is_made_once(voice):
    assert voice.synthesise("say again.") is voice.synthesise("say again.")


def test_the_cache_forgets_what_was_longest_unused():
    voice = EspeakVoice(settings=replace(S, cached_prompts=2))
    try:
        first, second = voice.synthesise("affirm"), voice.synthesise("negative")
        assert voice.synthesise("affirm") is first
        voice.synthesise("stand by")
        assert voice.synthesise("affirm") is first
        assert voice.synthesise("negative") is not second
    finally:
        voice.close()


@pytest.mark.parametrize("text", ["", " \n"])
def test_nothing_to_say(voice, text):
    with pytest.raises(ValueError, match="nothing to say"):
        voice.synthesise(text)


def test_a_voice_that_is_not_known():
    with pytest.raises(VoicewalkError, match="knows no voice 'xx-none'") as failed:
        EspeakVoice("xx-none").synthesise("say again.")
    assert failed.value.what_to_do


# --- the worker ----------------------------------------------------------------------------


def test_it_is_started_with_the_first_prompt_only():
    voice = EspeakVoice()
    assert voice._worker is None
    voice.close()


def test_a_worker_that_died_is_replaced(voice):
    voice.synthesise("affirm")
    died = worker_pid(voice)
    os.kill(died, signal.SIGKILL)
    assert has_ended(died)
    assert len(voice.synthesise("negative").samples)
    assert worker_pid(voice) != died


@pytest.mark.parametrize(
    "program",
    [
        "pass",
        "import sys; sys.stdin.buffer.read(6); print('S')",
        "import os; os.read(0, 1); os.abort()",
    ],
    ids=["ends at once", "breaks an answer off", "crashes"],
)
def test_a_worker_that_dies_twice_is_an_error(voice, program):
    voice._command = [sys.executable, "-c", program]
    with pytest.raises(VoicewalkError, match="its process has ended") as failed:
        voice.synthesise("affirm")
    assert failed.value.what_to_do


def test_a_worker_that_hangs_is_an_error():
    voice = EspeakVoice(settings=replace(S, answer_seconds=0.2))
    voice._command = [sys.executable, "-c", "import signal; signal.pause()"]
    with pytest.raises(VoicewalkError, match="its process has ended"):
        voice.synthesise("affirm")


def test_after_an_error_it_is_tried_anew(voice):
    right, voice._command = voice._command, [sys.executable, "-c", "pass"]
    with pytest.raises(VoicewalkError):
        voice.synthesise("affirm")
    voice._command = right
    assert len(voice.synthesise("affirm").samples)


def test_without_the_library_the_worker_says_so(voice, tmp_path):
    (tmp_path / "espeakng_loader.py").write_text("raise ImportError('not installed')")
    code = (
        f"import sys; sys.path.insert(0, {str(tmp_path)!r});"
        "from voicewalk.voice.espeak_worker import main; main()"
    )
    voice._command = [sys.executable, "-c", code, "en", "170"]
    with pytest.raises(VoicewalkError, match=r"cannot be loaded \(not installed\)"):
        voice.synthesise("affirm")


def test_it_ends_with_the_voice(voice):
    voice.synthesise("affirm")
    pid = worker_pid(voice)
    voice.close()
    assert has_ended(pid)


def test_it_ends_when_the_program_is_killed():
    code = (
        "from voicewalk.voice.synthesis import EspeakVoice; import signal;"
        "voice = EspeakVoice(); voice.synthesise('affirm');"
        "print(voice._worker._process.pid, flush=True); signal.pause()"
    )
    program = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    worker = int(program.stdout.readline())
    program.kill()
    program.communicate()
    assert has_ended(worker)


def test_an_interrupt_from_the_keyboard_leaves_it_alone(voice):
    """Ctrl-C goes to all processes of a terminal; the session decides what ends."""
    voice.synthesise("affirm")
    pid = worker_pid(voice)
    os.kill(pid, signal.SIGINT)
    assert len(voice.synthesise("negative").samples)
    assert worker_pid(voice) == pid


# --- the GPL library stays outside ---------------------------------------------------------


def test_the_library_is_never_in_this_process(voice):
    voice.synthesise("affirm")
    assert "espeakng_loader" not in sys.modules
    assert "libespeak-ng" not in Path("/proc/self/maps").read_text()
    assert "libespeak-ng" in Path(f"/proc/{worker_pid(voice)}/maps").read_text()


def test_the_worker_imports_the_library_and_the_standard_library_only():
    tree = ast.parse(Path(espeak_worker.__file__).read_text())
    modules = {
        name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in ([node.module] if isinstance(node, ast.ImportFrom) else
                     [alias.name for alias in node.names])
    }  # fmt: skip
    assert modules - set(sys.stdlib_module_names) == {"espeakng_loader"}
