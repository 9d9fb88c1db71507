"""Places in the plan drawing and the outline: what is written, and what is refused at its place."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from card_marked import card, write

from voicewalk.card.load import card_path, kept_card, load_card, shipped
from voicewalk.errors import SourceError
from voicewalk.language.build import phrase_graph
from voicewalk.language.vocabulary import vocabulary_of


def stations(one="at: [20, 30.5]", other="at: [80, 30]"):
    text = ""
    for name, place in (("bow", one), ("stern", other)):
        line = f"  {place}\n" if place else ""
        text += f"- station: {name}\n  phase: stopped\n{line}  items: [{{name: {name} lamp}}]\n"
    return text


def outlined(outline):
    head, below = card("", stations=stations()).split("stations:\n", 1)
    return f"{head}outline: {outline}\nstations:\n{below}"


def test_places_and_outline_are_on_the_card(tmp_path):
    path, _ = write(tmp_path, outlined("[[10, 0], [90, 0], [50, 99.5]]"))
    loaded = load_card(path)
    assert [station.at for station in loaded.stations] == [
        (Decimal(20), Decimal("30.5")),
        (Decimal(80), Decimal(30)),
    ]
    assert loaded.outline[-1] == (Decimal(50), Decimal("99.5"))


def test_a_card_needs_neither(tmp_path):
    path, _ = write(tmp_path, card("", stations=stations("", "")))
    loaded = load_card(path)
    assert [station.at for station in loaded.stations] == [None, None]
    assert loaded.outline == ()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (card("", stations=stations(other="at: ¦[101, 30]")), "outside the drawing"),
        (card("", stations=stations(other="at: ¦[80, -1]")), "outside the drawing"),
        (card("", stations=stations(other="at: ¦[29, 39]")), "'stern' would cover 'bow'"),
        (card("", stations=stations(other="¦at: [80]")), "at least 2"),
        (card("", stations=stations(other="at: [80, ¦.nan]")), "finite"),
        (outlined("¦[[1, 1], [2, 2]]"), "no shape"),
        (outlined("¦[[1, 1], [2, 2], [3, 201]]"), "no shape"),
    ],
)
def test_faults_are_told_at_their_place(text, says, tmp_path):
    path, _ = write(tmp_path, text)
    with pytest.raises(SourceError, match=says) as caught:
        load_card(path)
    assert str(caught.value).startswith(f"{path}:")


def test_either_all_stations_have_a_place_or_none(tmp_path):
    path, _ = write(tmp_path, card("", stations=stations(other="")))
    with pytest.raises(SourceError, match="'stern' has no place, and others have one"):
        load_card(path)


@pytest.mark.parametrize("name", shipped())
def test_places_change_nothing_that_can_be_said(name):
    loaded = load_card(card_path(name))
    bare = replace(
        loaded,
        stations=tuple(replace(station, at=None) for station in loaded.stations),
        outline=(),
    )
    words = vocabulary_of(loaded)
    assert phrase_graph(loaded, words) == phrase_graph(bare, words)


@pytest.mark.parametrize("name", shipped())
def test_a_kept_card_keeps_its_places(name):
    loaded = load_card(card_path(name))
    words = {key: text for key, text in loaded.texts.items() if key}
    kept = kept_card(loaded.texts[""], words)
    assert (kept.stations, kept.outline) == (loaded.stations, loaded.outline)
