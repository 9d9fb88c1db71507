"""From sound to the walk: segments of speech are heard and become calls.

Only what was said while the tool was silent is a call; the one word heard while it speaks is
"stop". What is not for the tool leaves no trace but a count.
"""

from __future__ import annotations

from typing import Protocol

from voicewalk.audio.frames import (
    RATE,
    AudioSource,
    Block,
    CallEnded,
    MicrophoneBack,
    MicrophoneLost,
    Notice,
    Samples,
    SamplesLost,
    Truncated,
)
from voicewalk.audio.segment import Segment, Segmenter, SpeechDetector
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.language.meaning import Command, Expectation
from voicewalk.record.clip import Clip, decode_clip, encode_clip
from voicewalk.session.events import CallHeard, Refused, RemarkHeard, Trouble, Why
from voicewalk.session.loop import Loop, input_of
from voicewalk.settings import AudioSettings
from voicewalk.walk.messages import DeviceBack, DeviceLost, Json, RemarkSpoken


class Hears(Protocol):
    """Ears; ``hearing.ears.Ears`` are."""

    def hear(self, samples: Samples, sound: Sound, expectation: Expectation) -> Heard:
        """Hear one clip."""

    def transcribe(self, samples: Samples) -> str:
        """Write down free speech, as a help."""


def listen(
    loop: Loop, source: AudioSource, ears: Hears, settings: AudioSettings | None = None
) -> None:
    """Hear the source's calls until it ends or the walk is closed."""
    segmenter = Segmenter(SpeechDetector(), settings or AudioSettings())
    hearing = _Hearing(loop, ears)
    for part in source.blocks():
        found = segmenter.push(part) if isinstance(part, Block) else segmenter.interrupt(part)
        for each in found:
            hearing.take(each)
        loop.pass_time()
        if loop.finished:
            return
    for each in segmenter.finish():
        hearing.take(each)


class _Hearing:
    """Makes inputs of the walk out of segments and notices."""

    def __init__(self, loop: Loop, ears: Hears) -> None:
        self._loop = loop
        self._ears = ears

    def take(self, part: Segment | Notice) -> None:
        match part:
            case Segment() if not self._loop.finished:
                self._segment(part)
            case MicrophoneLost(reason=reason):
                self._loop.give(DeviceLost(reason))
            case MicrophoneBack():
                self._loop.give(DeviceBack())
            case SamplesLost(count=count):
                lost = f"{count / RATE:.1f} s of sound" if count else "some sound"
                self._trouble(f"{lost} went missing: the machine is too slow or too busy")
            case Truncated(reason=reason):
                self._trouble(f"the sound file is not whole: {reason}")
            case CallEnded() | Segment():
                pass

    def _trouble(self, text: str) -> None:
        self._loop.tell(Trouble(self._loop.now(), text))

    def _segment(self, segment: Segment) -> None:
        # What is heard is what is kept, to the last bit.
        clip = encode_clip(segment.samples, segment.start_sample)
        samples = decode_clip(clip.flac)
        if self._loop.speaker.spoke(segment.speech_start, segment.speech_end):
            self._spoken_over(segment, samples)
        elif self._loop.listen.remark:
            self._remark(segment, samples, clip)
        else:
            self._call(segment, samples, clip)

    def _call(self, segment: Segment, samples: Samples, clip: Clip) -> None:
        heard, hearing_ms = self._hear(segment, samples)
        now = self._loop.now()
        verdict = heard.verdict
        if segment.cut and verdict is not Verdict.OUTSIDE:
            verdict = Verdict.UNCLEAR  # a word may be missing, and it may be a "not"
        given = input_of(heard, verdict, {**heard.evidence, **_evidence(segment, clip)})
        if given is None:
            self._loop.tell(Refused(now, heard, Why.OUTSIDE, hearing_ms))
            return
        self._loop.tell(CallHeard(now, heard, verdict, _notes(segment), hearing_ms))
        self._loop.give(given, clip)

    def _remark(self, segment: Segment, samples: Samples, clip: Clip) -> None:
        transcript = self._ears.transcribe(samples)
        self._loop.tell(RemarkHeard(self._loop.now(), transcript))
        evidence: Json = {"how": "sound", **_evidence(segment, clip)}
        self._loop.give(RemarkSpoken(transcript, evidence), clip)

    def _spoken_over(self, segment: Segment, samples: Samples) -> None:
        heard, hearing_ms = self._hear(segment, samples)
        self._loop.tell(Refused(self._loop.now(), heard, Why.SPOKEN_OVER, hearing_ms))
        understood = heard.verdict is Verdict.UNDERSTOOD and not segment.cut
        if understood and heard.candidates[0].meaning.command == Command.STOP:
            self._loop.speaker.stop()

    def _hear(self, segment: Segment, samples: Samples) -> tuple[Heard, int]:
        before = self._loop.now().monotonic_ms
        sound = Sound(len(samples) / RATE, segment.snr_db)
        heard = self._ears.hear(samples, sound, self._loop.listen.expectation)
        return heard, self._loop.now().monotonic_ms - before


def _notes(segment: Segment) -> tuple[str, ...]:
    return tuple(note for note in ("cut", "clipped") if getattr(segment, note))


def _evidence(segment: Segment, clip: Clip) -> Json:
    """What the record keeps of the sound besides the sound itself."""
    return {
        "clip": clip.sha256,
        "sound": {
            "level_dbfs": f"{segment.level_dbfs:.0f}",
            "snr_db": f"{segment.snr_db:.0f}",
            "speech_probability": f"{segment.speech_probability:.2f}",
            "notes": list(_notes(segment)),
        },
    }
