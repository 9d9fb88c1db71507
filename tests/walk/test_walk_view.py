"""The picture of a walk, and the documents drawn from its table."""

from __future__ import annotations

import re
from pathlib import Path

from walk_booth import SETTINGS, run
from walk_cards import TRAINER, TRIO

from voicewalk.walk.diagram import markdown, mermaid
from voicewalk.walk.machine import Walk
from voicewalk.walk.memory import WalkState
from voicewalk.walk.table import TABLE, Cue

DOCUMENT = Path(__file__).parents[2] / "docs" / "walk.md"


def test_before_the_start():
    view = Walk(TRIO, SETTINGS).view()
    assert (view.state, view.identity, view.open) == ("new", "", ("lamp", "pump", "recheck"))


def test_in_the_middle():
    view = run(TRAINER, "> radome: satisfactory\n> next\n> left-tyre: defect cut").walk.view()
    assert (view.identity, view.inspector) == ("EX-1", "inspector A")
    assert (view.last, view.current, view.leading) == ("left-tyre", "right-tyre", True)
    assert {result.value: count for result, count in view.counts.items()} == {
        "satisfactory": 1,
        "discrepancy": 1,
        "not inspected": 0,
        "not applicable": 0,
    }
    assert len(view.open) == 14
    assert view.ahead[0] == "left-tyre-pressure"
    assert view.open[0] == "left-cover"


def test_what_stands_of_each_item():
    talk = "> recheck: defect cut\n> recheck: defect worn\n> pump: satisfactory"
    lines = {line.item: line for line in run(TRIO, talk).walk.view().lines}
    assert [seq for seq, _ in lines["recheck"].entries] == [2, 3]
    assert lines["recheck"].result is None  # opened again by the pump
    assert lines["pump"].result == "satisfactory"
    assert lines["lamp"].entries == ()


def test_the_question_and_what_waits():
    booth = run(TRAINER, "> oxygen: reading 1600 psi\n> record fails\n> affirm\n> strut:")
    view = booth.walk.view()
    assert (view.state, view.question, view.waiting) == ("asking", "confirm", 2)


def _between(name: str) -> str:
    found = re.search(
        rf"<!-- {name} -->\n(.*)\n<!-- end of {name} -->", DOCUMENT.read_text("utf-8"), re.S
    )
    assert found, f"docs/walk.md has no place for the {name}"
    return found[1]


def test_the_document_shows_the_table_as_it_is():
    """If not: .venv/bin/python script/draw_walk.py"""
    assert _between("diagram") == f"```mermaid\n{mermaid(TABLE)}\n```"
    assert _between("table") == markdown(TABLE)


def test_the_diagram_has_every_state_and_nothing_after_the_close():
    drawn = mermaid(TABLE)
    for state in WalkState:
        assert state.name.lower() in drawn
    assert re.findall(r"closed --> (\S+)", drawn) == ["[*]"]


def test_every_state_heeds_every_cue_but_a_second_start():
    for state in WalkState:
        known = {cue for s, cue in TABLE if s is state}
        silences, limit = {Cue.SILENCE, Cue.SILENCE_AGAIN}, {Cue.STOOD_BY}
        others = set(Cue) - {Cue.START}
        match state:
            case WalkState.NEW:
                assert known == {Cue.START}
            case WalkState.WALKING:
                assert known == others - silences - limit  # nothing is asked
            case WalkState.ASKING:
                assert known == others - limit - {Cue.SILENT}
            case WalkState.ACKNOWLEDGING:
                seconds = {Cue.SECOND_SILENCE, Cue.SECOND_SILENCE_AGAIN}
                assert known == others - silences - seconds - limit - {Cue.SILENT}
            case _:
                assert known == others
