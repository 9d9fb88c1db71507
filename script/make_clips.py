#!/usr/bin/env python3
"""Makes synthetic calls of a card with Debian's flite and espeak-ng, for measuring the ears.

Run by the project's own Python:
.venv/bin/python script/make_clips.py [--near] CARD COUNT SEED OUT [VOICES]
Writes OUT/manifest.tsv and the sound as FLAC, 16 kHz. The same arguments draw the same calls. With
--near it makes speech near calls, which must never become one: the manifest tells each one's kind.
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
from voicewalk.language.build import phrase_graph
from voicewalk.language.draw import draw_call
from voicewalk.language.near import draw_near
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


def main(name: str, count: str, seed: str, folder: str, *voices: str, near: bool = False) -> None:
    """Draw and speak the calls."""
    card = load_card(card_path(name))
    vocabulary, random, out = vocabulary_of(card), Random(int(seed)), Path(folder)
    graph = phrase_graph(card, vocabulary)
    out.mkdir(parents=True, exist_ok=True)
    with (out / "manifest.tsv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, delimiter="\t", lineterminator="\n")
        rows.writerow(("path", "text", "speaker", "source", "seconds", "near"))
        for number in range(int(count)):
            if near:
                kind, text = draw_near(card, vocabulary, random, graph=graph)
            else:
                kind, text = draw_call(card, vocabulary, random)
            voice = (voices or VOICES)[number % len(voices or VOICES)]
            speed = random.choice((145, 165, 185))
            path = f"{number:05}.flac"
            seconds = synthesise(text, voice, speed, out / path)
            source = f"synthetic {'near' if near else kind}"
            rows.writerow((path, text, voice, source, f"{seconds:.2f}", kind if near else ""))


if __name__ == "__main__":
    given = [argument for argument in sys.argv[1:] if argument != "--near"]
    if len(given) < 4:
        sys.exit(__doc__)
    main(*given, near="--near" in sys.argv)
