"""The demo, from sound to record: every expected entry is there and none else, twice the same.

demo_entries.txt lists the entries; how a line reads is told by ``told``. The same calls typed
give the same record but for how they were heard.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from voicewalk.card.load import card_path, load_card
from voicewalk.clock import now
from voicewalk.language.build import phrase_graph
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.file import RecordReader
from voicewalk.record.summary import summary
from voicewalk.record.verify import verify
from voicewalk.session.demo import CARD, FIXTURES, IDENTITY, INSPECTOR, demo, files, read_script
from voicewalk.session.equipment import Calls
from voicewalk.session.events import CallHeard, Kept, Refused, RemarkHeard, Tally, Why
from voicewalk.session.walking import begin_walk
from voicewalk.settings import WalkSettings
from voicewalk.walk.replay import replay

EXPECTED = Path(__file__).with_name("demo_entries.txt").read_text(encoding="utf-8").splitlines()
SCRIPT = read_script()

ELSEWHERE = ("input", "name", "station", "caution")
"""Fields that follow from the card, and the evidence."""
HOW_HEARD = ("reading.spoken", "call.words", "transcript", "candidates")
ENTRIES_OF = {  # what a call of the script leads to
    "item": ["item"],
    "question": ["question"],
    "command": ["command"],
    "remark": ["remark"],
    "asked back": ["asked back"],
    "refused to close": ["command"],
    "closed": ["closed"],
    "refused": [],
    "answer": [],
}


def flat(body: dict, path: str = "") -> dict[str, str]:
    """Every field by its path; lists as JSON."""
    fields = {}
    for key, value in body.items():
        if isinstance(value, dict):
            fields |= flat(value, f"{path}{key}.")
        else:
            fields[path + key] = value if isinstance(value, str) else json.dumps(value)
    return fields


def told(body: dict, but: tuple[str, ...] = ()) -> str:
    """An entry in one line: its kind, then its fields but those that follow from the card."""
    fields = flat({key: value for key, value in body.items() if key not in ELSEWHERE})
    kind = fields.pop("kind")
    shown = (f"{key}={value}" for key, value in fields.items() if _says(key) and key not in but)
    return " | ".join((kind, *shown))


def but_for_how(body: dict) -> str:
    """The same without how it was heard: "typed" is "understood" of the keyboard."""
    typed = body.get("accepted") == "typed"
    return told({**body, "accepted": "understood"} if typed else body, HOW_HEARD)


def _says(key: str) -> bool:
    return not key.startswith("card.vocabularies") and key not in (
        "card.digest",
        "reading.limit.reference",
        "reading.limit.unit",
    )


# --- the script itself -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def card():
    return load_card(card_path(CARD))


@pytest.fixture(scope="module")
def graph(card):
    return phrase_graph(card, vocabulary_of(card))


def test_every_recording_is_in_the_script_and_small():
    named = {call.file for call in SCRIPT} | {"engine.flac"}
    assert {path.name for path in FIXTURES.glob("*.flac")} == named
    assert sum(path.stat().st_size for path in FIXTURES.iterdir()) < 6_000_000
    for name in named:
        info = soundfile.info(FIXTURES / name)
        assert (info.samplerate, info.channels, info.subtype) == (16_000, 1, "PCM_16")


def test_the_script_shows_what_it_promises(card, graph):
    meanings = {call.words: parse(graph, call.words) for call in SCRIPT}
    for call in SCRIPT:
        assert len(meanings[call.words]) == (call.expected not in ("refused", "remark")), call
    noisy = [call for call in SCRIPT if call.snr_db]
    assert len(SCRIPT) / 3 - 1 <= len(noisy) <= len(SCRIPT) / 2
    assert all(12 <= float(call.snr_db) <= 15 for call in noisy)
    assert sum(call.expected == "refused" for call in SCRIPT) == 2
    assert SCRIPT[-1].expected == "closed"


# --- the walk ----------------------------------------------------------------------------------


class Walked:
    """One run of the demo with all that was seen of it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.tally = Tally()
        self.events: list = []
        self.outcome = demo(folder, (self.tally, self.events.append), now)
        with RecordReader.open(folder / "demo.walk") as record:
            self.entries = record.entries()
        self.bodies = [entry.body for entry in self.entries]


@pytest.fixture(scope="module")
def walked(tmp_path_factory) -> Walked:
    return Walked(tmp_path_factory.mktemp("demo") / "first")


