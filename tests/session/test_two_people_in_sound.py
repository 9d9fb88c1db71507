"""Two people at one aircraft, from a stereo sound file to the record, with the real ears.

Both voices are made by Debian's flite and eSpeak NG; each is in the other's microphone too, and an
engine runs 20 dB below them. Nothing but the second person's own voice may confirm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
import soundfile

from voicewalk.audio.frames import RATE
from voicewalk.card.load import card_path, load_card
from voicewalk.clock import now
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record import body as bodies
from voicewalk.record.file import RecordReader
from voicewalk.record.verify import examine
from voicewalk.session import equipment
from voicewalk.session.equipment import Calls, open_ears
from voicewalk.session.walking import begin_walk
from voicewalk.settings import WalkSettings
from voicewalk.walk.replay import replay

pytestmark = [pytest.mark.models, pytest.mark.synth, pytest.mark.slow]

CARD = "two-person-check"
LEFT, RIGHT = 0, 1
TYRE, PIN = "left-tyre-pressure", "left-brake-wear-pin"
SILENCE = 34.0
"""Seconds: longer than a question is asked, and asked again."""

TALK = (
    (LEFT, "left tyre pressure nine five p s i"),
    (RIGHT, "five five p s i"),
    (LEFT, "left tyre pressure nine five p s i"),
    (RIGHT, "roger"),
    (LEFT, "nine five p s i"),
    (None, ""),
    (LEFT, "left brake wear pin four millimetres"),
    (LEFT, "affirm"),
    (RIGHT, "four millimetres"),
    (LEFT, "windshield satisfactory"),
    (RIGHT, "nine five p s i"),
)


@dataclass
class Talk:
    """Two columns, and where each of the second person's calls lies in them."""

    sound: np.ndarray
    spans: list[tuple[int, int]]


def engine(samples: int, seed: int) -> np.ndarray:
    """An engine heard from outside: a low rumble and its harmonics."""
    white = np.random.default_rng(seed).standard_normal(samples)
    spectrum = np.fft.rfft(white)
    spectrum /= np.maximum(np.fft.rfftfreq(samples, 1 / RATE), 60.0)
    time = np.arange(samples) / RATE
    tones = sum(np.sin(2 * np.pi * 85 * n * time) / n for n in (1, 2, 3, 5))
    rumble = np.fft.irfft(spectrum, samples)
    return rumble / rumble.std() + 0.5 * tones


def acted(synth, people: tuple[str, str], leak_db: float, snr_db: float = 20.0) -> Talk:
    """The talk with a pause of 1.5 s behind each call, leak and engine included."""
    parts, spans, at = [np.zeros((RATE // 2, 2))], [], RATE // 2
    for channel, text in TALK:
        if channel is None:
            part = np.zeros((round(SILENCE * RATE), 2))
        else:
            voice = synth(text, people[channel])
            part = np.zeros((len(voice) + round(1.5 * RATE), 2))
            part[: len(voice), channel] = voice * (0.3 / np.abs(voice).max())
            spans += [(at, at + len(voice))] if channel == RIGHT else []
        parts.append(part)
        at += len(part)
    own = np.concatenate(parts)
    level = own[np.abs(own).max(axis=1) > 0].std()
    noise = np.stack([engine(len(own), seed) for seed in (1, 2)], axis=1)
    noise *= level * 10 ** (-snr_db / 20) / noise.std()
    return Talk(own + 10 ** (leak_db / 20) * own[:, ::-1] + noise, spans)


@pytest.fixture(scope="module")
def ears():
    card = load_card(card_path(CARD))
    return open_ears(card, vocabulary_of(card))


@pytest.fixture
def walk(tmp_path, ears, synth, monkeypatch):
    """Hears a talk; gives the record's path."""
    monkeypatch.setattr(equipment, "open_ears", lambda card, vocabulary: ears)
    monkeypatch.setenv("VOICEWALK_KEYS", str(tmp_path / "keys"))

    def hear(talk: Talk):
        soundfile.write(tmp_path / "talk.flac", talk.sound, RATE)
        calls = Calls(audio=tmp_path / "talk.flac", channels="stereo")
        who = (CARD, "EX-1", "Tamsin Orlo")
        path = tmp_path / "two.walk"
        begin_walk(*who, path, calls, (), now, second="Ned Brandt")
        return path

    return hear


@pytest.mark.parametrize(
    ("leak_db", "people"),
    [
        (-10, ("flite:rms", "espeak:en-us")),
        (-20, ("espeak:en-gb", "flite:kal16")),
        (-30, ("flite:awb", "espeak:en-us")),
    ],
)
def test_only_the_second_persons_own_voice_confirms(walk, synth, leak_db: int, people):
    talk = acted(synth, people, leak_db)
    path = walk(talk)
    with RecordReader.open(path) as record:
        entries = list(record.entries())
    given = [one for one in entries if bodies.kind(one.body) == "confirmation"]
    told = [(one.body["item"], one.body["finding"], one.body.get("said")) for one in given]
    assert told == [
        (TYRE, "differs", "55 psi"),
        (TYRE, "no answer", "roger"),
        (TYRE, "silence", None),
        (PIN, "confirmed", "4 millimetre"),
        (TYRE, "confirmed", "95 psi"),
    ]
    check_channels(entries, talk)
    assert examine(path).report.ok
    kept = [(one.seq, one.body) for one in entries]
    again = replay(load_card(card_path(CARD)), kept, WalkSettings())
    assert again.view().unconfirmed == ()
    assert TYRE not in again.view().open


def check_channels(entries, talk: Talk) -> None:
    """Whatever counts as the second person's was said by that person, on that channel."""
    for entry in entries:
        given = bodies.part(entry.body, "input")
        if bodies.text(given, "heard", "how") != "sound":
            continue
        channel = bodies.text(given, "heard", "sound", "channel")
        assert channel == ("right" if given.get("by") == "second" else "left")
        assert int(bodies.text(given, "heard", "sound", "lead_db")) >= 6
        inside = any(start - RATE < entry.start < end for start, end in talk.spans)
        assert inside is (channel == "right")
