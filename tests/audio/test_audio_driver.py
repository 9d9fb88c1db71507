"""Calls that may never come back, and who may list devices when."""

import subprocess
import sys
import threading

import pytest

from voicewalk.audio.driver import Gate, Task, call
from voicewalk.errors import AudioError


@pytest.fixture
def stuck():
    event = threading.Event()
    yield event
    event.set()


def test_what_comes_back_is_the_result():
    assert call(lambda: 7, 10, "it") == 7


def test_what_it_raises_is_raised():
    with pytest.raises(ZeroDivisionError):
        call(lambda: 1 / 0, 10, "it")


def test_what_comes_back_too_late_is_undone(stuck):
    undone = threading.Event()

    def undo(result):
        assert result is True
        undone.set()

    with pytest.raises(AudioError, match=r"the headset does not answer within 0\.01 s"):
        call(stuck.wait, 0.01, "the headset", undo)
    assert not undone.is_set()
    stuck.set()
    assert undone.wait(10)


def test_what_had_come_back_before_it_was_forsaken_is_undone():
    undone = threading.Event()
    task = Task(lambda: 7)
    assert task.ended(10)
    task.forsake(lambda result: undone.set())
    assert undone.wait(10)


def test_a_result_that_is_not_there_yet_is_a_wrong_order_of_calls(stuck):
    with pytest.raises(RuntimeError):
        Task(stuck.wait).result()


def test_no_end_of_the_program_waits_for_it(stuck):
    task = Task(lambda: (threading.current_thread().daemon, stuck.wait()))
    stuck.set()
    assert task.ended(10)
    assert task.result()[0]


def test_a_program_ends_although_a_driver_does_not_come_back():
    code = "import threading; from voicewalk.audio.driver import Task; Task(threading.Event().wait)"
    assert subprocess.run([sys.executable, "-c", code], timeout=60, check=False).returncode == 0


@pytest.mark.parametrize(("hangs", "code"), [("threading.Event().wait", 7), ("int", 3)])
def test_only_where_a_driver_hangs_the_program_leaves_at_once(hangs, code):
    text = (
        "import sys, threading; from voicewalk.audio.driver import Task, leave;"
        f"task = Task({hangs}); task.ended(0.1 if 'wait' in '{hangs}' else 60);"
        "print('said'); leave(7); sys.exit(3)"
    )
    run = subprocess.run([sys.executable, "-c", text], stdout=-1, timeout=60, check=False)
    assert (run.returncode, run.stdout.split()) == (code, [b"said"])


AT_THE_END = """
import atexit, sys, types
module = types.SimpleNamespace(_exit_handler=lambda: print("waits"))
atexit.register(module._exit_handler)
sys.modules["sounddevice"] = module
from voicewalk.audio import devices
print(devices.portaudio() is module)
"""


def test_no_end_of_the_program_waits_for_portaudio():
    """What the module does at the end hangs where a sound server does."""
    run = subprocess.run([sys.executable, "-c", AT_THE_END], stdout=-1, timeout=60, check=True)
    assert run.stdout.split() == [b"True"]


def test_devices_are_listed_when_nobody_uses_one():
    gate = Gate()
    gate.enter(0)
    with gate.alone() as free:
        assert not free
    gate.leave()
    with gate.alone() as free:
        assert free
        with gate.alone() as twice:
            assert not twice
        with pytest.raises(AudioError, match="does not answer"):
            gate.enter(0.01)
    gate.enter(0)
