"""A paper card typed in: every call says so, and the walk goes on from it like from any other."""

from __future__ import annotations

import pytest
from session_booth import Clock
from test_session_opening import Lines, entries

from voicewalk.errors import VoicewalkError
from voicewalk.record.verify import verify
from voicewalk.session.equipment import Calls
from voicewalk.session.paper import Paper
from voicewalk.session.walking import begin_walk, resume_walk

PAPER = Paper("2031-04-02 06:10", "Ilka Vey")
MARK = {"written": "2031-04-02 06:10", "typist": "Ilka Vey"}


def begun(path, *lines, paper=PAPER):
    calls = Calls(Lines(*lines), paper=paper)
    return begin_walk("jet-trainer", "M07", "Tamsin Orlo", path, calls, (), Clock())


def test_every_call_of_it_is_marked_and_nothing_else(tmp_path):
    path = tmp_path / "a.walk"
    begun(path, "radome satisfactory", "nonsense", "remark", "written in the margin")
    heard = {body["kind"]: body["input"].get("heard") for body in entries(path)}
    assert heard["started"] is None
    for kind in ("item", "asked back", "command", "remark"):
        assert heard[kind]["paper"] == MARK
        assert heard[kind]["how"] == "typed"
    assert heard["item"]["text"] == "radome satisfactory"
    assert verify(path).ok


def test_a_walk_of_another_day_is_not_marked_by_it(tmp_path):
    path = tmp_path / "a.walk"
    begun(path, "radome satisfactory")
    resume_walk(path, None, Calls(Lines("m07", "nose tyre satisfactory")), (), Clock())
    marks = [body["input"]["heard"].get("paper") for body in entries(path) if "item" in body]
    assert marks == [MARK, None]


@pytest.mark.parametrize("written", ["2031-04-02", "2031-04-02 06:10", "2031-04-02T06:10:00+02:00"])
def test_date_and_time_are_kept_as_they_were_given(written):
    assert Paper(written, "Ilka Vey").written == written


@pytest.mark.parametrize("written", ["", "yesterday", "02.04.2031", "2031-13-02"])
def test_no_date_is_refused(written):
    with pytest.raises(VoicewalkError, match="is no date and time"):
        Paper(written, "Ilka Vey")


def test_it_must_be_said_who_types():
    with pytest.raises(VoicewalkError, match="who types"):
        Paper("2031-04-02", " ")


class Slow(Lines):
    """Typed lines, each after ten minutes."""

    def __init__(self, clock, *lines):
        super().__init__(*lines)
        self.clock = clock

    def read(self, seconds):
        self.clock.pass_seconds(600)
        return super().read(seconds)


@pytest.mark.parametrize(
    ("paper", "kinds"),
    [
        (PAPER, ["started", "question", "item"]),
        (None, ["started", "question", "question dropped"]),
    ],
    ids=["paper", "no paper"],
)
def test_a_pause_while_it_is_typed_in_is_no_silence(tmp_path, paper, kinds):
    path, clock = tmp_path / "a.walk", Clock()
    calls = Calls(Slow(clock, "pitot cover removed", "", "", "left"), paper=paper)
    begin_walk("jet-trainer", "M07", "Tamsin Orlo", path, calls, (), clock)
    assert [body["kind"] for body in entries(path)][:3] == kinds
