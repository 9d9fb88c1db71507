"""Hearing again through the command: what is told, and in which order."""

from __future__ import annotations

import typer
from cli_program import run
from typer.testing import CliRunner

from voicewalk.cli import relisten as command
from voicewalk.record.relistened import Finding, Relistened
from voicewalk.session import relistening
from voicewalk.session.relisten import Done

APP = typer.Typer()
APP.command()(command.relisten)


def told(monkeypatch, tmp_path, *done):
    monkeypatch.setattr(relistening, "records_of", lambda path: [one.record for one in done])
    monkeypatch.setattr(relistening, "relisten_all", lambda records, jobs, told: list(done))
    answer = CliRunner().invoke(APP, [str(tmp_path)])
    return answer.exit_code, answer.stdout.splitlines()


def line(seq, finding, **more):
    given = {"name": "radome", "was": "radome satisfactory", "was_probability": "0.990"}
    given |= {"now": ("radome dented",), "probability": "0.910", "reason": "agreed"}
    return Relistened(seq, "", finding, **{**given, **more})


def test_the_worst_of_all_records_comes_first(monkeypatch, tmp_path):
    one, two = tmp_path / "a.walk", tmp_path / "b.walk"
    code, lines = told(
        monkeypatch,
        tmp_path,
        Done(one, (line(2, Finding.LESS_SURE), line(3, Finding.AGREES))),
        Done(two, (line(4, Finding.OTHER, critical=True, result="satisfactory"),)),
    )
    assert code == 0
    assert lines == [
        f'{two}: ANOTHER CALL, critical: #4 radome: was "radome satisfactory" (0.990),'
        ' now "radome dented" (0.910): agreed',
        f'{one}: LESS SURE: #2 radome: was "radome satisfactory" (0.990),'
        ' now "radome dented" (0.910): agreed',
        "2 records, 3 calls in sound: 1 another call, 1 less sure, 1 agrees",
    ]


def test_texts_of_a_record_steer_no_terminal(monkeypatch, tmp_path):
    hostile = line(2, Finding.OTHER, name="\x1b[2J", now=("\x07[red]",))
    _, lines = told(monkeypatch, tmp_path, Done(tmp_path / "a.walk", (hostile,)))
    assert not {"\x1b", "\x07"} & set(lines[0])
    assert "[red]" in lines[0]


def test_what_could_not_be_heard_is_told_with_exit_code_1(monkeypatch, tmp_path):
    record = tmp_path / "a.walk"
    code, lines = told(monkeypatch, tmp_path, Done(record, trouble="it keeps no card"))
    assert code == 1
    assert lines[0] == f"{record}: not heard again: it keeps no card"
    _, lines = told(monkeypatch, tmp_path, Done(record, without_sound=2))
    assert lines[0] == f"{record}: 2 entries have no sound any more"


def test_after_ctrl_c_it_says_how_to_go_on(monkeypatch, tmp_path):
    code, lines = told(monkeypatch, tmp_path, Done(tmp_path / "a.walk", stopped=True))
    assert code == 130
    assert lines[-1] == "Stopped. The same command goes on."


def test_typed_walks_have_nothing_to_be_heard(tmp_path):
    arguments = ("walk", "jet-trainer", "--aircraft", "M07", "--typed", "--record", "a.walk")
    run(*arguments, cwd=tmp_path, lines="radome satisfactory\n")
    code, output = run("relisten", ".", cwd=tmp_path)
    assert (code, output) == (0, "1 record, 0 calls in sound\n")
    assert [one.name for one in tmp_path.iterdir()] == ["a.walk"]


def test_no_record_is_told(tmp_path):
    code, output = run("relisten", ".", cwd=tmp_path)
    assert code == 1
    assert "there is no record in it" in output
