"""Practice at recorded calls: ears told what to hear, and the real ones."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile
from session_booth import Ears, command, heard

from voicewalk.audio.frames import RATE, Block, MicrophoneBack, MicrophoneLost, SamplesLost
from voicewalk.audio.playback import Played
from voicewalk.audio.scripted import ScriptedCall
from voicewalk.errors import VoicewalkError
from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.build import phrase_graph
from voicewalk.language.phrases import phrase_of
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.practice.report import report
from voicewalk.practice.trial import Outcome
from voicewalk.session import practice as practice_room
from voicewalk.session.demo import FIXTURES, Caller, read_script, scripted
from voicewalk.session.practice import Practice, Spoken
from voicewalk.session.practising import AHEAD, Voice, practise
from voicewalk.session.speaking import Speaker
from voicewalk.settings import SessionSettings

CALLS = scripted(read_script()[:3], FIXTURES)
SILENCE = np.zeros(RATE, np.float32)
KOREAN = "tow-tractor-korean"


@pytest.fixture(scope="module")
def phrases():
    practice = Practice("jet-trainer")
    graph = phrase_graph(practice.card, vocabulary_of(practice.card))
    texts = ("radome satisfactory", "rudder satisfactory", "nose tyre cut")
    return [phrase_of(practice.card, graph, text) for text in texts]


class Told:
    """What is shown."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def __call__(self, line: str) -> None:
        self.lines.append(line.strip())

    @property
    def asked(self) -> list[str]:
        return [line.partition("say: ")[2] for line in self.lines if "say: " in line]


def right(phrase) -> Heard:
    return Heard(
        Verdict.UNDERSTOOD,
        (Candidate(phrase.meaning, phrase.text),),
        0.9,
        "sound",
        evidence={"listeners": [{"name": "words", "text": phrase.text, "score": "0"}]},
    )


def unheard() -> Heard:
    return heard(verdict=Verdict.UNCLEAR)


class Stream:
    """Calls in one stream, as from a microphone: nothing tells where each ends."""

    def __init__(self, *parts) -> None:
        self._parts = parts
        self.position = 0

    def blocks(self):
        for part in self._parts:
            if not isinstance(part, np.ndarray):
                yield part
                continue
            for at in range(0, len(part), 512):
                block = Block(part[at : at + 512], self.position)
                self.position = block.end
                yield block

    def close(self) -> None:
        pass


def stream(*calls) -> Stream:
    parts = [part for call in calls for part in (SILENCE, call.samples, SILENCE)]
    return Stream(*parts)


def test_each_recording_has_its_phrase(phrases):
    told, ears = Told(), Ears([right(phrases[0]), unheard(), right(phrases[1])])
    source = Caller(CALLS, lambda samples, rate: None)
    trials = practise(phrases, source, ears, Speaker(), told, voice=Voice.RECORDINGS)
    assert [trial.outcome for trial in trials] == [Outcome.HEARD, Outcome.MISSED, Outcome.MISSED]
    assert [trial.phrase for trial in trials] == phrases
    assert told.asked == [phrase.text for phrase in phrases]
    assert told.lines[1] == "understood"
    assert told.lines[5].startswith("TAKEN FOR: rudder")
    assert all(-60 < trial.level_dbfs < 0 for trial in trials)
    assert trials[0].transcript == "radome satisfactory"


def test_a_recording_without_speech_is_told(phrases):
    calls = [ScriptedCall(SILENCE), *CALLS[1:]]
    told, ears = Told(), Ears([right(phrases[1]), right(phrases[2])])
    source = Caller(calls, lambda samples, rate: None)
    trials = practise(phrases, source, ears, Speaker(), told, voice=Voice.RECORDINGS)
    assert [trial.verdict for trial in trials] == [None, Verdict.UNDERSTOOD, Verdict.UNDERSTOOD]
    assert told.lines[1] == "no speech"


def test_in_a_recording_of_its_own_nothing_leads(phrases):
    ears = Ears([heard(command("stop")), right(phrases[1])])
    source = Caller(CALLS[:2], lambda samples, rate: None)
    trials = practise(phrases[:2], source, ears, Speaker(), Told(), voice=Voice.RECORDINGS)
    assert [trial.outcome for trial in trials] == [Outcome.MISSED, Outcome.HEARD]


def talk(phrases, *hearings) -> tuple[list, Told]:
    told, ears = Told(), Ears(list(hearings))
    parts = stream(*(CALLS[at % 3] for at in range(len(hearings))))
    trials = practise(phrases, parts, ears, Speaker(), told, voice=Voice.TALK)
    assert ears.to_hear == []
    return trials, told


