"""Speaks texts with many voices: flite, eSpeak NG and Kokoro-82M. Whose voice trains, and whose
only measures, stands here and nowhere else.

    python -m training.voices TEXTS.tsv OUT --engine classic|kokoro [--part train] [--count N]

flite and eSpeak NG run as programs. Kokoro (Apache-2.0) runs as an ONNX file: in PyTorch where
there is a CUDA card, several processes on each, and else in onnxruntime. KOKORO names the folder
with ``kokoro.onnx``, ``voices.npz``, ``vocab.json`` (see README.md). The voices flite slt,
Piper's and festival's are in no part: they are kept for independent checks.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import subprocess
import tempfile
import time
import wave
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from training import shards

Floats = NDArray[np.float32]

TRAIN, CALIBRATE, TEST = "train", "calibrate", "test"
"""The listener is trained on the first, the judge learns from the second, the third measures."""

_FLITE = {TRAIN: ["kal16", "kal", "rms"], CALIBRATE: [], TEST: ["awb"]}

_ACCENTS = {
    TRAIN: ["en-us", "en-gb", "en-gb-x-rp", "en-gb-x-gbclan", "en-gb-x-gbcwmd", "en-us-nyc"],
    CALIBRATE: ["en-029", "en-us", "en-gb"],
    TEST: ["en-gb-scotland", "en-us", "en-gb", "en-gb-x-rp"],
}
_VARIANTS = {
    TRAIN: [
        "Alex",
        "Alicia",
        "Andrea",
        "Andy",
        "Annie",
        "Denis",
        "Diogo",
        "Gene",
        "Gene2",
        "Henrique",
        "Hugo",
        "Jacky",
        "Marco",
        "Mario",
        "Michael",
        "Mike",
        "Nguyen",
        "Tweaky",
        "adam",
        "announcer",
        "antonio",
        "aunty",
        "belinda",
        "benjamin",
        "boris",
        "caleb",
        "croak",
        "david",
        "ed",
        "edward",
        "edward2",
        "f1",
        "f2",
        "f5",
        "grandma",
        "grandpa",
        "gustave",
        "iven",
        "iven2",
        "iven3",
        "iven4",
        "john",
        "kaukovalta",
        "klatt",
        "klatt2",
        "klatt3",
        "klatt4",
        "klatt5",
        "klatt6",
        "linda",
        "m1",
        "m2",
        "m4",
        "m5",
        "m6",
        "m8",
        "marcelo",
        "max",
        "miguel",
        "pablo",
        "paul",
        "pedro",
        "quincy",
        "rob",
        "sandro",
        "shelby",
        "steph",
        "steph2",
        "travis",
        "victor",
    ],
    CALIBRATE: ["f3", "m3", "Lee", "michel", "norbert", "steph3"],
    TEST: ["f4", "m7", "anika", "robert", "zac", "RicishayMax"],
}

_KOKORO = {
    TRAIN: [
        "af_alloy",
        "af_aoede",
        "af_bella",
        "af_heart",
        "af_jessica",
        "af_nicole",
        "af_nova",
        "af_sarah",
        "af_sky",
        "am_adam",
        "am_echo",
        "am_fenrir",
        "am_michael",
        "am_onyx",
        "am_santa",
        "bf_emma",
        "bf_isabella",
        "bm_fable",
        "bm_lewis",
    ],
    CALIBRATE: ["af_kore", "am_eric", "bf_alice", "bm_daniel"],
    TEST: ["af_river", "am_liam", "am_puck", "bf_lily", "bm_george"],
}
_FOREIGN = [
    "ef_dora",
    "em_alex",
    "if_sara",
    "im_nicola",
    "pf_dora",
    "pm_alex",
    "hf_alpha",
    "hf_beta",
    "hm_omega",
]
"""Voices of other languages, speaking English: accents, for training alone."""

_SPELT = {"psi": "p s i", "rpm": "r p m"}
"""Said letter by letter, and so written."""


@dataclass(frozen=True, slots=True)
class Job:
    """One text to be spoken."""

    text: str
    voice: str
    seed: int


def voices_of(part: str, engine: str) -> list[str]:
    """The voices of a part; those of a test or calibration are few and named one by one."""
    if engine == "kokoro":
        return [f"kokoro:{voice}" for voice in _KOKORO[part]]
    espeak = [
        f"espeak:{accent}+{_VARIANTS[part][(n * 5 + k) % len(_VARIANTS[part])]}"
        for n, accent in enumerate(_ACCENTS[part])
        for k in range(2)
    ]
    return [*(f"flite:{voice}" for voice in _FLITE[part]), *dict.fromkeys(espeak)]


def draw_voice(part: str, engine: str, random: Random) -> str:
    """A voice: for training out of all combinations, Kokoro's blended half of the time."""
    if part != TRAIN:
        return random.choice(voices_of(part, engine))
    if engine == "kokoro":
        own = random.choice(_FOREIGN if random.random() < 0.25 else _KOKORO[TRAIN])
        if random.random() < 0.5:
            return f"kokoro:{own}"
        other = random.choice([voice for voice in _KOKORO[TRAIN] if voice != own])
        return f"kokoro:{own}+{random.uniform(0.25, 0.6):.2f}{other}"
    if random.random() < 0.3:
        return f"flite:{random.choice(_FLITE[TRAIN])}"
    variant = random.choice(_VARIANTS[TRAIN])
    return f"espeak:{random.choice(_ACCENTS[TRAIN])}+{variant}"


