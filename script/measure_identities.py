#!/usr/bin/env python3
"""Measures how identities said sign by sign are heard, and how often one passes for another.

Run by the project's own Python:
    .venv/bin/python script/measure_identities.py make COUNT SEED OUT
    .venv/bin/python script/measure_identities.py hear NOISE LEVELS CLIPS...
"make" draws identities and speaks them with Debian's flite and espeak-ng into OUT/manifest.tsv;
one in ten is said in a way that is none. "hear" plays the clips, each at one of the levels in turn
("clean,10") with noise of the folder NOISE, to the ears of the jet trainer's card while they expect
an identity, prints what became of them, and each hearing on standard error. Of a folder of
people's recordings only the texts that spell something are heard.
"""

import csv
import sys
from collections import Counter, defaultdict
from dataclasses import replace
from itertools import cycle
from pathlib import Path
from random import Random

from make_clips import VOICES, synthesise
from rapidfuzz.distance import OSA

from voicewalk.audio.frames import RATE
from voicewalk.audio.segment import Segment
from voicewalk.bench.clips import read_manifest, read_noises, read_sound
from voicewalk.bench.observe import segments_of
from voicewalk.bench.score import interval
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.card.model import Card
from voicewalk.hearing.ears import Ears
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.language.build import IDENTITY
from voicewalk.language.meaning import Act, Expectation
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import Vocabulary, vocabulary_of

LETTERS, DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "0123456789"
PATTERNS = ("L99", "L99", "L9", "999", "9999", "LL99", "LL999", "LLL", "LLLLL", "L999L", "L999LL")
"""Invented numbers of the usual lengths: L is a letter, 9 a digit. "M07" is the demo's."""

OTHERWISE = (("zero", "oh"), ("seven", "seventeen"), ("six", "sixty"), ("zero", "double zero"))
"""Words of an identity said as they may not be."""

OTHERWISE_SHARE = 0.1

COLUMNS = ("path", "text", "speaker", "source", "seconds")


def draw(words: Vocabulary, random: Random) -> str:
    """An identity in words."""
    signs = (random.choice(LETTERS if sign == "L" else DIGITS) for sign in random.choice(PATTERNS))
    said = (random.choice(words.spelling[sign.lower()].words) for sign in signs)
    return " ".join(said).replace("-", " ")


def otherwise(text: str, random: Random) -> str:
    """The same with a word that spells nothing, put in where it has none that can be changed."""
    ways = [text.replace(one, other, 1) for one, other in OTHERWISE if one in text.split()]
    return random.choice(ways or [f"{text} {random.choice(('oh', 'eleven', 'forty', 'hundred'))}"])


def make(count: str, seed: str, folder: str) -> None:
    """Draw and speak identities."""
    words, random, out = vocabulary_of(identified("jet-trainer")), Random(int(seed)), Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    with (out / "manifest.tsv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, delimiter="\t", lineterminator="\n")
        rows.writerow(COLUMNS)
        for number in range(int(count)):
            text = draw(words, random)
            if random.random() < OTHERWISE_SHARE:
                text = otherwise(text, random)
            voice, path = VOICES[random.randrange(len(VOICES))], f"{number:04}.flac"
            seconds = synthesise(text, voice, random.choice((145, 165)), out / path)
            rows.writerow((path, text, voice, "synthetic identity", f"{seconds:.2f}"))


def identified(name: str) -> Card:
    """A card with the words for identities."""
    card = load_card(card_path(name))
    return replace(card, vocabularies=tuple(dict.fromkeys((*card.vocabularies, "spelling"))))


def heard_in(ears: Ears, piece: Segment) -> Heard:
    """A piece of sound in ears that were told to expect an identity."""
    sound = Sound(len(piece.samples) / RATE, piece.snr_db)
    return ears.hear(piece.samples, sound, Expectation(identity=True))


def outcome(said: str, heard: list[Heard]) -> tuple[str, str]:
    """What became of an identity ("" for what spells none), and what it was taken for."""
    for one in heard:
        best = one.candidates[0].meaning if one.candidates else None
        if best and one.verdict is Verdict.UNDERSTOOD and best.act is Act.IDENTITY:
            if best.value == said:
                return "understood", said
            return "wrong", best.value
    asked = [c.meaning.value for one in heard for c in one.candidates]
    if any(one.verdict is Verdict.UNDERSTOOD for one in heard):
        return "command", ""
    return ("asked again, right one first" if said in asked[:1] else "asked again"), ""


def hear(noise: str, levels: str, *folders: str) -> None:
    """Hear all clips, each at one level in turn, and print what became of them."""
    card = identified("jet-trainer")
    ears = Ears(card, vocabulary_of(card), lexicon_path(card))
    noises, dealt = read_noises(Path(noise)), cycle(levels.split(","))
    counts: dict[tuple[str, str, str], Counter[str]] = defaultdict(Counter)
    for recording in (one for folder in folders for one in read_manifest(Path(folder))):
        meanings = parse(ears.graph, recording.text, (ears.graph.entries[IDENTITY],))
        synthetic = recording.source.startswith("synthetic")
        if not meanings and not synthetic:
            continue
        said, level = meanings[0].value if meanings else "", next(dealt)
        random = Random(f"{recording.path.name} {recording.text} {level}")
        pieces = segments_of(read_sound(recording.path), level, noises, random)
        heard = [heard_in(ears, piece) for piece in pieces]
        became, taken = outcome(said, heard)
        kind = "spelled" if said else "not spelled"
        counts["synthetic" if synthetic else recording.source, kind, level][became] += 1
        tell(recording.text, level, recording.speaker, became, said, taken, heard)
    for key, group in counts.items():
        print(*key, f"n={group.total()}", end=": ")
        shares = (
            f"{name} {n} ({n / group.total():.1%}, {low:.1%} to {high:.1%})"
            for name, n in sorted(group.items())
            for low, high in (interval(n, group.total()),)
        )
        print("; ".join(shares))


def tell(
    text: str, level: str, speaker: str, became: str, said: str, taken: str, heard: list[Heard]
) -> None:
    """One hearing in a line."""
    off = f"{OSA.distance(said, taken)} signs off" if taken != said and said and taken else ""
    for one in heard:
        judge = one.evidence["judge"]
        assert isinstance(judge, dict)
        words = one.candidates[0].words if one.candidates else ""
        about = (f"{one.probability:.3f}", judge["reason"], words, *judge.get("others", []))
        print(level, speaker, text, became, taken, off, *about, sep="\t", file=sys.stderr)


if __name__ == "__main__":
    if len(sys.argv) < 5 or sys.argv[1] not in ("make", "hear"):
        sys.exit(__doc__)
    (make if sys.argv[1] == "make" else hear)(*sys.argv[2:])
