"""Clocks that are set, wrong, or started anew: each is an entry, also between two runs."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from session_booth import Clock

from voicewalk import clock
from voicewalk.clock import Instant
from voicewalk.record.export import Form, exported
from voicewalk.record.file import RecordReader
from voicewalk.record.screen import show_on
from voicewalk.record.verify import examine, verify
from voicewalk.session.clocks import EARLIEST, earlier, step_ms, wall_ms
from voicewalk.session.equipment import Calls
from voicewalk.session.walking import begin_walk, resume_walk

LAST = Instant("2031-04-02T06:00:00.000Z", 5_000, "boot 1")


class Lines:
    """Typed lines; one that is a function is called and is no line."""

    def __init__(self, *lines):
        self.lines = list(lines)

    def read(self, seconds):
        while self.lines and callable(self.lines[0]):
            self.lines.pop(0)()
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)


class Clocks(Clock):
    """Both clocks, and a boot, all of which can be set."""

    def __init__(self, at=LAST):
        super().__init__()
        self.at = at

    def __call__(self):
        return self.at

    def show(self, wall, seconds=0.0, boot=""):
        """The wall clock shows ``wall`` after so many seconds, in the same boot or another."""
        passed = 0 if boot else self.at.monotonic_ms
        self.at = Instant(wall, passed + round(seconds * 1000), boot or self.at.boot)


def kept(path):
    with RecordReader.open(path) as record:
        return [entry.body for entry in record.entries()]


def steps(path):
    return [body["by_ms"] for body in kept(path) if body["kind"] == "clock stepped"]


def begun(path, clocks, *lines):
    begin_walk("jet-trainer", "M07", "somebody", path, Calls(Lines(*lines)), (), clocks)


def gone_on(path, clocks, *lines):
    resume_walk(path, None, Calls(Lines(*lines)), (), clocks)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "a.walk"


@pytest.mark.parametrize(
    ("now", "step"),
    [
        (Instant("2031-04-02T06:01:00.000Z", 65_000, "boot 1"), 0),
        (Instant("2031-04-02T05:00:00.000Z", 65_000, "boot 1"), -3_660_000),
        (Instant("2031-04-02T07:01:00.000Z", 65_000, "boot 1"), 3_600_000),
        (Instant("2031-04-05T06:00:00.000Z", 100, "boot 2"), 0),  # who knows how long it was off
        (Instant("2031-04-02T05:59:00.000Z", 100, "boot 2"), -60_000),
    ],
)
def test_how_far_the_wall_clock_was_set(now, step):
    assert step_ms(LAST, now) == step


@given(st.integers(0, 10**9), st.integers(-(10**8), 10**8))
def test_within_a_boot_every_step_is_found_whatever_time_has_passed(passed, step):
    wall = datetime(2031, 4, 2, 6, tzinfo=UTC) + timedelta(milliseconds=passed + step)
    shown = wall.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    now = replace(LAST, wall=shown, monotonic_ms=LAST.monotonic_ms + passed)
    assert step_ms(LAST, now) == step


@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_an_earlier_instant_is_by_both_clocks_and_not_before_the_last_one(passed, ago):
    wall = datetime(2031, 4, 2, 6, tzinfo=UTC) + timedelta(milliseconds=passed)
    shown = wall.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    now = replace(LAST, wall=shown, monotonic_ms=LAST.monotonic_ms + passed)
    then = earlier(now, ago, LAST)
    assert step_ms(then, now) == 0
    assert now.monotonic_ms - then.monotonic_ms == min(ago, passed)
    assert earlier(now, ago, replace(LAST, boot="another")) == now


def test_each_run_keeps_the_boot_it_was_in(path):
    clocks = Clocks()
    begun(path, clocks, "radome satisfactory")
    clocks.show("2031-04-02T06:10:00.000Z", 3, boot="boot 2")
    gone_on(path, clocks)
    inputs = [body["input"] for body in kept(path)]
    assert [one.get("boot") for one in inputs] == ["boot 1", None, "boot 2"]
    assert steps(path) == []
    assert verify(path).ok


def test_a_clock_set_while_the_program_was_stopped_is_an_entry(path):
    clocks = Clocks()
    begun(path, clocks, "radome satisfactory")
    clocks.show("2031-04-02T05:00:10.000Z", 10)
    gone_on(path, clocks, "m07", "rudder satisfactory")
    kinds = ["interrupted", "clock stepped", "identity", "item"]
    assert [body["kind"] for body in kept(path)][2:] == kinds
    assert steps(path) == [-3_600_000]
    gone_on(path, clocks)  # and the record plays back
    assert verify(path).ok


def test_a_clock_that_a_new_start_has_set_back_is_an_entry(path):
    clocks = Clocks()
    begun(path, clocks, "radome satisfactory")
    clocks.show("1970-01-01T00:00:20.000Z", 20, boot="boot 2")
    gone_on(path, clocks)
    assert steps(path) == [wall_ms(clocks()) - wall_ms(LAST)]


def test_a_clock_that_was_never_set_is_an_entry_of_a_new_walk(path):
    clocks = Clocks(Instant("1970-01-01T00:01:00.000Z", 60_000, "boot 1"))
    begun(path, clocks, "radome satisfactory")
    assert [body["kind"] for body in kept(path)] == ["started", "clock stepped", "item"]
    assert steps(path) == [wall_ms(clocks()) - wall_ms(EARLIEST)]
    assert verify(path).ok


def test_a_clock_put_right_within_a_run_is_an_entry(path):
    clocks = Clocks(Instant("2024-06-01T00:00:00.000Z", 0, "boot 1"))

    def put_right():
        clocks.show("2031-04-02T06:00:01.000Z", 1)

    begun(path, clocks, "radome satisfactory", put_right, "rudder satisfactory")
    assert len(steps(path)) == 2
    assert steps(path)[1] > 0


def test_without_boots_to_compare_only_a_clock_set_back_is_told(path):
    clocks = Clocks(replace(LAST, boot=""))
    begun(path, clocks, "radome satisfactory")
    clocks.at = Instant("2031-04-02T09:00:00.000Z", 100, "")
    gone_on(path, clocks)
    clocks.at = Instant("2031-04-02T08:00:00.000Z", 100, "")
    gone_on(path, clocks)
    assert steps(path) == [-3_600_000]


# --- the clocks of the machine ---------------------------------------------------------------


def test_time_of_the_machine_is_read_with_its_boot():
    one, other = clock.now(), clock.now()
    assert one.boot == other.boot
    assert other.monotonic_ms >= one.monotonic_ms
    assert step_ms(one, other) == pytest.approx(0, abs=1000)


def test_a_program_kept_waiting_between_the_two_clocks_sees_no_step(monkeypatch):
    waits = iter([0, 5_000, 5_000, 5_001])  # before and after the wall clock, twice
    monkeypatch.setattr(clock, "_monotonic_ms", lambda: next(waits))
    assert clock.now().monotonic_ms == 5_001


def test_a_machine_without_a_boot_id_says_so(monkeypatch, tmp_path):
    monkeypatch.setattr(clock, "_BOOT_ID", tmp_path / "none")
    assert clock._boot.__wrapped__() == ""


def test_a_set_clock_is_marked_in_the_report_and_where_entries_are_shown(path):
    clocks = Clocks()
    begun(path, clocks, "radome satisfactory")
    assert "CLOCK" not in exported(path, examine(path), Form.TEXT).decode()
    clocks.show("2031-04-02T05:00:10.000Z", 10)
    gone_on(path, clocks)
    report = exported(path, examine(path), Form.TEXT).decode()
    assert "CLOCK\n-----\n  #4   05:00:10  the clock was set or wrong, by -3600 s" in report
    shown = StringIO()
    show_on(Console(file=shown, width=100), examine(path))
    assert "clock stepped  by -3600000 ms" in shown.getvalue()
