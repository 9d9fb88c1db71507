"""Nothing leaves the machine: each command with a home of its own and no way out, watched.

In a network namespace whose only resolver writes down what it is asked for. Where the system lets
no program make namespaces (containers without the right, some kernels), these skip.
"""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
import typer
from cli_program import ROOT, SURROUNDINGS

from voicewalk.cli.main import app
from voicewalk.session.demo import FIXTURES

TRAP = Path(__file__).with_name("offline_trap.py")
KEY = ".local/share/voicewalk/recorder.pem"
"""The recorder's own key: docs/record.md tells of it."""
SOUND_SYSTEM = (".config/pulse", "pulse-")
"""PulseAudio's client, which PortAudio asks for devices, keeps its cookie and socket there."""
CALLS = ("032-nose-tyre-good", "033-nose-tyre-pressure-nine-two")


def _namespaces() -> list[str] | None:
    """How namespaces are made here, root's way or anybody's; ``None`` where they are not."""
    for way in (["--net", "--mount"], ["--map-root-user", "--net", "--mount"]):
        if shutil.which("unshare"):
            tried = subprocess.run(["unshare", *way, "true"], capture_output=True, check=False)
            if tried.returncode == 0:
                return ["unshare", *way]
    return None


UNSHARE = _namespaces()
watched = pytest.mark.skipif(UNSHARE is None, reason="this system lets nobody make namespaces")


@dataclass
class Seen:
    """What a program left behind and asked for."""

    code: int
    output: str
    asked: set[str] = field(default_factory=set)
    files: set[str] = field(default_factory=set)


@dataclass
class Box:
    """A place to run programs in: a home, a folder for temporary files, a working folder."""

    place: Path

    @property
    def desk(self) -> Path:
        return self.place / "desk"

    @property
    def _key(self) -> Path:
        return self.place / "home" / KEY

    def run(self, *command: str | Path, lines: str = "", end_after: str | None = None) -> Seen:
        """A program, with nothing in its home but the recorder's key; ``files`` are those that lie
        there or among the temporary ones afterwards."""
        assert UNSHARE is not None
        homes = [self.place / "home", self.place / "tmp"]
        trap = self.place / "trap"
        kept = self._key.read_bytes() if self._key.exists() else None
        for home in homes:
            shutil.rmtree(home, ignore_errors=True)
        for folder in (*homes, self.desk, trap):
            folder.mkdir(exist_ok=True)
        if kept is not None:
            self._key.parent.mkdir(parents=True)
            self._key.touch(mode=0o600)
            self._key.write_bytes(kept)
        surroundings = {
            name: value
            for name, value in SURROUNDINGS.items()
            if not name.startswith(("XDG_", "PULSE_", "VOICEWALK_", "ORT_"))
        }
        surroundings |= {"HOME": str(homes[0]), "TMPDIR": str(homes[1])}
        limit = [] if end_after is None else ["--end-after", end_after]
        done = subprocess.run(
            [*UNSHARE, sys.executable, str(TRAP), str(trap), *limit, *map(str, command)],
            cwd=self.desk,
            env=surroundings,
            input=lines,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=900,
            check=False,
        )
        found = {str(path.relative_to(home)) for home in homes for path in home.rglob("*")} - {
            str(parent) for parent in Path(KEY).parents
        }
        asked = set((trap / "asked").read_text().split())
        (trap / "asked").unlink()
        return Seen(done.returncode, done.stdout, asked, found)

    def command(self, *words: str | Path, lines: str = "", end_after: str | None = None) -> Seen:
        """One of ours."""
        return self.run(
            *(sys.executable, "-m", "voicewalk", *words), lines=lines, end_after=end_after
        )


