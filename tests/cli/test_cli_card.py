"""Drawn calls through the program itself."""

import json

import pytest
from cli_program import run

from voicewalk.card.load import card_path, load_card
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.vocabulary import vocabulary_of

CARDS = ("jet-trainer", "vehicle-daily")


@pytest.mark.parametrize("card", CARDS)
def test_drawn_calls_as_json_and_as_lines(card, tmp_path):
    arguments = ("card", "phrases", card, "--count", "40", "--seed", "5")
    code, lines = run(*arguments, cwd=tmp_path)
    assert code == 0
    code, text = run(*arguments, "--json", cwd=tmp_path)
    assert code == 0
    drawn = json.loads(text)
    assert [one["text"] for one in drawn] == lines.splitlines()
    assert len(drawn) == 40
    loaded = load_card(card_path(card))
    expected = draw_phrases(loaded, vocabulary_of(loaded), 40, 5)
    assert drawn == [phrase.to_json() for phrase in expected]


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("jet-trainr",), 1, "Did you mean 'jet-trainer'?"),
        (("jet-trainer", "--count", "0"), 2, "--count"),
    ],
)
def test_refusals_of_drawing(arguments, code, says, tmp_path):
    done, output = run("card", "phrases", *arguments, cwd=tmp_path)
    assert done == code
    assert says in output
