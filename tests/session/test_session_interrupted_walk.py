"""A whole walk of the jet trainer in sound, power off and on, that does not go smoothly.

Stand by for longer than the card allows, then the number of another aircraft; the program
stopped and going on; another inspector taking over; a close refused. The script is
``fixtures/interrupted/calls.tsv``; its calls are made by script/make-demo-calls, and most are the
demo's. Real listeners and judge; only the prompts are not spoken.
"""

from __future__ import annotations

import contextlib
from collections import Counter
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest
from session_booth import Clock
from test_demo import ENTRIES_OF

from voicewalk.audio.frames import RATE
from voicewalk.audio.scripted import ScriptedCall
from voicewalk.card.load import card_path, load_card
from voicewalk.language.build import IDENTITY, phrase_graph
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.file import RecordReader
from voicewalk.record.summary import summary
from voicewalk.record.verify import verify
from voicewalk.session.demo import CARD, FIXTURES, Caller, DemoCall, read_script, scripted
from voicewalk.session.equipment import heard_from, open_ears
from voicewalk.session.events import CallHeard, Refused, Said
from voicewalk.session.opening import begin, resume
from voicewalk.session.speaking import Speaker
from voicewalk.session.walking import Outcome, run
from voicewalk.settings import WalkSettings
from voicewalk.voice.wording import Wording
from voicewalk.walk.replay import replay

FOLDER = FIXTURES.with_name("interrupted")
SCRIPT = read_script(FOLDER)
SILENCE, STOPPED = "130 s of silence", "stopped"
KINDS_OF = {  # what a line of the script leads to
    **ENTRIES_OF,
    "identity": ["identity"],
    "handed over": ["handed over"],
    "acknowledged": ["acknowledged"],
    SILENCE: ["stood by"],
    STOPPED: ["interrupted"],
}
SPELLED = ("identity", "handed over")


@pytest.fixture(scope="module")
def card():
    return load_card(card_path(CARD))


# --- the script itself --------------------------------------------------------------------------


def test_every_further_recording_is_in_the_script_and_small():
    own = {(FIXTURES / call.file).resolve() for call in SCRIPT if call.file}
    assert set(FOLDER.glob("*.flac")) == {path for path in own if path.parent == FOLDER}
    assert all(path.is_file() for path in own)
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 500_000


def test_every_line_has_the_meaning_that_is_expected_of_it(card):
    graph = phrase_graph(card, vocabulary_of(card))
    for call in SCRIPT:
        spelled = call.expected in SPELLED
        meanings = parse(graph, call.words, (graph.entries[IDENTITY] if spelled else 0,))
        assert len(meanings) == (call.words != "" and call.expected not in ("refused", "remark"))


# --- the walk -----------------------------------------------------------------------------------


class Walked:
    """One run of the script with all that was seen of it."""

    def __init__(self, card, record: Path) -> None:
        self.record, self.events = record, []
        self._card, self._clock = card, Clock()
        self._ears = open_ears(card, vocabulary_of(card))
        pieces = groupby(SCRIPT, lambda call: call.expected == STOPPED)
        parts = [[*piece] for stopped, piece in pieces if not stopped]
        first = begin(card, "M07", "inspector one", record, self._clock())
        self.outcomes = [self._walk(first, parts[0])]
        for part in parts[1:]:
            self._clock.pass_seconds(600)
            self.outcomes.append(self._walk(resume(record, None, self._clock()), part))
        with RecordReader.open(record) as file:
            self.entries = file.entries()
        self.bodies = [entry.body for entry in self.entries]

    def _walk(self, opened, script: list[DemoCall]) -> Outcome:
        calls = [_sound(call) for call in script]
        source = Caller(calls, lambda samples, rate: None)
        equipment = heard_from(source, self._ears, Speaker(), Wording("en"))
        with contextlib.closing(opened.record):
            return run(opened, equipment, [self.events.append], self._clock)

    def of(self, kind: str) -> list[dict]:
        return [body for body in self.bodies if body["kind"] == kind]