def test_two_phrases_in_one_breath_do_not_spoil_the_others(phrases):
    trials, told = talk(phrases, unheard(), right(phrases[2]))
    assert [trial.phrase for trial in trials] == phrases
    assert [trial.outcome for trial in trials] == [Outcome.MISSED, Outcome.MISSED, Outcome.HEARD]
    assert trials[1].verdict is None
    assert told.asked == [phrase.text for phrase in phrases]
    assert "not found: make a longer pause before it" in told.lines


def test_a_phrase_that_fell_apart_does_not_spoil_the_others(phrases):
    trials, told = talk(phrases, unheard(), unheard(), right(phrases[1]), right(phrases[2]))
    assert [trial.phrase for trial in trials] == phrases
    assert [trial.outcome for trial in trials] == [Outcome.MISSED, Outcome.HEARD, Outcome.HEARD]
    assert "this was the phrase before: understood" in told.lines


def test_what_is_heard_for_a_phrase_far_on_is_a_mistake(phrases):
    row = [phrases[0]] + [phrases[1]] * AHEAD + [phrases[2]]
    trials, told = talk(row, right(phrases[2]))
    assert [trial.mistaken for trial in trials] == [phrases[2].text]
    assert told.lines[-1] == f"the sound ended before {AHEAD + 1} of the phrases"


def test_in_one_long_recording_nothing_leads_and_silence_is_patient(phrases):
    source = Stream(np.zeros(40 * RATE, np.float32), CALLS[0].samples, SILENCE)
    ears, told = Ears([heard(command("stop"))]), Told()
    trials = practise(phrases, source, ears, Speaker(), told, voice=Voice.TALK)
    assert [trial.phrase for trial in trials] == phrases[:1]
    assert told.asked == [phrase.text for phrase in phrases[:2]]


def test_the_practice_ends_with_its_phrases(phrases):
    ears = Ears([right(phrases[0]), right(phrases[1])])
    trials = practise(phrases[:2], stream(*CALLS), ears, Speaker(), Told())
    assert len(trials) == 2
    assert ears.to_hear == []


@pytest.mark.parametrize(
    ("said", "asked", "kept"),
    [
        ("stop", [0], 0),
        ("next", [0, 1, 2], 2),
        ("say again", [0, 0, 1], 2),
        ("where are we", [0, 1, 2], 3),  # no command of practice: the phrase was missed
    ],
)
def test_commands_lead(phrases, said, asked, kept):
    following = phrases[1:] if said != "say again" else phrases
    ears = Ears([heard(command(said)), *map(right, following)])
    told = Told()
    trials = practise(phrases, stream(*CALLS), ears, Speaker(), told)
    assert told.asked[:3] == [phrases[at].text for at in asked]
    assert len(trials) == kept


def test_a_phrase_that_is_a_command_does_not_lead(phrases):
    practice = Practice("jet-trainer")
    graph = phrase_graph(practice.card, vocabulary_of(practice.card))
    stop = phrase_of(practice.card, graph, "stop")
    trials = practise(
        [stop, phrases[0]],
        stream(*CALLS[:2]),
        Ears([right(stop), right(phrases[0])]),
        Speaker(),
        Told(),
    )
    assert [trial.outcome for trial in trials] == [Outcome.HEARD] * 2


def test_what_is_not_spoken_is_asked_for_once_more_and_left(phrases):
    told = Told()
    settings = SessionSettings(practice_seconds=4.0)
    source = Stream(np.zeros(9 * RATE, np.float32), CALLS[1].samples, SILENCE)
    trials = practise(
        phrases[:2], source, Ears([right(phrases[1])]), Speaker(), told, settings=settings
    )
    assert told.asked == [phrases[0].text, phrases[0].text, phrases[1].text]
    assert [trial.verdict for trial in trials] == [None, Verdict.UNDERSTOOD]


def test_what_began_before_the_phrase_was_asked_for_is_no_answer(phrases):
    told = Told()
    settings = SessionSettings(practice_seconds=0.7)  # left while the caller speaks
    source = Stream(SILENCE, CALLS[0].samples, SILENCE)
    trials = practise(
        phrases, source, Ears([right(phrases[0])]), Speaker(), told, settings=settings
    )
    assert trials[0].verdict is None
    assert "spoken before the phrase was: say it now" in told.lines


class Spoke(Speaker):
    """One that spoke all the time."""

    def spoke(self, start: int, end: int) -> bool:
        return True


