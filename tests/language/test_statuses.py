"""Status words of a form: said after their prefix, only where a card orders them."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicewalk.card.load import load_card
from voicewalk.errors import SourceError
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of

CARD = """\
id: small
title: Small card
version: "1"
subject: pump
caution: A card for tests.
vocabularies: [english, form-status]
status: {order: [x, circled x, dash, diagonal], critical: x, usual: diagonal, reference: tests}
stations:
  - station: pump room
    phase: stopped
    items:
      - name: pump
"""


def card(folder: Path, text: str = CARD) -> Path:
    path = folder / "small.yaml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("said", "item", "status"),
    [
        ("pump status circled x", "pump", "circled x"),
        ("status x", "", "x"),
        ("status horizontal dash", "", "dash"),
    ],
)
def test_a_status_is_said_after_its_prefix(tmp_path: Path, said: str, item: str, status: str):
    loaded = load_card(card(tmp_path))
    graph = phrase_graph(loaded, vocabulary_of(loaded))
    assert parse(graph, said) == [Meaning(Act.STATUS, item=item, state=status)]
    assert parse(graph, said.replace("status ", "")) == []


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (", form-status", "", "the status 'x' is a word of no vocabulary"),
        ("critical: x", "critical: cross", "the status 'cross' is not in 'order'"),
    ],
)
def test_a_card_orders_words_that_can_be_said(tmp_path: Path, old: str, new: str, message: str):
    with pytest.raises(SourceError) as caught:
        vocabulary_of(load_card(card(tmp_path, CARD.replace(old, new))))
    assert message in str(caught.value)
