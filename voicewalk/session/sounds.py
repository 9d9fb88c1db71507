"""From sound to the walk: segments of speech are heard and become calls.

Only what was said while the tool was silent is a call; the one word heard while it speaks is
"stop". What is not for the tool leaves no trace but a count. Of two channels the left is the
inspector's and the right the second person's; an answer that was begun before its question was put
is none.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
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
    Waiting,
)
from voicewalk.audio.segment import Segment, Segmenter, SpeechDetector
from voicewalk.audio.stereo import StereoSegmenter, Voiced
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.language.meaning import Command, Expectation
from voicewalk.record.clip import Clip, decode_clip, encode_clip
from voicewalk.session.events import CallHeard, Refused, RemarkHeard, Trouble, Why
from voicewalk.session.loop import Loop, input_of
from voicewalk.session.trust import CLIPPED, CUT, FAINT, QUIET, is_quiet, trusted
from voicewalk.settings import AudioSettings, SessionSettings
from voicewalk.walk.messages import (
    INSPECTOR,
    SECOND,
    DeviceBack,
    DeviceLost,
    Json,
    Listen,
    RemarkSpoken,
    Say,
    SoundLost,
)


class Hears(Protocol):
    """Ears; ``hearing.ears.Ears`` are."""

    def hear(self, samples: Samples, sound: Sound, expectation: Expectation) -> Heard:
        """Hear one clip."""

    def transcribe(self, samples: Samples) -> str:
        """Write down free speech, as a help."""


def listen(
    loop: Loop,
    source: AudioSource,
    ears: Hears,
    settings: AudioSettings | None = None,
    *,
    stereo: bool = False,
    live: bool = False,
) -> None:
    """Hear the source's calls until it ends or the walk is closed.

    Args:
        stereo: the source has two columns, for two people.
        live: it is a microphone: its counter tells how long ago a call was said, however long
            it has waited to be heard.
    """
    settings = settings or AudioSettings()
    loop.speaker.follow(lambda: source.position)
    segmenter = StereoSegmenter(settings) if stereo else Segmenter(SpeechDetector(), settings)
    with (
        _ears_thread() as thread,
        contextlib.closing(_Hearing(loop, source, ears, thread, settings, live)) as hearing,
    ):
        for part in source.blocks():
            found = segmenter.push(part) if isinstance(part, Block) else segmenter.interrupt(part)
            for each in found:
                hearing.take(each)
            loop.pass_time()
            if loop.finished:
                return
            hearing.heed_gap()
            hearing.foresee(segmenter)
        for each in segmenter.finish():
            hearing.take(each)


@contextlib.contextmanager
def _ears_thread() -> Iterator[ThreadPoolExecutor]:
    """A thread for the ears. After Ctrl-C nobody waits for what it still hears."""
    thread = ThreadPoolExecutor(1, "ears")
    try:
        yield thread
    except BaseException:
        thread.shutdown(wait=False, cancel_futures=True)
        raise
    thread.shutdown()


@dataclass(frozen=True, slots=True)
class _Voice:
    """A segment and who spoke in it; ``channel`` is evidence of that, none of a mono source."""

    segment: Segment
    by: str = INSPECTOR
    channel: Json = field(default_factory=dict)


def _voice(part: Segment | Voiced) -> _Voice:
    if isinstance(part, Segment):
        return _Voice(part)
    channel: Json = {"channel": _SIDES[part.channel], "lead_db": f"{part.lead_db:.0f}"}
    return _Voice(part.segment, _PEOPLE[part.channel], channel)


_SIDES, _PEOPLE = ("left", "right"), (INSPECTOR, SECOND)


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

    def __init__(
        self,
        loop: Loop,
        source: AudioSource,
        ears: Hears,
        thread: ThreadPoolExecutor,
        settings: AudioSettings,
        live: bool,
    ) -> None:
        self._loop = loop
        self._source = source
        self._settings = settings
        self._quiet: frozenset[str] = frozenset()  # whose last call was too quiet, and was told
        self._ears = ears
        self._thread = thread
        self._live = live
        self._gap: SamplesLost | None = None  # not told yet
        self._gap_told: int | None = None  # when one was told last, by the source's counter
        self._begun: dict[str, _Begun] = {}  # by who spoke

    def foresee(self, segmenter: Segmenter | StereoSegmenter) -> None:
        """Begin to hear the segments that will come if nothing more is said."""
        if isinstance(segmenter, StereoSegmenter):
            voices = [_voice(part) for part in segmenter.foreseen() if part.own]
        else:
            one = segmenter.foreseen()
            voices = [_voice(one)] if one is not None else []
        for voice in voices:
            if voice.by == SECOND or not self._loop.listen.remark:
                segment = voice.segment
                clip = encode_clip(segment.samples, segment.start_sample)
                self._begun[voice.by] = self._begin(voice, clip)

    def take(self, part: Segment | Voiced | Notice) -> None:
        match part:
            case Segment() if not self._loop.finished:
                self._segment(_voice(part))
            case Voiced(own=True) if not self._loop.finished:
                self._segment(_voice(part))
            case Voiced(own=False, channel=channel, lead_db=lead) if lead > 0:
                side = _SIDES[channel]
                self._trouble(f"speech on the {side} channel is dropped: it may be either voice")
            case MicrophoneLost(reason=reason):
                self._loop.give(DeviceLost(reason))
            case MicrophoneBack(device=device, rate=rate):
                self._loop.give(DeviceBack(device, rate))
            case SamplesLost(start=start, count=count):
                self._gap = SamplesLost(start, count + (self._gap.count if self._gap else 0))
                self.heed_gap()
            case Truncated(reason=reason):
                self._trouble(f"the sound file is not whole: {reason}")
            case CallEnded() | Waiting() | Segment() | Voiced():
                pass

    def heed_gap(self, *, at_once: bool = False) -> None:
        """Tell what went missing, but not all the time, where it goes on."""
        gap, told, seconds = self._gap, self._gap_told, SessionSettings().gap_seconds
        if gap is None:
            return
        if at_once or told is None or self._source.position - told >= seconds * RATE:
            self._gap, self._gap_told = None, self._source.position
            lost = f"{gap.count / RATE:.1f} s of sound" if gap.count else "some sound"
            self._trouble(f"{lost} went missing: the machine is too slow or too busy")
            ms = round(gap.count / RATE * 1000)
            self._loop.give(SoundLost(ms, gap.start), ago=self._ago(gap.start))

    def close(self) -> None:
        """Tell what is still to be told."""
        self.heed_gap(at_once=True)

    def _ago(self, sample: int) -> float:
        """How many seconds ago a sample was captured; 0 for a recording."""
        return (self._source.position - sample) / RATE if self._live else 0.0

    def _trouble(self, text: str) -> None:
        self._loop.tell(Trouble(self._loop.now(), text))

    def _segment(self, voice: _Voice) -> None:
        segment = voice.segment
        # What is heard is what is kept, to the last bit.
        clip = encode_clip(segment.samples, segment.start_sample)
        if self._loop.speaker.spoke(segment.speech_start, segment.speech_end):
            self._not_taken(voice, clip, Why.SPOKEN_OVER)
            return
        listen, asked = self._loop.listen, self._loop.told(voice.by, segment.speech_start)
        if voice.by == SECOND and listen.second and asked != listen.second_put.number:
            self._not_taken(voice, clip, Why.BEFORE_ASKED)
        elif listen.remark and voice.by == INSPECTOR and asked == listen.put.number:
            if not segment.faint:  # noise would be kept as the remark that was asked for
                self._remark(voice, clip)
        else:
            self._call(voice, clip, asked)

    def _call(self, voice: _Voice, clip: Clip, asked: int) -> None:
        heard, hearing_ms = self._hear(voice, clip)
        now, segment, by = self._loop.now(), voice.segment, voice.by
        quiet = is_quiet(segment.level_dbfs, self._settings.least_dbfs)
        taken = trusted(heard, cut=segment.cut, quiet=quiet, faint=segment.faint)
        verdict = taken.verdict
        evidence = {**heard.evidence, **_evidence(voice, clip, self._settings)}
        given = input_of(taken, verdict, evidence, by, asked)
        if given is None:
            if not segment.faint:
                self._loop.tell(Refused(now, heard, Why.OUTSIDE, hearing_ms, by))
            return
        notes = _notes(segment, self._settings)
        self._loop.tell(CallHeard(now, heard, verdict, notes, hearing_ms, by))
        self._tell_quiet(by, quiet)
        self._loop.give(given, clip, self._ago(segment.speech_end))

    def _tell_quiet(self, by: str, quiet: bool) -> None:
        """Say once what to do, and again only after a call that was loud enough. Where an
        identity is waited for, the walk itself tells how its sound was."""
        if quiet and by not in self._quiet and not self._loop.listen.expectation.identity:
            self._loop.say(Say("hearing", {"heard": QUIET}))
        self._quiet = self._quiet | {by} if quiet else self._quiet - {by}

    def _remark(self, voice: _Voice, clip: Clip) -> None:
        samples = decode_clip(clip.flac)
        transcript = self._thread.submit(self._ears.transcribe, samples).result()
        self._loop.tell(RemarkHeard(self._loop.now(), transcript))
        evidence: Json = {"how": "sound", **_evidence(voice, clip, self._settings)}
        ago = self._ago(voice.segment.speech_end)
        self._loop.give(RemarkSpoken(transcript, evidence), clip, ago)

    def _not_taken(self, voice: _Voice, clip: Clip, why: Why) -> None:
        heard, hearing_ms = self._hear(voice, clip)
        if not voice.segment.faint:
            self._loop.tell(Refused(self._loop.now(), heard, why, hearing_ms, voice.by))
        understood = heard.verdict is Verdict.UNDERSTOOD and not voice.segment.cut
        if understood and heard.candidates[0].meaning.command == Command.STOP:
            self._loop.speaker.stop()

    def _hear(self, voice: _Voice, clip: Clip) -> tuple[Heard, int]:
        """What is heard, and the milliseconds that it took."""
        begun = self._begun.pop(voice.by, None)
        now = sound_of(voice.segment), _expected(self._loop.listen, voice.by)
        if begun is None or (begun.clip, begun.sound, begun.expectation) != (clip, *now):
            begun = self._begin(voice, clip)
        return begun.heard.result()

    def _begin(self, voice: _Voice, clip: Clip) -> _Begun:
        sound, expectation = sound_of(voice.segment), _expected(self._loop.listen, voice.by)

        def hear() -> tuple[Heard, int]:
            before = self._loop.now().monotonic_ms
            heard = self._ears.hear(decode_clip(clip.flac), sound, expectation)
            return heard, self._loop.now().monotonic_ms - before

        return _Begun(clip, sound, expectation, self._thread.submit(hear))


def _expected(listen: Listen, by: str) -> Expectation:
    return (listen.second or Expectation()) if by == SECOND else listen.expectation


def sound_of(segment: Segment) -> Sound:
    """What hearing is told of a segment besides its samples."""
    return Sound(len(segment.samples) / RATE, segment.snr_db, segment.faint)


def _notes(segment: Segment, settings: AudioSettings) -> tuple[str, ...]:
    quiet = is_quiet(segment.level_dbfs, settings.least_dbfs)
    found = {CUT: segment.cut, CLIPPED: segment.clipped, FAINT: segment.faint, QUIET: quiet}
    return tuple(note for note, is_so in found.items() if is_so)


def _evidence(voice: _Voice, clip: Clip, settings: AudioSettings) -> Json:
    """What the record keeps of the sound besides the sound itself."""
    segment = voice.segment
    return {
        "clip": clip.sha256,
        "sound": {
            "level_dbfs": f"{segment.level_dbfs:.0f}",
            "snr_db": f"{segment.snr_db:.0f}",
            "speech_probability": f"{segment.speech_probability:.2f}",
            "notes": list(_notes(segment, settings)),
            **voice.channel,
        },
    }
