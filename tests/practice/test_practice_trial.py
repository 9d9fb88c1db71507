"""What became of a phrase, and which of its words are to blame."""

from __future__ import annotations

import pytest
from practice_trials import asked, heard, missed, mistaken, silent

from voicewalk.practice.trial import Outcome, words_heard

TYRE = "left main tyre pressure two one zero psi"


def blamed(trial) -> dict[str, str]:
    return {w.word: w.taken_for for w in words_heard(trial) if w.outcome is not Outcome.HEARD}


@pytest.mark.parametrize(
    ("trial", "outcome", "other"),
    [
        (heard(TYRE), Outcome.HEARD, ""),
        # the same meaning in other words is heard rightly
        (mistaken(TYRE, "left main tyre pressure two hundred ten psi"), Outcome.HEARD, ""),
        (mistaken("radome satisfactory", "radome dirty"), Outcome.MISSED, "radome dirty"),
        (asked("radome dirty", "radome dirty"), Outcome.ASKED, ""),
        (asked("radome dirty", "radome loose", "radome dirty"), Outcome.ASKED, ""),
        (asked("radome dirty", "radome loose"), Outcome.MISSED, ""),
        (missed("radome dirty"), Outcome.MISSED, ""),
        (silent("radome dirty"), Outcome.MISSED, ""),
    ],
)
def test_what_became_of_a_phrase(trial, outcome, other):
    assert trial.outcome is outcome
    assert trial.mistaken == other


@pytest.mark.parametrize(
    ("trial", "words"),
    [
        (heard(TYRE), {}),
        (mistaken("left pitot cover good", "left pitot probe good"), {"cover": "probe"}),
        (asked("nose tyre dirty", "nose tyre dirty", "nose strut dirty"), {"tyre": "strut"}),
        (asked("left main tyre cut", "right main tyre cut"), {"left": "right"}),
        # the free transcript, where no other candidate tells: by sound, spelling is nothing
        (missed("nose tyre worn", "Nose tie worn."), {"tyre": "tie"}),
        (missed("nose tyre worn", "Nose tire when."), {"worn": "when"}),
        (asked(TYRE, TYRE, transcript="Left mane tire pressure 210 Psi."), {}),
        (missed(TYRE, "Left main tie pressure 210 psi."), {"tyre": "tie"}),
        # a "not" too many
        (
            mistaken("left avionics door latched", "left avionics door not latched"),
            {"door": "door not"},
        ),
        (missed("radome dirty", ""), {"radome": "", "dirty": ""}),
        (missed("radome dirty", "radome dirty"), {"radome": "", "dirty": ""}),
        (silent("nose tyre cut"), {"nose": "", "tyre": "", "cut": ""}),
    ],
)
def test_the_words_to_blame(trial, words):
    if words or trial.outcome is Outcome.HEARD:
        assert blamed(trial) == words
    else:  # nothing sounds unlike, and yet it was asked back: all of it
        assert set(blamed(trial)) == set(trial.phrase.text.split())


def test_every_word_is_accounted_for_in_its_order():
    trial = missed(TYRE, "Lift man tie fresher")
    assert [w.word for w in words_heard(trial)] == TYRE.split()


def test_a_wrong_number_is_blamed_on_its_digits():
    trial = mistaken(TYRE, "left main tyre pressure one one zero psi")
    assert blamed(trial) == {"two": "one"}
