"""kill -9 at 50 random moments of the demo's walk: nothing that was told as recorded is lost.

Most walks are typed, in a forked process, so that they are many; some go through the program
itself, and some are the demo with its sound. The process is killed when it has shown a random
number of lines, wherever it is then: a small pipe keeps it from running far ahead.
"""

from __future__ import annotations

import fcntl
import os
import random
import re
import signal
from pathlib import Path

import pytest
from cli_program import run, started
from rich.console import Console

from voicewalk.card.load import card_path, load_card
from voicewalk.clock import now
from voicewalk.language.build import phrase_graph
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.file import RecordReader
from voicewalk.record.verify import verify
from voicewalk.session.demo import read_script
from voicewalk.session.equipment import Calls, Equipment
from voicewalk.session.events import Said
from voicewalk.session.keyboard import type_calls
from voicewalk.session.opening import begin
from voicewalk.session.speaking import Speaker
from voicewalk.session.terminal import Terminal
from voicewalk.session.walking import resume_walk
from voicewalk.session.walking import run as run_session
from voicewalk.voice.wording import Wording

pytestmark = pytest.mark.slow

SCRIPT = [call.words for call in read_script() if call.expected != "refused"]
SHOWN = 400
"""Lines that the typed walk has shown shortly before it closes."""
PIPE_BYTES = 4096

MOMENTS = random.Random(9)
FORKED = sorted(MOMENTS.sample(range(1, SHOWN), 38))
TYPED = sorted(MOMENTS.sample(range(1, SHOWN), 8))
HEARD = sorted(MOMENTS.sample(range(1, 90), 4))


class Lines:
    """Typed lines from a list."""

    def __init__(self, *lines: str) -> None:
        self.lines = list(lines)

    def read(self, seconds: float | None) -> str:
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)


@pytest.fixture(scope="module")
def card():
    return load_card(card_path("jet-trainer"))


@pytest.fixture(scope="module")
def graph(card):
    return phrase_graph(card, vocabulary_of(card))


def walk_and_show(descriptor: int, record: Path, card, graph) -> None:
    """The typed walk, shown line by line into a pipe."""
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        terminal = Terminal(Console(file=file, width=200, highlight=False))
        lines = Lines(*SCRIPT)
        equipment = Equipment(
            lambda loop: type_calls(loop, graph, lines),
            Speaker(),
            Wording("en"),
            lambda: now().monotonic_ms / 1000,
        )
        run_session(begin(card, "M07", "", record, now()), equipment, [terminal], now)


def killed_after(count: int, record: Path, card, graph) -> str:
    """What a forked walk has shown when it was killed after ``count`` lines."""
    reading, writing = os.pipe()
    fcntl.fcntl(writing, fcntl.F_SETPIPE_SZ, PIPE_BYTES)
    process = os.fork()
    if process == 0:
        os.close(reading)
        try:
            walk_and_show(writing, record, card, graph)
        finally:
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as output:
        return _read_and_kill(output, count, process)


def _read_and_kill(output, count: int, process: int) -> str:
    shown = "".join(output.readline() for _ in range(count))
    os.kill(process, signal.SIGKILL)
    _, status = os.waitpid(process, 0)
    assert os.WTERMSIG(status) == signal.SIGKILL, "it had ended before it was killed"
    return shown + output.read()


def assert_kept(shown: str, record: Path) -> int:
    """Everything told as recorded is there, in a record that is whole; how many entries."""
    report = verify(record)
    assert report.ok, report.findings
    told = {int(number) for number in re.findall(r"^\S+ +record +#(\d+) ", shown, re.M)}
    with RecordReader.open(record) as file:
        kept = [entry.seq for entry in file.entries()]
    assert told <= set(kept)
    assert len(kept) - len(told) <= 1  # what was kept and not told any more
    return len(kept)


def assert_resumes(record: Path, *lines: str) -> None:
    """The walk goes on behind what was kept, once the aircraft's number was said."""
    with RecordReader.open(record) as file:
        before = file.entries()
    seen: list = []
    moment = now()  # it stands still: on a busy machine questions would lapse before their answers
    outcome = resume_walk(record, None, Calls(Lines("m07", *lines)), [seen.append], lambda: moment)
    assert outcome.unkept == 0
    assert "identified" in [event.prompt for event in seen if isinstance(event, Said)]
    with RecordReader.open(record) as file:
        after = file.entries()
    assert after[: len(before)] == before
    assert "interrupted" in [entry.body["kind"] for entry in after[len(before) :]]
    assert verify(record).ok


@pytest.mark.parametrize("count", FORKED)
def test_a_typed_walk_survives(count, card, graph, tmp_path):
    record = tmp_path / "a.walk"
    shown = killed_after(count, record, card, graph)
    kept = assert_kept(shown, record)
    assert kept >= 1
    assert_resumes(record, "where are we")


@pytest.mark.parametrize("count", TYPED)
def test_a_typed_walk_through_the_program_survives_and_is_closed(count, tmp_path):
    record = tmp_path / "a.walk"
    arguments = ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--record", record)
    process = started(*arguments, cwd=tmp_path)
    fcntl.fcntl(process.stdout, fcntl.F_SETPIPE_SZ, PIPE_BYTES)
    process.stdin.write("".join(f"{line}\n" for line in SCRIPT))
    process.stdin.flush()
    shown = "".join(process.stdout.readline() for _ in range(count))
    process.kill()
    shown += process.communicate()[0]
    assert process.returncode == -signal.SIGKILL
    assert_kept(shown, record)
    assert_resumes(record, *SCRIPT)
    code, output = run("walk", "--resume", record, "--typed", cwd=tmp_path)
    assert code == 1
    assert "its walk is closed" in output


@pytest.mark.models
@pytest.mark.parametrize("count", HEARD)
def test_the_demo_survives(count, tmp_path):
    process = started("demo", "--out", "demo", cwd=tmp_path)
    shown = "".join(process.stdout.readline() for _ in range(count))
    process.kill()
    shown += process.communicate()[0]
    assert process.returncode == -signal.SIGKILL
    record = tmp_path / "demo" / "demo.walk"
    assert_kept(shown, record)
    assert_resumes(record, "where are we")
