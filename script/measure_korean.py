"""Measures what Vosk alone makes of Korean, for docs/decisions/0007.

    VOICEWALK_SPEECH_DATA=... .venv/bin/python script/measure_korean.py COUNT

Calls are drawn from the Korean card and spoken by espeak-ng's Korean voice and its variants, at
three speeds; so is each way to affirm and to deny a readback. What is not for the tool: everyday
Korean by the same voices, human English from the recordings, and their noise alone; each is heard
twice, the second time as if a call had just been read back, when "affirm" would confirm it.
"""

from __future__ import annotations

import csv
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from voicewalk.audio.frames import RATE, Samples
from voicewalk.audio.level import power
from voicewalk.audio.resample import resample
from voicewalk.card.load import card_path, load_card
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.hearing.single import SingleEars
from voicewalk.hearing.vosk_model import VoskModel, find_model
from voicewalk.language.meaning import Act, Command, Expectation, Meaning
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.vocabulary import vocabulary_of

CARD = "tow-tractor-korean"
SEED = 7
VOICES = ("ko", "ko+m3", "ko+m7", "ko+f2", "ko+f4")
SPEEDS = (130, 150, 170)
LEVELS = (None, 20, 10)
PEAK, AROUND = 0.3, 0.3
CLEAN_DB = 60.0
QUESTION = Expectation(question=True, between=(Meaning(Act.SATISFACTORY, item="소화기"),))
EVERYDAY = (
    "오늘 저녁에 뭐 먹을까", "버스가 늦게 왔어요", "내일 비가 온다고 합니다", "우리 집에 갑시다",
    "커피 한 잔 주세요", "회의는 세 시에 시작합니다", "전화번호를 알려 주세요", "문 좀 닫아 줄래",
    "그 사람은 아직 안 왔어", "지금 몇 시예요", "주말에 바다에 가고 싶어", "책상 위에 있는 책을 줘",
    "어제 영화를 두 편 봤습니다", "길이 많이 막히네요", "아이가 학교에서 돌아왔어요",
    "점심은 먹었습니까", "이 노래 제목이 뭐지", "비행기가 곧 출발합니다", "날이 점점 추워지네",
    "고맙습니다 안녕히 가세요",
)  # fmt: skip


@cache
def spoken(text: str, voice: str, speed: int) -> Samples:
    """A call as espeak-ng says it, with a little silence around."""
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        command = ["espeak-ng", "-v", voice, "-s", str(speed), "-w", file.name, text]
        subprocess.run(command, check=True, capture_output=True)
        samples, rate = soundfile.read(file.name, dtype="float32")
    samples = resample(samples, rate)
    return np.pad(samples * (PEAK / np.abs(samples).max()), round(AROUND * RATE))


def noisy(samples: Samples, noise: Samples, snr: float, random: np.random.Generator) -> Samples:
    """A clip in noise; the ratio is that of the speech without its silence."""
    at = random.integers(len(noise) - len(samples))
    part = noise[at : at + len(samples)]
    edge = round(AROUND * RATE)
    gain = np.sqrt(power(samples[edge:-edge]) / power(part) / 10 ** (snr / 10))
    return (samples + gain * part).astype(np.float32)


def _read(path: Path) -> Samples:
    samples, rate = soundfile.read(path, dtype="float32")
    return samples if rate == RATE else resample(samples, rate)


def _calls(ears: SingleEars, count: int, noises: list[Samples]) -> None:
    card = load_card(card_path(CARD))
    drawn = draw_phrases(card, vocabulary_of(card), count, SEED)
    print("snr    n  understood  asked rightly  asked wrongly  not understood  wrong  s/call")
    for snr in LEVELS:
        random = np.random.default_rng(SEED)
        table: Counter[str] = Counter()
        voices: Counter[str] = Counter()
        seconds = 0.0
        for n, call in enumerate(drawn):
            voice, speed = VOICES[n % len(VOICES)], SPEEDS[n // len(VOICES) % len(SPEEDS)]
            samples = spoken(call.text, voice, speed)
            if snr is not None:
                samples = noisy(samples, noises[n % len(noises)], snr, random)
            before = time.perf_counter()
            heard = _hear(ears, samples, CLEAN_DB if snr is None else snr, call.expectation)
            seconds += time.perf_counter() - before
            how = _outcome(heard, call.meaning)
            table[how] += 1
            voices[voice] += how in ("understood", "asked rightly")
        print(snr, len(drawn), dict(table), f"{seconds / len(drawn):.2f}", dict(voices))


def _outcome(heard: Heard, meaning: Meaning) -> str:
    right = meaning in [candidate.meaning for candidate in heard.candidates]
    match heard.verdict:
        case Verdict.UNDERSTOOD:
            return "understood" if right else "wrong"
        case Verdict.ASK:
            return "asked rightly" if right else "asked wrongly"
    return "not understood"


def _answers(ears: SingleEars) -> None:
    commands = vocabulary_of(load_card(card_path(CARD))).commands
    for command in (Command.AFFIRM, Command.NEGATIVE):
        for text in commands[command].words:
            table: Counter[str] = Counter()
            for voice in VOICES:
                for speed in SPEEDS:
                    heard = _hear(ears, spoken(text, voice, speed), CLEAN_DB, QUESTION)
                    table[_outcome(heard, Meaning(Act.COMMAND, command=command))] += 1
            print(f"{command}, '{text}'", dict(table))


def _hear(ears: SingleEars, samples: Samples, snr: float, expectation: Expectation) -> Heard:
    return ears.hear(samples, Sound(len(samples) / RATE, snr), expectation)


def _outside(folder: Path, noises: list[Samples]) -> Iterator[tuple[str, Samples, float]]:
    for text in EVERYDAY:
        for voice in VOICES:
            yield "everyday Korean, synthetic", spoken(text, voice, 150), CLEAN_DB
    with (folder / "manifest.tsv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines, delimiter="\t"))
    for row in rows[::8]:
        edge = round(AROUND * RATE)
        yield (
            f"English, human, {row['source']}",
            np.pad(_read(folder / row["path"]), edge),
            CLEAN_DB,
        )
    for noise in noises:
        for start in range(0, min(len(noise), 8 * RATE) - 2 * RATE, 2 * RATE):
            yield "noise alone", noise[start : start + 2 * RATE], 0.0


def _main(count: int) -> None:
    card = load_card(card_path(CARD))
    ears = SingleEars(card, vocabulary_of(card), VoskModel(find_model("ko")))
    folder = Path(os.environ["VOICEWALK_SPEECH_DATA"])
    noises = [_read(path) for path in sorted((folder / "noise").glob("*.flac"))]
    _calls(ears, count, noises)
    _answers(ears)
    table: dict[str, Counter[str]] = {}
    for kind, samples, snr in _outside(folder, noises):
        row = table.setdefault(kind, Counter())
        row["n"] += 1
        row[f"{_hear(ears, samples, snr, Expectation()).verdict}"] += 1
        asked = _hear(ears, samples, snr, QUESTION)
        if asked.verdict is Verdict.UNDERSTOOD:
            meaning = asked.candidates[0].meaning
            row[f"taken for {meaning.command or meaning.choice} when asked"] += 1
    for kind, row in table.items():
        print(kind, dict(row))


if __name__ == "__main__":
    _main(int(sys.argv[1]))