def as_said(text: str) -> str:
    """A text with its abbreviations spelt out."""
    return " ".join(_SPELT.get(word, word) for word in text.split())


def _classic(voice: str, text: str, random: Random) -> tuple[Floats, int]:
    engine, _, name = voice.partition(":")
    if engine == "flite":
        with tempfile.NamedTemporaryFile(suffix=".wav") as out:
            pace = f"duration_stretch={random.uniform(0.78, 1.3):.3f}"
            command = ["flite", "-voice", name, "--setf", pace, "-t", text, "-o", out.name]
            subprocess.run(command, check=True, capture_output=True, timeout=30)
            data = Path(out.name).read_bytes()
    else:
        pace, pitch = str(random.randint(125, 215)), str(random.randint(25, 75))
        command = ["espeak-ng", "-v", name, "-s", pace, "-p", pitch, "--stdout", text]
        data = subprocess.run(command, check=True, capture_output=True, timeout=30).stdout
    with wave.open(io.BytesIO(data)) as file:
        # eSpeak NG writes a length that it does not know yet: what is there is read.
        raw = file.readframes(min(file.getnframes(), len(data)))
        samples = np.frombuffer(raw[: len(raw) // 2 * 2], "<i2").astype(np.float32) / 32768
        return samples, file.getframerate()


_DEVICE = "KOKORO_DEVICE"
"""The environment's word for where Kokoro runs: ``cuda:0``, ``cpu`` (both in PyTorch, ``+products``
behind it for convolutions as products), or nothing: onnxruntime."""

_PROCESSES = 12
"""On each card: a clip keeps a process busy about as long as the card, or longer."""


def _network(path: Path) -> Callable[[dict[str, Any]], Floats]:
    """Kokoro itself: what it takes to sound."""
    device, _, how = os.environ.get(_DEVICE, "").partition("+")
    if device:
        import torch

        from training.onnx_torch import Graph

        torch.set_num_threads(1)
        if device.startswith("cuda"):
            torch.cuda.set_device(device)  # or each process would also take a part of the first
        graph = Graph(path, device, products=how == "products")
        return lambda feeds: np.asarray(graph.run(feeds)[0], dtype=np.float32).ravel()
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    return lambda feeds: np.asarray(session.run(None, feeds)[0], dtype=np.float32).ravel()


@cache
def _kokoro_parts() -> tuple[
    Callable[[dict[str, Any]], Floats], dict[str, Floats], dict[str, int], dict[str, Any]
]:
    from hibari.g2p import G2P

    home = Path(os.environ["KOKORO"])
    with np.load(home / "voices.npz") as file:
        styles = {name: file[name].astype(np.float32) for name in file.files}
    vocabulary = json.loads((home / "vocab.json").read_text(encoding="utf-8"))
    network = _network(home / "kokoro.onnx")
    return network, styles, vocabulary, {"a": G2P(), "b": G2P(british=True)}


def _kokoro(voice: str, text: str, random: Random) -> tuple[Floats, int]:
    network, styles, vocabulary, sounds = _kokoro_parts()
    own, _, blend = voice.removeprefix("kokoro:").partition("+")
    style = styles[own]
    if blend:
        share = float(blend[:4])
        style = (1 - share) * style + share * styles[blend[4:]]
    phonemes = sounds["b" if own[0] == "b" else "a"](text)
    spelt = phonemes if isinstance(phonemes, str) else " ".join(phonemes)
    tokens = [vocabulary[sign] for sign in spelt if sign in vocabulary][:508]
    feeds = {
        "tokens": np.array([[0, *tokens, 0]], dtype=np.int64),
        "style": style[min(len(tokens), len(style)) - 1].reshape(1, 256).astype(np.float32),
        "speed": np.array([random.uniform(0.8, 1.3)], dtype=np.float32),
    }
    return network(feeds), 24_000


def trimmed(samples: Floats) -> Floats:
    """Without the silence around the speech, but for 20 ms before and 40 ms behind it."""
    loud = np.flatnonzero(np.abs(samples) > 0.01 * np.abs(samples).max())
    return samples[max(0, loud[0] - 320) : loud[-1] + 640] if len(loud) else samples


def speak(job: Job) -> shards.Clip | None:
    """One clip, the same for the same job where the engine is; ``None`` where a voice cannot say
    it: some of eSpeak NG's variants fail on some texts, and one lost text is no loss."""
    random, text = Random(job.seed), as_said(job.text)
    make = _kokoro if job.voice.startswith("kokoro:") else _classic
    try:
        samples, rate = make(job.voice, text, random)
        if rate != shards.RATE:
            samples = np.asarray(soxr.resample(samples, rate, shards.RATE), dtype=np.float32)
        samples = trimmed(samples)
        if not 0.15 < len(samples) / shards.RATE < 12:
            return None
        return shards.Clip(shards.levelled(samples), "made", job.voice, text)
    except (OSError, ValueError, EOFError, wave.Error, subprocess.SubprocessError):
        return None


def jobs_of(texts: Sequence[str], part: str, engine: str, seed: int) -> list[Job]:
    """A voice for each text."""
    random = Random(f"{part} {engine} {seed}")
    return [
        Job(text, draw_voice(part, engine, random), seed * 1_000_003 + n)
        for n, text in enumerate(texts)
    ]


def _work(device: str, pipe: Connection) -> None:
    """Speak what comes until nothing does; a process of its own."""
    os.environ[_DEVICE] = device
    while (job := pipe.recv()) is not None:
        pipe.send(speak(job))


_AHEAD = 2
"""Jobs that a process has before it: it need not wait for the next one, and if it dies, so many
texts are lost. They are small enough for the pipe: giving them never waits."""


def spoken(
    jobs: Sequence[Job],
    devices: Sequence[str],
    seconds: float,
    work: Callable[[str, Connection], None] = _work,
) -> Iterator[shards.Clip | None]:
    """What the jobs make, in any order, until so many seconds have passed.

    There is a process for each of ``devices``, with a pipe of its own: nothing is shared that one
    of them, stuck or killed, could hold. At the end all are killed. They are started anew and not
    forked, as CUDA demands.
    """
    context = get_context("spawn")
    until = time.monotonic() + seconds
    left = iter(jobs)
    processes: list[BaseProcess] = []
    pipes: list[Connection] = []

    def give(pipe: Connection) -> None:
        try:
            pipe.send(next(left, None))
        except OSError:
            return  # it is gone, which reading from it tells

    try:
        for device in devices:
            own, other = context.Pipe()
            process = context.Process(target=work, args=(device, other), daemon=True)
            process.start()
            other.close()  # or its end, if the process dies, would never be told
            processes.append(process)
            pipes.append(own)
            for _ in range(_AHEAD):
                give(own)
        while pipes and (rest := until - time.monotonic()) > 0:
            for pipe in wait(pipes, min(rest, 3600)):
                assert isinstance(pipe, Connection)
                try:
                    clip = pipe.recv()
                except (EOFError, OSError):
                    pipes.remove(pipe)
                else:
                    give(pipe)
                    yield clip
    finally:
        _end(processes, patience=0 if pipes else 5)


def _end(processes: Sequence[BaseProcess], patience: float) -> None:
    """Kill what does not end by itself, and tell what had died before."""
    for process in processes:
        process.join(patience)
    broken = [process.exitcode for process in processes if process.exitcode]
    for process in processes:
        process.kill()
    for process in processes:
        process.join(5)
    if broken:
        print(f"{len(broken)} of {len(processes)} processes died: {broken}")


def devices_for(engine: str, jobs: int | None, products: bool) -> list[str]:
    """Where each process runs Kokoro: card after card where there are cards."""
    cards = 0
    if engine == "kokoro":
        try:
            import torch

            cards = torch.cuda.device_count()
        except ImportError:
            pass
    cores = os.cpu_count() or 1
    if not cards:
        return [""] * (jobs or cores)
    how = "+products" if products else ""
    count = jobs or min(_PROCESSES * cards, cores)
    return [f"cuda:{n % cards}{how}" for n in range(count)]


def main() -> None:
    """Speak the texts into one shard."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("texts", type=Path, help="kind and text, tab between them")
    parser.add_argument("out", type=Path, help="the shard to write")
    parser.add_argument("--engine", choices=("classic", "kokoro"), required=True)
    parser.add_argument("--part", choices=(TRAIN, CALIBRATE, TEST), default=TRAIN)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=10**9)
    parser.add_argument("--seconds", type=float, default=1e9, help="begin no text after so long")
    parser.add_argument("--jobs", type=int, help="processes; 12 a card, or one a core")
    parser.add_argument("--products", action="store_true", help="convolutions without cuDNN")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    lines = chosen.texts.read_text(encoding="utf-8").splitlines()
    texts = [line.split("\t")[1] for line in lines][chosen.first :][: chosen.count]
    jobs = jobs_of(texts, chosen.part, chosen.engine, chosen.seed)
    begun = time.monotonic()
    devices = devices_for(chosen.engine, chosen.jobs, chosen.products)
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")  # a process for each core is enough
    clips = [clip for clip in spoken(jobs, devices, chosen.seconds) if clip is not None]
    clips.sort(key=lambda clip: (clip.text, clip.speaker))
    shards.write(chosen.out, clips)
    hours = sum(len(clip.samples) for clip in clips) / shards.RATE / 3600
    print(f"{len(clips)} of {len(jobs)} texts, {hours:.1f} h, {time.monotonic() - begun:.0f} s")


if __name__ == "__main__":
    main()
