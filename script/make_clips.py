#!/usr/bin/env python3
"""Makes synthetic calls of a card with Debian's flite and espeak-ng, for measuring the ears.

Run by the project's own Python: .venv/bin/python script/make_clips.py CARD COUNT SEED OUT [VOICES]
Writes OUT/manifest.tsv and the sound as FLAC, 16 kHz. The same arguments draw the same calls.
"""

import csv
import subprocess
import sys
import tempfile
from pathlib import Path
from random import Random

import soundfile
import soxr

from voicewalk.card.load import card_path, load_card
from voicewalk.language.draw import draw_call
from voicewalk.language.vocabulary import vocabulary_of

VOICES = (
    "flite:kal16",
    "flite:awb",
    "flite:rms",
    "espeak:en-us",
    "espeak:en-gb",
    "espeak:en-gb-x-rp",
    "espeak:en-gb-x-gbclan",
    "espeak:en-gb-x-gbcwmd",
    "espeak:en-gb-scotland",
    "espeak:en-us+m3",
    "espeak:en-gb+f2",
    "espeak:en-us+f4",
)
SPELLED = {"psi": "p s i"}
"""Words that people spell and a synthesiser would read."""

PEAK = 0.3


def synthesise(text: str, voice: str, speed: int, out: Path) -> float:
    """Speak ``text`` into ``out``; returns its seconds."""
    said = " ".join(SPELLED.get(word, word) for word in text.split())
    program, _, name = voice.partition(":")
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "call.wav"
        stretch = f"--setf duration_stretch={165 / speed:.3f}".split()
        command = {
            "flite": ["flite", "-voice", name, *stretch, "-t", said, "-o", str(wav)],
            "espeak": ["espeak-ng", "-v", name, "-s", str(speed), "-w", str(wav), said],
        }[program]
        subprocess.run(command, check=True, capture_output=True)
        samples, rate = soundfile.read(wav, dtype="float32")
    samples = soxr.resample(samples, rate, 16_000)
    soundfile.write(out, samples * (PEAK / abs(samples).max()), 16_000, subtype="PCM_16")
    return len(samples) / 16_000


def main(name: str, count: str, seed: str, folder: str, *voices: str) -> None:
    """Draw and speak the calls."""
    card = load_card(card_path(name))
    vocabulary, random, out = vocabulary_of(card), Random(int(seed)), Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    with (out / "manifest.tsv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, delimiter="\t", lineterminator="\n")
        rows.writerow(("path", "text", "speaker", "source", "seconds"))
        for number in range(int(count)):
            kind, text = draw_call(card, vocabulary, random)
            voice = (voices or VOICES)[number % len(voices or VOICES)]
            speed = random.choice((145, 165, 185))
            path = f"{number:05}.flac"
            seconds = synthesise(text, voice, speed, out / path)
            rows.writerow((path, text, voice, f"synthetic {kind}", f"{seconds:.2f}"))


if __name__ == "__main__":
    if len(sys.argv) < 5:
        sys.exit(__doc__)
    main(*sys.argv[1:])
