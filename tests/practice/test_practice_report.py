"""The report in words and as data."""

from __future__ import annotations

import json

import pytest
from practice_trials import CARD, TERMS, WORDS, asked, heard, missed, mistaken, silent

from voicewalk.language.phrases import draw_phrases
from voicewalk.practice.report import KEPT, UNNAMED, WORDS_TOLD, as_json, report
from voicewalk.practice.trial import Trial

TRIALS = [
    heard("rudder serviceable", level_dbfs=-20.0, snr_db=14.0),
    heard("radome dirty", level_dbfs=-30.0, snr_db=8.0),
    mistaken("left pitot cover good", "left pitot probe good"),
    asked("nose tyre dirty", "nose tyre dirty", "nose strut dirty"),
    missed("radome satisfactory", "Radome so this alone"),
    silent("static wicks two"),
]


def text_of(trials: list[Trial]) -> str:
    return "\n".join(report(trials, TERMS))


def test_the_report_in_words():
    text = text_of(TRIALS)
    assert text.startswith("6 phrases: 2 understood at once, 1 asked back, 3 missed\n")
    assert "no speech was found in 1 of them" in text
    assert 'TAKEN FOR ANOTHER CALL: "left pitot cover good" for "left pitot probe good"' in text
    assert '  cover: said 1, missed 1; taken for "probe"\n' in text
    assert '  tyre: said 1, asked back 1; taken for "strut"\n' in text
    assert '  instead of "satisfactory": "serviceable"' in text
    assert text.endswith(KEPT)


@pytest.mark.parametrize(
    ("sound", "says"),
    [
        ({"level_dbfs": -20.0, "snr_db": 25.0}, []),
        ({"level_dbfs": -50.0, "snr_db": 25.0}, ["too quiet"]),
        ({"level_dbfs": -20.0, "snr_db": 3.0}, ["noisy"]),
        ({"level_dbfs": -3.0, "snr_db": 25.0, "clipped": True}, ["too loud in 2 phrases"]),
    ],
)
def test_level_and_noise_in_words(sound, says):
    text = text_of([heard("radome dirty", **sound)] * 2)
    assert f"level {sound['level_dbfs']:.0f} dBFS, {sound['snr_db']:.0f} dB above the noise" in text
    for words in ("too quiet", "noisy", "too loud"):
        assert (words in text) is any(words in one for one in says)
    assert all(one in text for one in says)


def test_where_nothing_was_said_no_level_is_told():
    text = text_of([silent("radome dirty")])
    assert "dBFS" not in text
    assert as_json([silent("radome dirty")], TERMS)["level_dbfs"] is None


def test_nothing_practised():
    assert report([], TERMS) == ["Nothing was practised.", KEPT]


def test_few_of_many_weak_names_are_told():
    items = ("rudder", "radome", "throttle", "canopy glass", "cockpit floor", "nose strut")
    weak = [silent(f"{item} not applicable") for item in (*items, "circuit breakers")]
    (line,) = (line for line in report(weak, TERMS) if line.startswith("no safer way"))
    assert line.count('"') <= 2 * UNNAMED
    assert "more: speak slowly" in line


def test_not_every_word_is_told_where_all_are_weak():
    weak = [missed(phrase.text) for phrase in draw_phrases(CARD, WORDS, 20, 1)]
    told = text_of(weak)
    words = as_json(weak, TERMS)["words"]
    assert told.count(": said ") == WORDS_TOLD
    assert f"  and {len(words) - WORDS_TOLD} more: --json writes them all" in told


def test_the_report_as_data():
    data = json.loads(json.dumps(as_json(TRIALS, TERMS)))
    assert [one["outcome"] for one in data["phrases"]] == [
        "heard",
        "heard",
        "missed",
        "asked back",
        "missed",
        "missed",
    ]
    assert [one["mistaken"] for one in data["phrases"]].count(True) == 1
    assert data["phrases"][2]["taken_for"] == "left pitot probe good"
    words = {one["word"]: one for one in data["words"]}
    assert words["cover"] == {
        "word": "cover",
        "said": 1,
        "heard": 0,
        "asked back": 0,
        "missed": 1,
        "taken_for": {"probe": 1},
        "weak": True,
    }
    assert words["radome"]["heard"] == 2
    assert {"words": "satisfactory", "weak": ["satisfactory"], "instead": ["serviceable"]} in [
        {**one, "instead": one["instead"][:1]} for one in data["safer"]
    ]
