"""Public reports in sound: their calls are spoken and heard by the real ears, in no other way than
on a walk, and the record must show the same as where they are typed.

Each scenario is the typed test itself, its report named there, with a caller who speaks by Debian's
flite, and who affirms what is asked back as it was said. What closes the rest of the walk is typed.
"""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest
import scenario_booth
import test_scenarios_counts as counts
import test_scenarios_findings as findings
import test_scenarios_interruptions as interruptions
import test_scenarios_shifts as shifts

from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.hearing.ears import Ears
from voicewalk.hearing.heard import Verdict
from voicewalk.language.meaning import Expectation
from voicewalk.language.spelling import aloud
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.loop import input_of
from voicewalk.session.sounds import sound_of
from voicewalk.walk.messages import INSPECTOR, Effect, Listen

pytestmark = [pytest.mark.models, pytest.mark.synth, pytest.mark.slow]

Scenario = Callable[[], None]
VOICE = "flite:rms"

SCENARIOS: tuple[tuple[ModuleType, Scenario], ...] = (
    (counts, counts.test_three_covers_on_and_two_off),
    (counts, counts.test_a_count_of_flags_is_no_count_of_covers),
    (counts, counts.test_three_of_five_pins),
    (counts, counts.test_right_plug_out_and_the_left_one_is_somebody_elses),
    (counts, counts.test_controls_free_does_not_call_the_lock),
    (counts, counts.test_the_right_panel_does_not_close_the_left),
    (counts, counts.test_a_door_that_is_closed_is_not_locked),
    (findings, findings.test_a_leak_is_not_closed_by_a_word),
    (findings, findings.test_a_tyre_is_read_and_not_looked_at),
    (findings, findings.test_a_checked_bottle_keeps_its_number),
    (
        interruptions,
        interruptions.test_a_door_called_before_an_interruption_is_called_again,
    ),
    (shifts, shifts.test_what_one_shift_took_off_stays_open_for_the_next),
)


@pytest.fixture(scope="module")
def ears() -> Ears:
    card = load_card(card_path("light-turboprop"))
    return Ears(card, vocabulary_of(card), lexicon_path(card))


@pytest.fixture
def spoken(ears, synth):
    """An aircraft whose inspector speaks."""

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
            samples = synth(line.replace("psi", "p s i"), VOICE)
            loud = np.asarray(samples * (0.3 / np.abs(samples).max()), np.float32)
            source = ScriptedSource([ScriptedCall(loud)])
            source.next_call()
            (piece,) = (one for one in segment(source) if isinstance(one, Segment))
            sound = sound_of(piece)
            heard = ears.hear(piece.samples, sound, self.listen.expectation)
            told = [one.words for one in heard.candidates]
            doubted = heard.verdict is Verdict.ASK and told == [line]
            assert doubted or heard.verdict is Verdict.UNDERSTOOD, (line, heard.verdict, told)
            self.said = []
            self.receive(input_of(heard, heard.verdict, heard.evidence, INSPECTOR))
            if doubted:  # it was read back as it was said
                self._say("affirm")

    return Spoken


@pytest.mark.parametrize(
    ("module", "scenario"), SCENARIOS, ids=[scenario.__name__ for _, scenario in SCENARIOS]
)
def test_the_record_shows_the_same_in_sound(module, scenario, spoken, monkeypatch):
    monkeypatch.setattr(module, "Stand", spoken)
    scenario()
