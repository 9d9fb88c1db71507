"""Practice: phrases are shown and spoken, the caller says each, and what was heard is told.

Which phrases, and what comes of it, is ``practice``'s. Nothing is recorded. As in a walk, what
is said while the tool speaks is no answer, "stop" aside.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from enum import Enum, auto

from voicewalk.audio.frames import (
    RATE,
    AudioSource,
    Block,
    CallEnded,
    MicrophoneBack,
    MicrophoneLost,
    Notice,
    SamplesLost,
    Truncated,
)
from voicewalk.audio.segment import Segment, Segmenter, SpeechDetector
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.language.meaning import NO_CALL, Act, Command
from voicewalk.language.phrases import Phrase
from voicewalk.practice.trial import Outcome, Trial
from voicewalk.session.sounds import Hears, sound_of
from voicewalk.session.speaking import Speaker
from voicewalk.session.trust import is_quiet, trusted
from voicewalk.settings import AudioSettings, SessionSettings
from voicewalk.voice.aloud import aloud

Show = Callable[[str], None]

LEADING = (Command.STOP, Command.SAY_AGAIN, Command.NEXT)
"""Commands that lead the practice, where they are not the phrase itself."""

AHEAD = 3
"""So many phrases further on a recording is looked for, where what is heard is none of its own."""


class Voice(Enum):
    """Who says the phrases."""

    CALLER = auto()  # hears what is asked for, may lead with commands, and may be silent
    TALK = auto()  # one recording of all of them, in their order
    RECORDINGS = auto()  # one recording of each; the source tells where it ends


def practise(
    phrases: Sequence[Phrase],
    source: AudioSource,
    ears: Hears,
    speaker: Speaker,
    show: Show,
    *,
    voice: Voice = Voice.CALLER,
    settings: SessionSettings | None = None,
) -> list[Trial]:
    """Practise until the phrases or the source end, "stop" is said, or Ctrl-C."""
    practice = _Practice(phrases, ears, speaker, show, voice, settings or SessionSettings())
    segmenter = Segmenter(SpeechDetector(), AudioSettings())
    try:
        practice.pass_time(0.0)
        for part in source.blocks():
            found = segmenter.push(part) if isinstance(part, Block) else segmenter.interrupt(part)
            practice.take(found)
            practice.pass_time(source.position / RATE)
            if practice.ended:
                break
        else:
            practice.take(segmenter.finish())
            practice.source_ended()
    except KeyboardInterrupt:
        speaker.stop()
    return practice.trials


class _Practice:
    """One phrase after the other."""

    def __init__(
        self,
        phrases: Sequence[Phrase],
        ears: Hears,
        speaker: Speaker,
        show: Show,
        voice: Voice,
        settings: SessionSettings,
    ) -> None:
        self.trials: list[Trial] = []
        self.ended = not phrases
        self._phrases = phrases
        self._ears = ears
        self._speaker = speaker
        self._show = show
        self._voice = voice
        self._patience = settings.practice_seconds
        self._at = 0
        self._answered = False  # in this recording, where each has its own
        self._asked = 0  # how often the present phrase was asked for
        self._since = 0.0

    def take(self, found: Iterable[Segment | Notice]) -> None:
        for part in found:
            if self.ended:
                return
            match part:
                case Segment():
                    self._segment(part)
                case CallEnded():
                    self._call_ended()
                case MicrophoneLost(reason=reason) | Truncated(reason=reason):
                    self._show(f"the sound breaks off: {reason}")
                case MicrophoneBack():
                    self._show("the microphone is back")
                case SamplesLost():
                    self._show("some sound went missing: the machine is too slow or too busy")

    def source_ended(self) -> None:
        """Tell which phrases never came."""
        if not self.ended:
            self._show(f"the sound ended before {len(self._phrases) - self._at} of the phrases")

    def pass_time(self, seconds: float) -> None:
        """Ask for the phrase, once more after a while, and then leave it. A recording takes the
        time that it takes."""
        if self.ended:
            return
        if self._speaker.speaking:
            self._since = seconds
        called = self._voice is Voice.CALLER
        waited = called and seconds - self._since >= self._patience
        if waited and self._asked == 2:
            self._keep(Trial(self._phrase, None), "no speech")
        if not self.ended and (not self._asked or waited):
            self._ask()
            self._since = seconds

    @property
    def _phrase(self) -> Phrase:
        return self._phrases[self._at]

    def _ask(self) -> None:
        asked = f'  (asked: "{self._phrase.asked}")' if self._phrase.asked else ""
        self._show(f"{self._at + 1}/{len(self._phrases)}  say: {self._phrase.text}{asked}")
        self._speaker.say("practice", aloud(self._phrase.text))
        self._asked += 1

    def _next(self) -> None:
        self._at += 1
        self._asked = 0
        self.ended = self._at == len(self._phrases)

    def _keep(self, trial: Trial, told: str) -> None:
        self.trials.append(trial)
        self._show(f"      {told}")
        self._next()

    def _call_ended(self) -> None:
        if self._voice is Voice.RECORDINGS and not self._answered:
            self._keep(Trial(self._phrase, None), "no speech")
        self._answered = False

    def _segment(self, segment: Segment) -> None:
        if self._answered:
            return
        heard = self._ears.hear(segment.samples, sound_of(segment), self._phrase.expectation)
        if segment.faint and heard.verdict is Verdict.OUTSIDE:
            return  # perhaps nobody spoke
        if self._voice is Voice.CALLER:
            self._said(segment, heard)
        elif self._voice is Voice.TALK and self._again(segment, heard):
            return
        else:
            self._answered = self._voice is Voice.RECORDINGS
            self._answer(segment, heard)

    def _said(self, segment: Segment, heard: Heard) -> None:
        """A caller said something: a command, or the phrase, if it was the time for it."""
        spoken_over = self._speaker.spoke(segment.speech_start, segment.speech_end)
        lead = "" if segment.cut else self._leading(heard)
        if lead == Command.STOP:
            self._speaker.stop()
            self.ended = True
        elif spoken_over:
            self._show("      spoken while the tool spoke: wait for its end")
        elif segment.speech_start < self._since * RATE:
            self._show("      spoken before the phrase was: say it now")
        elif lead == Command.NEXT:
            self._next()
        elif lead == Command.SAY_AGAIN:
            self._asked = 0
        else:
            self._answer(segment, heard)

    def _answer(self, segment: Segment, heard: Heard) -> None:
        trial = _trial(self._phrase, segment, heard)
        self._keep(trial, _told(trial))

    def _again(self, segment: Segment, heard: Heard) -> bool:
        """Find the place in one long recording again. A pause that was too short, or one within
        a phrase, must not hold every phrase after it against the wrong words.

        Returns whether what was heard is the phrase before, and so is counted already.
        """
        meaning = heard.candidates[0].meaning if heard.candidates else None
        nearby = [phrase.meaning for phrase in self._phrases[self._at : self._at + AHEAD + 1]]
        if meaning in nearby:
            for _ in range(nearby.index(meaning)):
                self._keep(Trial(self._phrase, None), "not found: make a longer pause before it")
                self.pass_time(0.0)
            return False
        before = self._phrases[self._at - 1] if self._at else None
        if before is None or meaning != before.meaning:
            return False
        self.trials[-1] = _trial(before, segment, heard)
        self._show(f"      this was the phrase before: {_told(self.trials[-1])}")
        return True

    def _leading(self, heard: Heard) -> str:
        if heard.verdict is not Verdict.UNDERSTOOD:
            return ""
        said = heard.candidates[0].meaning
        leads = said.act is Act.COMMAND and said.command in LEADING
        return said.command if leads and said != self._phrase.meaning else ""


def _trial(phrase: Phrase, segment: Segment, heard: Heard) -> Trial:
    quiet = is_quiet(segment.level_dbfs)
    verdict = trusted(
        heard, cut=segment.cut, quiet=quiet, faint=segment.faint
    ).verdict  # as in a walk
    if heard.candidates and heard.candidates[0].meaning.act in NO_CALL:
        verdict = Verdict.UNCLEAR  # nothing would be recorded
    return Trial(
        phrase,
        verdict,
        heard.candidates,
        _transcript(heard),
        segment.level_dbfs,
        segment.snr_db,
        segment.clipped,
    )


def _transcript(heard: Heard) -> str:
    """What the first listener wrote when nothing held it."""
    listeners = heard.evidence.get("listeners")
    return str(listeners[0]["text"]) if isinstance(listeners, list) and listeners else ""


def _told(trial: Trial) -> str:
    if trial.mistaken:
        return f"TAKEN FOR: {trial.mistaken}"
    match trial.outcome:
        case Outcome.HEARD:
            return "understood"
        case Outcome.ASKED:
            return "asked back: " + " or ".join(one.words for one in trial.candidates)
    heard = " or ".join(one.words for one in trial.candidates) or trial.transcript
    return f'missed: heard as "{heard}"' if heard else "missed"
