"""Every threshold and limit with its reason, one frozen dataclass for each room.

What is learnt from data by a command (the judge's thresholds) lies in that command's own
file. Nothing here is read from a file or the environment: a value that changed is a commit.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class AudioSettings:
    """Sound in and out, and the end of speech. Measured in docs/decisions/0004.

    One frame is 512 samples at 16 kHz, 32 ms: what the speech detector takes.
    """

    start_probability: float = 0.5
    """A frame at or above it is speech: the threshold of the detector's authors."""
    stay_probability: float = 0.2
    """Within speech a frame at or above it still is: weak endings and engine noise lower it.
    At 0.3 more calls fell in two, at 0.1 noise kept twice as many segments open for long."""
    start_frames: int = 3
    """So many speech frames of the last ``start_window`` open a segment: a click does not."""
    start_window: int = 5
    hangover_frames: int = 20
    """So many frames below ``stay_probability`` close it (640 ms). Half a call can be another
    call, so this is as long as an answer can wait: at 576 ms twice as many calls fell in two."""
    preroll_frames: int = 10
    """Kept before the first speech frame (320 ms): the detector wakes late on "f" and "s"."""
    postroll_frames: int = 10
    """Kept after the last speech frame (320 ms): it tires early on final consonants."""
    least_speech_frames: int = 4
    """Fewer speech frames (128 ms) are no clear word: a dropped tool, a cough."""
    trace_probability: float = 0.1
    """A frame at or above it has a trace of speech: 33 of 90,000 frames of engines, rotors and
    wind (48 minutes) do."""
    lead_frames: int = 40
    """So far back (1.28 s) a segment reaches over such traces: in noise as loud as the voice the
    detector woke up to 33 frames late, behind the "what do you mean" of a question."""
    hint_probability: float = 0.2
    hint_frames: int = 2
    """So many such frames of the last ``start_window`` open a faint segment: none in those 48
    minutes, and 13 of the 17 words that were never clear in 520 recordings at 0 dB."""
    faint_frames: int = 62
    """A faint segment is no longer (2 s): it is for single quiet words."""
    faint_postroll_frames: int = 18
    """Kept after its last trace (576 ms): the detector lost the end of so quiet a word, and of 18
    found so the letters wrote 5 out, and 3 with no more than ``postroll_frames``."""
    most_frames: int = 375
    """Longer speech (12 s) is cut and flagged: no call is that long, an open microphone is."""
    edge_frames: int = 3
    """Speech that opens within so many frames (96 ms) of a gap may have begun inside it."""

    noise_frames: int = 94
    """The noise floor is the median over so many frames without speech (3 s)."""
    least_noise_frames: int = 5
    """With fewer, the quietest tenth of the segment itself stands for the noise."""
    snr_span_db: float = 60.0
    """The signal-to-noise ratio is held within plus and minus this: digital silence is no
    measurement."""
    clipped_level: float = 0.985
    """Of full scale: resampling rounds a clipped top off by a little."""
    clipped_samples: int = 10
    """So many samples at that level are clipping: it finds 826 of 827 recordings driven to
    twice full scale, and 6 of them as recorded."""

    least_dbfs: float = -55.0
    """Speech below it is not understood at once but asked about, and the caller is told once to
    speak up. Measured in docs/decisions/0019."""

    own_lead_db: float = 6.0
    """Of two channels, a segment is its channel's own voice where it is louder there by so much
    than on the other at the same time. A headset's microphone hears its wearer at least 10 dB
    above the other person (common practice, no source), so 4 dB are left for voices and gains that
    differ. As loud on both is two people speaking at once, or a microphone with automatic gain:
    nobody's call."""
    most_other_share: float = 0.2
    """In no more of a segment's sound may the other channel be the louder one: a cough over the
    other's words is loud enough and says nothing."""

    lowest_rate: int = 8000
    """Hz. Below it the consonants are lost: speech needs 200 to 6,100 Hz (NUREG-0700)."""
    queue_seconds: float = 30.0
    """Sound kept while a call is being heard; beyond it samples are lost, and that is told."""
    stalled_seconds: float = 2.0
    """A microphone that sent nothing for so long is lost, whatever its driver says."""
    play_stalled_seconds: float = 5.0
    """So is a headset that took nothing for so long: two underruns, each of which keeps PortAudio
    on ALSA for 2.0 s (measured with a sound server), and some."""
    zeros_seconds: float = 2.0
    """Nor is one that sends nothing but zeros for so long: a room is never so silent, a headset
    that is muted, asleep or gone behind its driver is."""
    waiting_seconds: float = 0.25
    """While no sound comes, the walk's timers are heeded so often."""
    reopen_seconds: float = 1.0
    """How often a lost microphone is tried again."""
    tries_alone: int = 5
    """After so many tries in vain another device is taken in its place, and that is told: a plug
    that was pulled by mistake is back by then. Common practice, no source."""
    zeros_reopen_seconds: float = 10.0
    """One that sends zeros may send sound again by itself; so often it is opened anew."""
    open_seconds: float = 10.0
    """To find and open a device may take so long: a wireless headset wakes up in some seconds."""
    driver_seconds: float = 0.5
    """To close a device takes a driver a tenth of that. What takes longer hangs, and nobody waits
    for it: Ctrl-C, at which two are closed, ends a walk within two seconds."""
    hanging_calls: int = 3
    """So many attempts to open a device may hang beside each other; then one has to come back."""
    lag_window_seconds: float = 2.0
    """Where sound comes late by the clock for so long, it is not late but missing."""
    lag_seconds: float = 0.5
    """By so much more than in the window before. A busy machine is late by less, and the clocks of
    sound devices drift by less than a thousandth of it in a window (50 ppm, common practice)."""
    silence_before: float = 0.3
    """Seconds put before a scripted call, as a person takes a breath."""
    silence_after: float = 0.9
    """Seconds put after it: more than the hangover."""
    output_latency_seconds: float = 0.3
    """Of a headset's buffer. By its default (some 0.01 s to 0.1 s) 9 s of sound took 15 to 35 s
    with 2 to 12 underruns, with this 9.5 to 11 s with at most one, on two idle or busy cores."""
    play_chunk_seconds: float = 0.05
    """How soon "stop" silences a prompt."""


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """Speech synthesis."""

    words_per_minute: int = 170
    """Just under eSpeak NG's default of 175; radiotelephony asks for an even, slow rate."""
    cached_prompts: int = 128
    """Of 2 s each that is 22 MB; a walk repeats far fewer prompts than that."""
    answer_seconds: float = 10.0
    """A prompt takes milliseconds; a worker silent for so long hangs and is replaced."""


