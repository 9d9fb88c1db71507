"""The talk on a terminal: every line says in words what it is, in a pipe as on a screen."""

from io import StringIO

import pytest
from rich.console import Console
from session_booth import Clock

from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.meaning import Act, Meaning
from voicewalk.session.events import (
    CallHeard,
    Kept,
    NotKept,
    Refused,
    RemarkHeard,
    Said,
    Tally,
    Trouble,
    Why,
)
from voicewalk.session.terminal import Terminal

AT = Clock()()
EVIDENCE = {
    "probability": "0.988",
    "how": "sound",
    "listeners": [
        {"name": "letters", "text": "radome good", "score": "-0.4"},
        {"name": "words", "text": "Radome [bold]good.", "score": "-1.0"},
    ],
}
ALONE = {"how": "sound", "listeners": [{"name": "vosk", "text": "radome good", "score": "0.0"}]}
ENTRY = {"kind": "item", "item": "radome", "name": "radome", "result": "satisfactory"}


def heard(verdict, how="sound", evidence=EVIDENCE):
    candidate = Candidate(Meaning(Act.SATISFACTORY, item="radome"), "radome good")
    return Heard(verdict, (candidate,), 0.98765, how, evidence=evidence)


def shown(*events, terminal=False, refused=False):
    file = StringIO()
    console = Console(file=file, force_terminal=terminal, no_color=True, width=200, highlight=False)
    with Terminal(console, refused=refused) as screen:
        for event in events:
            screen(event)
    return file.getvalue()


@pytest.mark.parametrize(
    ("event", "lines"),
    [
        (
            CallHeard(AT, heard(Verdict.UNDERSTOOD), Verdict.UNDERSTOOD),
            [
                '00:00:00  caller   letters "radome good" -0.4 | words "Radome [bold]good." -1.0',
                '                   understood 0.988 "radome good"',
            ],
        ),
        (
            CallHeard(AT, heard(Verdict.UNDERSTOOD), Verdict.UNCLEAR, ("cut",)),
            [
                '00:00:00  caller   letters "radome good" -0.4 | words "Radome [bold]good." -1.0',
                "                   not understood 0.988, sound cut",
            ],
        ),
        (
            # one listener alone: no probability is claimed
            CallHeard(AT, heard(Verdict.ASK, evidence=ALONE), Verdict.ASK),
            [
                '00:00:00  caller   vosk "radome good" 0.0',
                '                   asked back "radome good"',
            ],
        ),
        (
            CallHeard(
                AT, heard(Verdict.ASK, "typed", {"how": "typed", "text": "radme"}), Verdict.ASK
            ),
            [
                '00:00:00  caller   typed "radme"',
                '                   asked back "radome good"',
            ],
        ),
        (
            CallHeard(
                AT,
                heard(Verdict.UNDERSTOOD, "typed", {"how": "typed", "text": "radome good"}),
                Verdict.UNDERSTOOD,
            ),
            ['00:00:00  caller   typed "radome good"'],
        ),
        (
            Refused(AT, heard(Verdict.OUTSIDE), Why.OUTSIDE),
            ["00:00:00  caller   refused: not for the tool; nothing of it is kept"],
        ),
        (RemarkHeard(AT, "a cart"), ['00:00:00  caller   remark: "a cart"']),
        (Said(AT, "item", "nose. radome."), ["00:00:00  tool     nose. radome."]),
        (
            Kept(AT, 2, ENTRY, 1, 118),
            ["00:00:00  record   #2 radome: satisfactory  [1/119 items]"],
        ),
        (NotKept(AT, "the disk is full"), ["00:00:00  record   NOT KEPT: the disk is full"]),
        (Trouble(AT, "it breaks off"), ["00:00:00  sound    it breaks off"]),
    ],
)
def test_lines_in_a_pipe(event, lines):
    assert shown(event).splitlines() == lines


@pytest.mark.parametrize("why", Why)
def test_words_of_refused_speech_are_shown_only_where_that_was_asked_for(why):
    event = Refused(AT, heard(Verdict.OUTSIDE), why)
    assert "good" not in shown(event)
    assert shown(event, refused=True).splitlines() == [
        '00:00:00  caller   letters "radome good" -0.4 | words "Radome [bold]good." -1.0',
        f"                   refused: {why}; nothing of it is kept",
    ]


def test_a_screen_has_the_same_lines_and_how_far_the_walk_is():
    text = shown(Kept(AT, 2, ENTRY, 1, 118), terminal=True)
    assert "#2 radome: satisfactory" in text
    assert "[1/119 items]" not in text
    assert "1/119 items have a result" in text


def test_what_was_heard_cannot_steer_the_terminal():
    assert "\x1b" not in shown(RemarkHeard(AT, "a \x1b[2J cart"))


def test_the_prompt_asks_for_a_line():
    file = StringIO()
    Terminal(Console(file=file, width=80), progress=False).prompt()
    assert file.getvalue() == "> "


def test_the_tally_counts_what_no_record_holds():
    tally = Tally()
    for event in (
        CallHeard(AT, heard(Verdict.UNDERSTOOD), Verdict.UNDERSTOOD, (), 500),
        CallHeard(AT, heard(Verdict.UNDERSTOOD), Verdict.UNCLEAR, ("cut",), 400),
        CallHeard(AT, heard(Verdict.ASK), Verdict.ASK, (), 300),
        Refused(AT, heard(Verdict.OUTSIDE), Why.OUTSIDE, 200),
        Refused(AT, heard(Verdict.UNDERSTOOD), Why.SPOKEN_OVER, 100),
        Said(AT, "item", "nose. radome."),
    ):
        tally(event)
    assert tally == Tally(calls=3, asked_back=2, refused=1, spoken_over=1, hearing_ms=1500)
