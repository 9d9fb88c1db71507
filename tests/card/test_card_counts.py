"""Counts, charts, tolerances and hold points that cannot work are refused with their place."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicewalk.card.load import load_card
from voicewalk.errors import SourceError

HEAD = """\
id: stand
title: stand
version: "1"
subject: aircraft
caution: invented
vocabularies: english
stations:
  - station: stand
    phase: arrival
    items:
"""
PIN = "      - {name: nose pin, state: {good: out, on_the_way: in, bad: not out}}\n"
LAMP = "      - {name: lamp}\n"
GAUGE = "      - {name: gauge, reading: psi}\n"


def load(tmp_path: Path, items: str):
    path = tmp_path / "stand.yaml"
    path.write_text(HEAD + items, encoding="utf-8")
    return load_card(path)


def test_a_count_with_places_is_read(tmp_path: Path):
    card = load(
        tmp_path, PIN + "      - {name: pins, count: 1, counted: [in, out], places: nose-pin}"
    )
    pins = card.by_id["pins"]
    assert pins.balances
    assert pins.places == ("nose-pin",)
    assert [(state.name, state.good) for state in pins.states] == [("in", False), ("out", True)]
    assert [state.stays_open for state in card.by_id["nose-pin"].states] == [False, True, False]


CHART = "chart: {at: gauge, least: [[1, 2], [3, 4]], reference: invented}"


@pytest.mark.parametrize(
    ("items", "message"),
    [
        (PIN + "      - {name: pins, count: 2, places: nose-pin}", "counts 2 and names 1 places"),
        (PIN + "      - {name: pins, count: 1, places: tail-pin}", "'tail-pin' is no item"),
        (
            LAMP + "      - {name: pins, count: 1, places: lamp}",
            "counts 'lamp', which has no state",
        ),
        (PIN + "      - {name: pins, places: nose-pin}", "has places but no count"),
        ("      - {name: pins, count: 1, counted: [in, in / out]}", "counts 'in' in 2 ways"),
        ("      - {name: lamp, both: true}", "has no two sides"),
        ("      - {name: lamp, hold: crew chief}", "is held and has no state"),
        ("      - {name: bottle, reading: psi, " + CHART + "}", "needs a reading 'gauge'"),
        (
            GAUGE + "      - {name: bottle, " + CHART + "}",
            "'bottle' has no reading",
        ),
        (
            GAUGE + "      - {name: bottle, reading: psi, chart: {at: gauge,"
            " least: [[3, 2], [1, 4]], reference: invented}}",
            "no line to read from",
        ),
        (
            GAUGE + "      - {name: bottle, reading: psi, chart: {at: gauge,"
            " least: [[1, 2], [3, 4]], reference: ''}}",
            "does not say where it comes from",
        ),
        (
            "      - {name: bottle, reading: psi, agrees: {within: 1, reference: invented}}",
            "has no two sides",
        ),
    ],
)
def test_what_cannot_work_is_refused(tmp_path: Path, items: str, message: str):
    with pytest.raises(SourceError, match=message) as found:
        load(tmp_path, items)
    assert f"{tmp_path / 'stand.yaml'}:" in str(found.value)
    assert found.value.what_to_do


@pytest.mark.parametrize("rule", ["back three", "station", "resume"])
def test_a_card_names_what_is_done_again_after_an_interruption(tmp_path: Path, rule: str):
    path = tmp_path / "stand.yaml"
    keys = f"after_interruption: {rule}\nstand_by_seconds: 180\n"
    path.write_text(keys + HEAD + LAMP, encoding="utf-8")
    card = load_card(path)
    assert (card.after_interruption, card.stand_by_seconds) == (rule, 180)


def test_a_limit_of_standing_by_without_a_rule_is_refused(tmp_path: Path):
    path = tmp_path / "stand.yaml"
    path.write_text("stand_by_seconds: 180\n" + HEAD + LAMP, encoding="utf-8")
    with pytest.raises(SourceError, match="after_interruption") as caught:
        load_card(path)
    assert ":1:" in str(caught.value)
