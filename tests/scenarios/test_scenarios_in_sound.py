"""Public reports in sound: their calls are spoken and heard by the real ears, in no other way than
on a walk, and the record must show the same as where they are typed.

Each scenario is the typed test itself, its report named there, with a caller who speaks in a voice
of Debian's flite. What closes the rest of the walk after it is typed as before.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest
import scenario_booth
import test_scenarios_counts as counts
import test_scenarios_findings as findings
import test_scenarios_interruptions as interruptions
import test_scenarios_shifts as shifts

from voicewalk.audio.frames import RATE
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.hearing.ears import Ears
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Verdict
from voicewalk.language.meaning import Expectation
from voicewalk.language.spelling import aloud
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.loop import input_of
from voicewalk.walk.messages import INSPECTOR, Effect, Listen

pytestmark = [pytest.mark.models, pytest.mark.synth, pytest.mark.slow]

Scenario = Callable[[], None]

SCENARIOS: tuple[tuple[ModuleType, Scenario, str], ...] = (
    (counts, counts.test_three_covers_on_and_two_off, "flite:rms"),
    (counts, counts.test_a_count_of_flags_is_no_count_of_covers, "flite:rms"),
    (counts, counts.test_three_of_five_pins, "flite:rms"),
    (counts, counts.test_one_call_for_many_ports, "flite:rms"),
    (counts, counts.test_right_plug_out_and_the_left_one_is_somebody_elses, "flite:rms"),
    (counts, counts.test_controls_free_does_not_call_the_lock, "flite:rms"),
    (counts, counts.test_the_right_panel_does_not_close_the_left, "flite:rms"),
    (counts, counts.test_a_door_that_is_closed_is_not_locked, "flite:rms"),
    (findings, findings.test_a_leak_is_not_closed_by_a_word, "flite:rms"),
    (findings, findings.test_a_tyre_is_read_and_not_looked_at, "flite:rms"),
    (findings, findings.test_a_checked_bottle_keeps_its_number, "flite:rms"),
    (
        interruptions,
        interruptions.test_a_door_called_before_an_interruption_is_called_again,
        "flite:rms",
    ),
    (shifts, shifts.test_what_one_shift_took_off_stays_open_for_the_next, "flite:rms"),
)


@pytest.fixture(scope="module")
def ears() -> Ears:
    card = load_card(card_path("light-turboprop"))
    return Ears(card, vocabulary_of(card), lexicon_path(card))


@pytest.fixture
def spoken(ears, synth):
    """Makes aircraft whose inspector speaks in a voice."""

    def make(voice: str) -> type[scenario_booth.Stand]:
        class Spoken(scenario_booth.Stand):
            """Each line is said, found in its sound, and heard."""

            listen = Listen(Expectation())

            def type(self, *lines: str) -> Spoken:
                for line in lines:
                    self._say(line)
                return self

            def identify(self, *identities: str) -> Spoken:
                return self.type(*(aloud(identity).replace("-", " ") for identity in identities))

            def finish(self, *but: str) -> scenario_booth.Stand:
                self.type = super().type  # type: ignore[method-assign]
                done = super().finish(*but)
                del self.type
                return done

            def carry_out(self, effects: tuple[Effect, ...]) -> None:
                for effect in effects:
                    if isinstance(effect, Listen):
                        self.listen = effect
                super().carry_out(effects)

            def _say(self, line: str) -> None:
                samples = synth(line.replace("psi", "p s i"), voice)
                loud = np.asarray(samples * (0.3 / np.abs(samples).max()), np.float32)
                source = ScriptedSource([ScriptedCall(loud)])
                source.next_call()
                (piece,) = (one for one in segment(source) if isinstance(one, Segment))
                sound = Sound(len(piece.samples) / RATE, piece.snr_db)
                asked = replace(self.listen.expectation, identity=self.listen.identity)
                heard = ears.hear(piece.samples, sound, asked)
                told = [(one.words, heard.probability) for one in heard.candidates]
                assert heard.verdict is Verdict.UNDERSTOOD, f"{line}: {heard.verdict.value} {told}"
                self.said = []
                self.receive(input_of(heard, heard.verdict, heard.evidence, INSPECTOR))

        return Spoken

    return make


@pytest.mark.parametrize(
    ("module", "scenario", "voice"), SCENARIOS, ids=[one[1].__name__ for one in SCENARIOS]
)
def test_the_record_shows_the_same_in_sound(module, scenario, voice, spoken, monkeypatch):
    monkeypatch.setattr(module, "Stand", spoken(voice))
    scenario()