@pytest.mark.parametrize(("said", "asked"), [("radome", 1), ("stop", 1)])
def test_what_is_said_while_the_tool_speaks_is_no_answer(phrases, said, asked):
    told = Told()
    answer = heard(command("stop")) if said == "stop" else right(phrases[0])
    trials = practise(phrases, stream(CALLS[0]), Ears([answer]), Spoke(), told)
    assert trials == []
    assert len(told.asked) == asked
    assert ("spoken while the tool spoke: wait for its end" in told.lines) is (said != "stop")


def test_troubles_of_the_sound_are_told(phrases):
    told = Told()
    source = Stream(SamplesLost(0, 10), MicrophoneLost(0, "unplugged"), MicrophoneBack(0))
    assert practise(phrases, source, Ears([]), Speaker(), told) == []
    assert told.lines[1:] == [
        "some sound went missing: the machine is too slow or too busy",
        "the sound breaks off: unplugged",
        "the microphone is back",
        "the sound ended before 3 of the phrases",
    ]


def test_ctrl_c_ends_it_and_keeps_what_was_said(phrases):
    class Interrupted(Stream):
        def blocks(self):
            yield from super().blocks()
            raise KeyboardInterrupt

    source = Interrupted(SILENCE, CALLS[0].samples, SILENCE)
    trials = practise(phrases, source, Ears([right(phrases[0])]), Speaker(), Told())
    assert len(trials) == 1


def test_phrases_are_spoken_as_they_are_said(phrases):
    said: list[str] = []

    class Voice:
        def synthesise(self, text):
            said.append(text)
            raise VoicewalkError("no voice", "None.")

    class Silent:
        def play(self, samples, rate):
            return Played.ENDED

        def stop(self):
            pass

        def close(self):
            pass

    practise(
        phrases[:1], stream(CALLS[0]), Ears([right(phrases[0])]), Speaker(Voice(), Silent()), Told()
    )
    assert said == ["radome satisfactory"]


# --- what practice works with ----------------------------------------------------------------


def test_a_text_that_is_no_call_is_refused(monkeypatch):
    monkeypatch.setattr(practice_room, "open_ears", lambda card, vocabulary: Ears([]))
    spoken = [Spoken("a.flac", "the ship was torn apart", SILENCE)]
    with pytest.raises(VoicewalkError, match=r"a\.flac: 'the ship was torn apart' is no call"):
        Practice("jet-trainer").from_recordings(spoken, Told())


def test_a_card_in_another_language_is_refused():
    with pytest.raises(VoicewalkError, match="English"):
        Practice(KOREAN)


def test_nothing_is_left_where_the_microphone_is_missing(monkeypatch):
    from voicewalk.audio import devices

    def none():
        raise VoicewalkError("no sound", "None.")

    monkeypatch.setattr(devices, "portaudio", none)
    with pytest.raises(VoicewalkError, match="no sound"):
        Practice("jet-trainer").at_microphone([], Told())


# --- the real ears ---------------------------------------------------------------------------


@pytest.mark.models
@pytest.mark.synth
@pytest.mark.slow
def test_synthesised_callers_practise(synth, tmp_path):
    """Most of what two clear voices say is understood; a caller drowned in noise is told so."""
    practice = Practice("jet-trainer")
    drawn = practice.draw(6, 2)
    voices = ("flite:rms", "flite:awb")
    said = [synth(p.text, voices[at % 2]) for at, p in enumerate(drawn)]
    clear = [Spoken(str(at), p.text, said[at]) for at, p in enumerate(drawn)]
    trials = practice.from_recordings(clear, Told())
    assert [trial.phrase.text for trial in trials] == [phrase.text for phrase in drawn]
    assert sum(trial.outcome is Outcome.HEARD for trial in trials) >= 3
    # the same calls in one file, a pause after each
    parts = [part for sound in said for part in (SILENCE, sound, SILENCE)]
    soundfile.write(tmp_path / "talk.wav", np.concatenate(parts), RATE)
    again = practice.from_file(drawn, tmp_path / "talk.wav", Told())
    assert len(again) == len(drawn)
    assert sum(one.outcome is other.outcome for one, other in zip(trials, again, strict=True)) >= 4
    noise = np.random.default_rng(1)
    drowned = [
        Spoken(
            one.where,
            one.text,
            (one.samples + noise.normal(0, one.samples.std() * 1.5, len(one.samples))).astype(
                np.float32
            ),
        )
        for one in clear
    ]
    worse = practice.from_recordings(drowned, Told())
    heard_worse = sum(trial.outcome is Outcome.HEARD for trial in worse)
    assert heard_worse < sum(trial.outcome is Outcome.HEARD for trial in trials)
    lines = report(worse, practice.terms)
    assert any(": said" in line for line in lines)
    assert any("safer" in line for line in lines)