def _sound(call: DemoCall) -> ScriptedCall:
    if call.expected == SILENCE:
        return ScriptedCall(np.zeros(130 * RATE, np.float32))
    return scripted([call], FIXTURES)[0]


@pytest.fixture(scope="module")
def walked(card, tmp_path_factory) -> Walked:
    return Walked(card, tmp_path_factory.mktemp("interrupted") / "a.walk")


@pytest.mark.models
@pytest.mark.slow
class TestWalked:
    def test_each_line_leads_to_what_the_script_expects(self, walked):
        expected = ["started", *(kind for call in SCRIPT for kind in KINDS_OF[call.expected])]
        assert [body["kind"] for body in walked.bodies] == expected

    def test_every_call_was_understood_as_its_words_mean(self, walked, card):
        graph = phrase_graph(card, vocabulary_of(card))
        understood = [
            body["input"]["meaning"] for body in walked.bodies if body["input"]["type"] == "call"
        ]
        silent = ("refused", "remark", "asked back", "answer", SILENCE, STOPPED)
        meant = [
            parse(graph, call.words, (0, graph.entries[IDENTITY]))[0].to_json()
            for call in SCRIPT
            if call.expected not in silent
        ]
        assert understood == meant
        assert all(body["input"]["heard"]["how"] == "sound" for body in walked.of("item"))

    def test_what_is_no_call_was_refused(self, walked):
        assert len([event for event in walked.events if isinstance(event, Refused)]) == 2
        heard = [event for event in walked.events if isinstance(event, CallHeard)]
        assert Counter(event.verdict.value for event in heard)["ask back"] <= 1

    def test_another_aircraft_is_refused_and_that_is_kept(self, walked):
        told = [(body["said"], body["matches"]) for body in walked.of("identity")]
        assert told == [("M06", False), ("M07", True), ("M07", True)]
        at = [body["kind"] for body in walked.bodies].index("identity")
        assert walked.bodies[at + 1]["kind"] == "identity"  # nothing was kept at the other one
        texts = [event.text for event in walked.events if isinstance(event, Said)]
        assert any(text.startswith("mike zero six is another aircraft") for text in texts)

    def test_three_steps_are_done_again_after_each_interruption(self, walked):
        """FAA aviation maintenance technician handbook, chapter 14 (second-hand): go back three
        steps."""
        again = [body["reopens"] for body in walked.of("identity") if body["matches"]]
        assert again == [
            ["left-static-port", "right-static-port", "temperature-sensor"],
            ["left-speed-brake", "right-speed-brake", "fire-bottle-pressure"],
        ]
        times = Counter(body["item"] for body in walked.of("item"))
        assert all(times[item] == 2 for items in again for item in items)

    def test_both_interruptions_are_kept_with_their_time(self, walked):
        (stood,), (gap,) = walked.of("stood by"), walked.of("interrupted")
        assert stood["seconds"] == 120
        assert gap["gap_ms"] >= 600_000

    def test_the_hand_over_is_kept_with_what_was_acknowledged(self, walked):
        (handed,) = walked.of("handed over")
        assert (handed["by"], handed["to"]) == ("inspector one", "B2")
        assert handed["open"] == 9
        told = [(body["told"], body["by"]) for body in walked.of("acknowledged")]
        assert told == [("hand-over-discrepancies", "B2"), ("hand-over-not-called", "B2")]

    def test_the_close_is_refused_until_all_is_done(self, walked):
        assert [outcome.closed for outcome in walked.outcomes] == [False, True]
        refused = walked.of("command")[-1]
        assert (refused["command"], refused["open"]) == ("walkaround complete", ["landing-light"])

    def test_power_off_and_power_on_are_complete(self, walked, card):
        told = summary(walked.entries)
        assert len(told.results) == len(card) == 119
        assert told.open_count == 0
        assert {station.phase for station in card.stations} >= {"power off", "power on"}

    def test_the_record_is_whole_and_reproduces_itself(self, walked, card):
        assert verify(walked.record).ok
        walk = replay(card, enumerate(walked.bodies, 1), WalkSettings())
        assert (walk.memory.state, walk.memory.inspector) == ("closed", "B2")
