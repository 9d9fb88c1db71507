"""From sound to the walk: segments of speech are heard and become calls.

Only what was said while the tool was silent is a call; the one word heard while it speaks is
"stop". What is not for the tool leaves no trace but a count.
"""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
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
from voicewalk.walk.messages import DeviceBack, DeviceLost, Json, Listen, RemarkSpoken


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
    with ThreadPoolExecutor(1, "ears") as thread:
        hearing = _Hearing(loop, ears, thread)
        for part in source.blocks():
            found = segmenter.push(part) if isinstance(part, Block) else segmenter.interrupt(part)
            for each in found:
                hearing.take(each)
            loop.pass_time()
            if loop.finished:
                return
            hearing.foresee(segmenter)
        for each in segmenter.finish():
            hearing.take(each)


@dataclass(frozen=True, slots=True)
class _Begun:
    """A hearing that has begun, and of what: only of just the same is it the hearing."""

    clip: Clip
    sound: Sound
    expectation: Expectation
    heard: Future[tuple[Heard, int]]


class _Hearing:
    """Makes inputs of the walk out of segments and notices.

    A call's sound is complete before the silence behind it has lasted long enough to end it.
    Hearing begins then, and mostly the silence lasts; where speech goes on, what was begun is
    dropped.
    """

    def __init__(self, loop: Loop, ears: Hears, thread: ThreadPoolExecutor) -> None:
        self._loop = loop
        self._ears = ears
        self._thread = thread
        self._begun: _Begun | None = None

    def foresee(self, segmenter: Segmenter) -> None:
        """Begin to hear the segment that will come if nothing more is said."""
        segment = None if self._loop.listen.remark else segmenter.foreseen()
        if segment is not None:
            self._begun = self._begin(segment, encode_clip(segment.samples, segment.start_sample))

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
        if self._loop.speaker.spoke(segment.speech_start, segment.speech_end):
            self._spoken_over(segment, clip)
        elif self._loop.listen.remark:
            self._remark(segment, clip)
        else:
            self._call(segment, clip)

    def _call(self, segment: Segment, clip: Clip) -> None:
        heard, hearing_ms = self._hear(segment, clip)
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

    def _remark(self, segment: Segment, clip: Clip) -> None:
        samples = decode_clip(clip.flac)
        transcript = self._thread.submit(self._ears.transcribe, samples).result()
        self._loop.tell(RemarkHeard(self._loop.now(), transcript))
        evidence: Json = {"how": "sound", **_evidence(segment, clip)}
        self._loop.give(RemarkSpoken(transcript, evidence), clip)

    def _spoken_over(self, segment: Segment, clip: Clip) -> None:
        heard, hearing_ms = self._hear(segment, clip)
        self._loop.tell(Refused(self._loop.now(), heard, Why.SPOKEN_OVER, hearing_ms))
        understood = heard.verdict is Verdict.UNDERSTOOD and not segment.cut
        if understood and heard.candidates[0].meaning.command == Command.STOP:
            self._loop.speaker.stop()

    def _hear(self, segment: Segment, clip: Clip) -> tuple[Heard, int]:
        """What is heard, and the milliseconds that it took."""
        begun, self._begun = self._begun, None
        now = _sound(segment), _expected(self._loop.listen)
        if begun is None or (begun.clip, begun.sound, begun.expectation) != (clip, *now):
            begun = self._begin(segment, clip)
        return begun.heard.result()

    def _begin(self, segment: Segment, clip: Clip) -> _Begun:
        sound, expectation = _sound(segment), _expected(self._loop.listen)

        def hear() -> tuple[Heard, int]:
            before = self._loop.now().monotonic_ms
            heard = self._ears.hear(decode_clip(clip.flac), sound, expectation)
            return heard, self._loop.now().monotonic_ms - before

        return _Begun(clip, sound, expectation, self._thread.submit(hear))


def _expected(listen: Listen) -> Expectation:
    return replace(listen.expectation, identity=listen.identity)


def _sound(segment: Segment) -> Sound:
    return Sound(len(segment.samples) / RATE, segment.snr_db)


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