@pytest.fixture(scope="module")
def box(tmp_path_factory):
    """With a closed record, a key, accounts, recordings and noise: what the commands need."""
    made = Box(tmp_path_factory.mktemp("offline"))
    desk = made.desk
    walked = made.command(
        *("walk", "vehicle-daily", "--identity", "9", "--inspector", "ann", "--typed"),
        *("--no-voice", "--record", "a.walk"),
        lines="walkaround complete\nnot applicable\n"
        + "not applicable\naffirm\n" * 63
        + "walkaround complete\n",
    )
    assert walked.code == 0, walked.output
    made.command("key", "new", "ann.pem", lines="three green gauges\n" * 2)
    made.command(
        "account", "add", "people", "--name", "ann", "--role", "lead", lines="pass word it is\n" * 2
    )
    hurt = bytearray((desk / "a.walk").read_bytes())
    hurt[len(hurt) // 2 : len(hurt) // 2 + 100] = bytes(100)
    (desk / "hurt.walk").write_bytes(hurt)
    clips, noise = desk / "clips", desk / "noise"
    clips.mkdir()
    noise.mkdir()
    rows = ["path\ttext\tspeaker\tsource"]
    for name in CALLS:
        shutil.copy(FIXTURES / f"{name}.flac", clips)
        rows.append(f"{name}.flac\tnose tyre good\tann\tours")
    (clips / "manifest.tsv").write_text("\n".join(rows) + "\n")
    hiss = np.random.default_rng(1).normal(0, 0.01, 16_000)
    soundfile.write(noise / "hiss.flac", hiss.astype(np.float32), 16_000)
    calls = [soundfile.read(FIXTURES / f"{name}.flac", dtype="float32") for name in CALLS]
    quiet = np.zeros(calls[0][1], np.float32)
    talk = np.concatenate([part for samples, _ in calls for part in (quiet, samples, quiet)])
    soundfile.write(desk / "talk.flac", talk, calls[0][1])
    return made


@watched
def test_the_trap_hears_a_look_up_and_sees_a_file(box):
    """What is then not found is not there."""
    code = (
        "import socket, pathlib\n"
        "(pathlib.Path.home() / 'left').touch()\n"
        "try: socket.getaddrinfo('upload.invalid', 443)\n"
        "except OSError: pass\n"
    )
    seen = box.run(sys.executable, "-c", code)
    assert seen.asked == {"upload.invalid"}
    assert "left" in seen.files


# command -> its arguments, the lines typed, the exit code
QUICK = {
    "walk": ("vehicle-daily --identity 9 --typed --no-voice --record b.walk", "next\n", 0),
    "show": ("a.walk", "", 0),
    "export": ("a.walk --to pdf --out a.pdf", "", 0),
    "verify": ("a.walk", "", 0),
    "sign": ("a.walk --role inspector --name ann --key ann.pem", "three green gauges\n", 0),
    "redact": ("a.walk --older-than 0", "", 0),
    "recover": ("hurt.walk --to c.walk", "", 0),
    "cards": ("", "", 0),
    "devices": ("", "", None),  # 1 where there is no sound system
    "key new": ("b.pem", "three green gauges\n" * 2, 0),
    "key show": ("", "", 0),
    "account add": ("people --name bob --role lead", "pass word it is\n" * 2, 0),
    "account remove": ("people --name ann", "", 0),
    "card phrases": ("jet-trainer --count 3", "", 0),
    "card print": ("vehicle-daily card.pdf", "", 0),
}
# These listen. What is learnt of two recordings is nothing, and refused.
LISTENING = {
    "practice": ("jet-trainer --from clips", "", 0),
    "relisten": ("sound.walk --jobs 2", "", 0),
    "bench hearing": (
        "--clips clips --noise noise --snr clean --jobs 2 --listeners ears,peers",
        "",
        0,
    ),
    "bench calibrate": (
        "--card jet-trainer --clips clips --noise noise --jobs 2 --out c.json",
        "",
        1,
    ),
}
ELSEWHERE = {"demo", "review", "timestamp"}
"""Each has a test of its own below."""


def every_command(group: Any) -> set[str]:
    """The full names of a group's commands, those of its groups among them."""
    found = set()
    for name, command in group.commands.items():
        below = every_command(command) if hasattr(command, "commands") else {""}
        found |= {f"{name} {one}".strip() for one in below}
    return found


def test_no_command_is_left_out():
    group = typer.main.get_command(app)
    assert every_command(group) == QUICK.keys() | LISTENING.keys() | ELSEWHERE


def nothing_leaves(box, name, arguments, lines, code):
    seen = box.command(*name.split(), *arguments.split(), lines=lines)
    own = {one for one in seen.files if not one.startswith(SOUND_SYSTEM)} - {".config"}
    assert (seen.asked, own - {KEY}) == (set(), set()), seen.output
    assert code is None or seen.code == code, seen.output


@watched
@pytest.mark.parametrize("name", QUICK)
def test_nothing_leaves(box, name):
    nothing_leaves(box, name, *QUICK[name])


@pytest.fixture(scope="module")
def sound_walk(box):
    """A walk from a sound file, ``sound.walk``."""
    arguments = "jet-trainer --identity M07 --record sound.walk --audio talk.flac --no-voice"
    return box.command("walk", *arguments.split())


@watched
@pytest.mark.models
def test_nothing_leaves_a_walk_that_listens(sound_walk):
    assert (sound_walk.asked, sound_walk.files - {KEY}) == (set(), set())
    assert sound_walk.code == 0, sound_walk.output


@watched
@pytest.mark.models
@pytest.mark.slow
@pytest.mark.usefixtures("sound_walk")
@pytest.mark.parametrize("name", LISTENING)
def test_nothing_leaves_what_listens(box, name):
    nothing_leaves(box, name, *LISTENING[name])


@watched
@pytest.mark.models
@pytest.mark.slow
def test_nothing_leaves_the_demo(box):
    nothing_leaves(box, "demo", "--out demo", "", 0)


@watched
def test_nothing_leaves_the_leads_pages(box):
    seen = box.command("review", ".", "--port", "0", end_after="next link")
    assert (seen.asked, seen.files - {KEY}) == (set(), set()), seen.output
    assert "http://127.0.0.1:" in seen.output


@watched
def test_a_time_stamp_asks_for_the_named_server_alone(box):
    seen = box.command("timestamp", "a.walk", "--server", "http://stamps.invalid/")
    assert seen.code == 1
    assert (seen.asked, seen.files - {KEY}) == ({"stamps.invalid"}, set()), seen.output


@watched
@pytest.mark.models
@pytest.mark.slow
def test_a_process_that_holds_a_model_for_long_asks_for_nothing(box):
    """An uploader may wait before it begins: measured of the one in onnxruntime 1.32, 9 s."""
    code = (
        "import time\n"
        "from voicewalk.hearing.letter_model import LetterModel\n"
        "model = LetterModel()\n"
        "time.sleep(20)\n"
    )
    seen = box.run(sys.executable, "-c", code)
    assert seen.code == 0, seen.output
    assert (seen.asked, seen.files - {KEY}) == (set(), set())


def test_whatever_imports_the_runtime_is_ours():
    """Its telemetry is switched off by our packages, before any of their modules runs."""
    sources = (
        path
        for top in ("script", "docs", "voicewalk", "training")
        for path in (ROOT / top).rglob("*.py")
    )
    importing = {
        path.relative_to(ROOT).parts[0]
        for path in sources
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if (isinstance(node, ast.Import) and any("onnxruntime" in one.name for one in node.names))
        or (isinstance(node, ast.ImportFrom) and "onnxruntime" in (node.module or ""))
    }
    assert importing == {"voicewalk", "training"}


@pytest.mark.parametrize("package", ["voicewalk", "training"])
def test_our_packages_switch_the_telemetry_off(package):
    code = f"import {package}, os; print(os.environ['ORT_DISABLE_TELEMETRY'])"
    surroundings = {**SURROUNDINGS, "ORT_DISABLE_TELEMETRY": "0"}
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=surroundings,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "1\n"
