"""The pages that are read, as a browser gets them."""

import re

import pytest
from review_walks import append

from voicewalk.record.verify import verify


def text_of(answer):
    """A page's words without its marks."""
    assert answer.status_code == 200, answer.text
    return " ".join(re.sub(r"<[^>]*>", " ", answer.text).split())


def test_the_first_page_tells_the_worst_first(lead):
    page = text_of(lead.get("/"))
    assert "1 critical 1 incomplete 1 no exception" in page
    assert page.index("M07") < page.index("M11") < page.index("M02")
    assert "out of limit left main tyre pressure below limit; 190 psi" in page
    assert "not released" not in page


def test_the_first_page_is_not_sent_again_while_nothing_changes(lead, folder):
    state = re.search(r"changes=([\d-]+)", lead.get("/").text)[1]
    assert lead.get(f"/?changes={state}").status_code == 204
    append(folder / "good.walk", {"kind": "device lost", "reason": "", "input": {}})
    assert lead.get(f"/?changes={state}").status_code == 200


def test_the_first_page_has_an_end(lead, folder, monkeypatch):
    monkeypatch.setattr("voicewalk.review.pages.MOST_ROWS", 1)
    page = text_of(lead.get("/"))
    assert "1 critical 1 incomplete 1 no exception" in page
    assert "2 more, none of them worse than the last of these" in page
    assert page.index("2 more") > page.index("M07")


def test_a_walk_tells_exceptions_before_stations(lead):
    page = text_of(lead.get("/walk/found"))
    places = [
        page.index(word) for word in ("Exceptions", "out of limit", "By station", "All entries")
    ]
    assert places == sorted(places)
    assert "Whole: 14 entries" in page
    assert "2 main gear 2 discrepancies" in page.replace("discrepancy", "discrepancies")


@pytest.mark.parametrize(
    "path", ["/walk/found", "/walk/found/entry/8", "/walk/left", "/walk/left/live"]
)
def test_the_caution_stands_on_every_page_of_a_walk(lead, path):
    assert re.search(
        r"Caution\. (A card for tests|This record does not declare)", text_of(lead.get(path))
    )


@pytest.mark.parametrize("path", ["/", "/walk/good", "/walk/good/entry/2", "/walk/good/live"])
def test_nothing_says_that_anything_may_be_used(lead, path):
    page = text_of(lead.get(path)).lower()
    for word in ("airworthy", "fit for use", "safe"):
        for found in re.finditer(word, page):
            assert re.search(r"not\b", page[max(found.start() - 90, 0) : found.start()]), page


def test_plan_and_timeline_are_drawn_without_styles_of_their_own(lead):
    page = lead.get("/walk/found").text
    assert 'class="plan"' in page
    assert 'class="timeline"' in page
    assert "style=" not in page
    assert "<style" not in page


def test_an_entry_tells_words_history_and_neighbours(lead):
    page = text_of(lead.get("/walk/found/entry/8"))
    assert "#8 left main tyre pressure" in page
    assert "limit 205 to 215 psi, invented for the tests" in page
    assert "left main tyre pressure one nine zero psi" in page
    assert "There is none: it was typed" in page
    assert "entry before next entry" in page


@pytest.mark.parametrize(
    "path",
    [
        "/walk/missing",
        "/walk/good/entry/99",
        "/walk/good/entry/0",
        "/walk/good/entry/x",
        "/walk/good/sound/x.wav",
        f"/walk/good/sound/{'0' * 64}.wav",
        "/static/missing.css",
        "/nothing",
    ],
)
def test_what_is_not_there_is_told(lead, path):
    answer = lead.get(path)
    assert answer.status_code == 404
    assert "Traceback" not in answer.text


def test_a_broken_file_is_on_the_first_page_and_has_a_page_that_says_so(lead, folder):
    (folder / "broken.walk").write_bytes(b"no record")
    assert "broken" in text_of(lead.get("/"))
    answer = lead.get("/walk/broken")
    assert answer.status_code == 422
    assert "no record of voicewalk" in answer.text


def test_a_record_without_its_card_is_shown_as_it_was_called(lead, folder):
    path = folder / "found.walk"
    import sqlite3

    with sqlite3.connect(path) as db:
        db.execute("UPDATE texts SET text = x'00'")
    assert not verify(path).ok
    page = text_of(lead.get("/walk/found"))
    assert "Not whole" in page
    assert "left main tyre pressure" in page


def test_reading_leaves_the_record_as_it_was(lead, folder):
    before = {path: path.read_bytes() for path in folder.iterdir()}
    for path in ("/", "/walk/found", "/walk/found/entry/8", "/walk/found/live"):
        assert lead.get(path).status_code == 200
    assert {path: path.read_bytes() for path in folder.iterdir()} == before