@pytest.mark.models
@pytest.mark.slow
class TestWalked:
    def test_every_expected_entry_is_there_and_none_else(self, walked):
        assert [told(body) for body in walked.bodies] == EXPECTED

    def test_each_call_leads_to_what_the_script_expects(self, walked):
        kinds = [body["kind"] for body in walked.bodies]
        assert kinds == [
            "started",
            *(kind for call in SCRIPT for kind in ENTRIES_OF[call.expected]),
        ]

    def test_every_call_was_understood_as_its_words_mean(self, walked, graph):
        understood = [
            body["input"]["meaning"] for body in walked.bodies if body["input"]["type"] == "call"
        ]
        meant = [
            parse(graph, call.words)[0].to_json()
            for call in SCRIPT
            if call.expected not in ("refused", "remark", "asked back", "answer")
        ]
        assert understood == meant

    def test_what_is_no_call_was_refused_and_not_kept(self, walked):
        refused = [event for event in walked.events if isinstance(event, Refused)]
        assert [event.why for event in refused] == [Why.OUTSIDE, Why.OUTSIDE]
        assert (walked.tally.refused, walked.tally.asked_back) == (2, 1)
        assert walked.tally.calls == len(SCRIPT) - 3  # two refused, and the remark
        heard = [e for e in walked.events if isinstance(e, CallHeard | Refused | RemarkHeard)]
        assert len(heard) == len(SCRIPT)

    def test_the_walk_is_closed_with_every_item(self, walked, card):
        assert walked.outcome.closed
        results = summary(walked.entries)
        assert len(results.results) == len(card) == 119
        assert len(results.discrepancies) == 2
        assert results.open_count == 0
        last = [event for event in walked.events if isinstance(event, Kept)][-1]
        assert (last.closed, last.still_open) == (119, 0)

    def test_the_record_is_whole_and_reproduces_itself(self, walked, card):
        assert verify(walked.folder / "demo.walk").ok
        walk = replay(card, enumerate(walked.bodies, 1), WalkSettings())
        assert walk.memory.state == "closed"

    def test_the_whole_talk_is_left_as_sound(self, walked):
        samples, rate = soundfile.read(walked.folder / "talk.wav")
        assert rate == 16_000
        calls = sum(soundfile.info(FIXTURES / call.file).duration for call in SCRIPT)
        assert len(samples) / rate > calls * 1.5  # the prompts are in it
        assert np.abs(samples).max() > 0.1

    def test_the_exports_are_left(self, walked):
        assert {path.name for path in walked.folder.iterdir()} == {
            *("demo.walk", "demo.txt", "demo.csv", "demo.json", "talk.wav")
        }
        lines = files(walked.folder)
        assert f"Verify it: voicewalk verify {walked.folder / 'demo.walk'}" in lines

    def test_a_second_run_gives_the_same_bodies(self, walked, tmp_path, monkeypatch):
        """Times and hashes differ; what was heard, and how surely, does not. The first forty calls
        are enough: hearing has no memory."""
        monkeypatch.setattr("voicewalk.session.demo.read_script", lambda: SCRIPT[:40])
        again = Walked(tmp_path / "second")
        same = walked.entries[: len(again.entries)]
        assert len(same) > 30
        assert again.bodies == [entry.body for entry in same]
        assert [entry.start for entry in again.entries] == [entry.start for entry in same]

    def test_the_calls_typed_give_the_same_record_but_for_how_they_were_heard(
        self, walked, tmp_path
    ):
        typed = typed_walk(tmp_path / "typed.walk")
        assert [but_for_how(body) for body in typed] == [
            but_for_how(body) for body in walked.bodies
        ]


# --- the typed twin, which needs no model ------------------------------------------------------


class Typed:
    """The calls of the script as typed lines; what was said unclearly is typed so."""

    def __init__(self) -> None:
        self.lines = [
            call.words[:-1] if call.expected == "asked back" else call.words
            for call in SCRIPT
            if call.expected != "refused"
        ]

    def read(self, seconds: float | None) -> str:
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)


def typed_walk(record: Path) -> list[dict]:
    """The bodies of the typed demo."""
    outcome = begin_walk(CARD, IDENTITY, INSPECTOR, record, Calls(Typed()), (), now)
    assert outcome.closed
    with RecordReader.open(record) as file:
        return [entry.body for entry in file.entries()]


def test_the_typed_demo_gives_the_expected_entries(tmp_path):
    without = [
        " | ".join(part for part in line.split(" | ") if part.partition("=")[0] not in HOW_HEARD)
        for line in EXPECTED
    ]
    assert [but_for_how(body) for body in typed_walk(tmp_path / "a.walk")] == without
