"""Drawn calls, and a card on paper, through the program itself."""

import json

import pypdf
import pypdfium2
import pytest
from cli_program import run

from voicewalk.card.load import card_path, load_card, shipped
from voicewalk.language.near import draw_near_calls
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.paper.typeset import NO_FONT

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


@pytest.mark.parametrize("card", CARDS)
def test_near_calls_as_json_and_as_lines(card, tmp_path):
    arguments = ("card", "phrases", card, "--near", "--count", "60", "--seed", "5")
    code, lines = run(*arguments, cwd=tmp_path)
    assert code == 0
    code, text = run(*arguments, "--json", cwd=tmp_path)
    assert code == 0
    drawn = json.loads(text)
    assert [f"{one['kind']}\t{one['text']}" for one in drawn] == lines.splitlines()
    loaded = load_card(card_path(card))
    expected = draw_near_calls(loaded, vocabulary_of(loaded), 60, 5)
    assert drawn == [one.to_json() for one in expected]
    merged = [one for one in drawn if one["kind"] == "two calls"]
    assert merged
    assert all(len(one["meanings"]) == 2 for one in merged)


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("tow-tractor-korean", "--near"), 1, "in the language 'ko'"),
        (("jet-trainr",), 1, "Did you mean 'jet-trainer'?"),
        (("jet-trainer", "--count", "0"), 2, "--count"),
    ],
)
def test_refusals_of_drawing(arguments, code, says, tmp_path):
    done, output = run("card", "phrases", *arguments, cwd=tmp_path)
    assert done == code
    assert says in output


@pytest.mark.parametrize("card", shipped())
def test_a_card_on_paper(card, tmp_path):
    code, output = run("card", "print", card, "card.pdf", cwd=tmp_path)
    assert (code, output) == (0, "")
    loaded = load_card(card_path(card))
    reader = pypdf.PdfReader(tmp_path / "card.pdf")
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    shown = [item.name for item in loaded]
    if "좌" not in text and not loaded.title.isascii():  # no font for Korean here
        assert NO_FONT in text
        shown = []
    for name in shown:
        assert name in text
    for limit in (item.limit for item in loaded if item.limit):
        assert limit.reference in text
    assert loaded.digest in text
    assert "<pdfaid:part>2</pdfaid:part>" in reader.xmp_metadata.rdf_root.toxml()
    for page in pypdfium2.PdfDocument(tmp_path / "card.pdf"):
        picture = page.render(scale=1).to_numpy()
        edge = int(10 / 25.4 * 72)
        picture[edge:-edge, edge:-edge] = 255
        assert (picture == 255).all()


def test_no_file_is_written_over_by_a_paper_card(tmp_path):
    (tmp_path / "card.pdf").write_text("mine")
    code, output = run("card", "print", "jet-trainer", "card.pdf", cwd=tmp_path)
    assert code == 1
    assert "there is such a file already" in output
    assert (tmp_path / "card.pdf").read_text() == "mine"