@dataclass(frozen=True, slots=True)
class WalkSettings:
    """The talk of a walk. None of these is written into an entry. Common practice, no source."""

    question_seconds: float = 15.0
    """A question unanswered for so long is asked once more, then dropped. Counted from when it
    is handed to the voice: reading back two long calls takes 8 s of it."""
    append_seconds: float = 2.0
    """An entry that the record could not keep is tried again after so long."""
    far_share: Decimal = Decimal("0.15")
    """A reading that differs from this aircraft's last one by more than this share of it is asked
    back once: a digit misheard or misread mostly does."""
    fair_snr_db: int = 15
    """Above it calls are understood at once as in quiet, 0.96 and more (docs/hearing.md)."""
    quiet_dbfs: int = -50
    """Speech below it is a microphone turned down or far from the mouth: at 16 bits, its quiet
    consonants are a few steps high. Common practice, no source."""
    poor_snr_db: int = 5
    """Below it every third call is asked back (0.63 understood at 0 dB, docs/hearing.md)."""
    names_spoken: int = 5
    """So many names of open items are spoken; a longer list is not remembered. How many there
    are is always said, and the record has them all."""


@dataclass(frozen=True, slots=True)
class SessionSettings:
    """The loop around a walk."""

    clock_step_seconds: float = 2.0
    """Wall and monotonic time that drift apart by more between two entries were set by somebody,
    or the machine slept: network time slews by at most 0.5 ms a second. From memory."""
    prompts_remembered: int = 8
    """Of so many prompts it is known when they were spoken. Hearing lags behind the microphone by
    a call or two, and by a few prompts with them."""
    questions_remembered: int = 32
    """Of so many questions it is known when they were told. A call that began before the oldest of
    them is no answer to any."""
    mute_seconds: float = 2.0
    """While no prompt can be heard, the headset is tried so often with a moment of silence."""
    gap_seconds: float = 10.0
    """Sound that goes missing again within so long of an entry on it is told with what follows: a
    machine that is too slow loses some all the time. Common practice, no source."""
    practice_seconds: float = 10.0
    """A phrase that nobody has spoken for so long is shown and spoken once more, then left. Long
    enough to read the longest twice. Common practice, no source."""
