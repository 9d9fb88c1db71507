"""A whole walkaround from recorded calls: everything is real but the person and the hours.

The caller speaks each call when the tool has finished speaking and listens. What was said both
ways is written into one sound file. The calls are made by script/make-demo-calls.
"""

from __future__ import annotations

import contextlib
import csv
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from voicewalk import private
from voicewalk.audio.frames import RATE, AudioSource, Block, CallEnded, Notice, Samples
from voicewalk.audio.playback import FilePlayer
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.card.load import card_path, load_card
from voicewalk.clock import Instant
from voicewalk.errors import RecordError, VoicewalkError
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record import database
from voicewalk.record.export import Form, exported, write_new
from voicewalk.record.summary import summary as summed_up
from voicewalk.record.verify import examine
from voicewalk.session.equipment import heard_from, open_ears
from voicewalk.session.events import Observer, Tally
from voicewalk.session.opening import begin
from voicewalk.session.speaking import Speaker
from voicewalk.session.summary import summary_lines
from voicewalk.session.walking import Outcome, run
from voicewalk.voice.synthesis import EspeakVoice
from voicewalk.voice.wording import Wording

CARD = "jet-trainer"
IDENTITY = "M07"
INSPECTOR = "recorded voice"
FIXTURES = Path(__file__).resolve().parents[2] / "fixtures" / "demo"
"""Only a copy of the repository has the recorded calls."""

RECORD, TALK = "demo.walk", "talk.wav"
EXPORTS = {Form.TEXT: "demo.txt", Form.CSV: "demo.csv", Form.JSON: "demo.json"}


@dataclass(frozen=True, slots=True)
class DemoCall:
    """One line of the script.

    Attributes:
        file: the recording, in the folder of the script.
        words: what is spoken.
        expected: what is expected of it: the kind of entry, "answer", "refused", ...
        snr_db: how far the engine's noise lies below it, "" for no noise.
    """

    file: str
    words: str
    expected: str
    snr_db: str


def read_script(folder: Path = FIXTURES) -> list[DemoCall]:
    """The calls of the demo, in order.

    Raises:
        VoicewalkError: they are not there.
    """
    try:
        with (folder / "calls.tsv").open(encoding="utf-8", newline="") as lines:
            return [
                DemoCall(row["file"], row["words"], row["expected"], row["snr_db"])
                for row in csv.DictReader(lines, delimiter="\t")
            ]
    except FileNotFoundError as error:
        raise VoicewalkError(
            f"the recorded calls of the demo are not in {folder}",
            "Run the demo from a copy of the repository, with script/demo.",
        ) from error


def demo(folder: Path, observers: Iterable[Observer], now: Callable[[], Instant]) -> Outcome:
    """Walk the demo; record, exports and the whole talk are left in ``folder``.

    Raises:
        VoicewalkError: the folder holds a demo already or cannot be written to, the calls are
            missing, or a model or the voice cannot be used.
    """
    calls = scripted(read_script())
    try:
        private.make_folder(folder)
    except OSError as error:
        raise database.trouble(folder, error) from error
    if taken := [name for name in (RECORD, TALK, *EXPORTS.values()) if (folder / name).exists()]:
        raise RecordError(
            f"{folder}: there is a file '{taken[0]}' already", "Name another folder with --out."
        )
    card = load_card(card_path(CARD))
    vocabulary = vocabulary_of(card)
    ears = open_ears(card, vocabulary)
    with contextlib.ExitStack() as undo:
        voice = undo.enter_context(contextlib.closing(EspeakVoice()))
        player = undo.enter_context(contextlib.closing(_talk(folder / TALK)))
        source = Caller(calls, player.add)
        wording = Wording(vocabulary.language)
        equipment = heard_from(source, ears, Speaker(voice, player), wording)
        opened = begin(card, IDENTITY, INSPECTOR, folder / RECORD, now())
        with contextlib.closing(opened.record):
            outcome = run(opened, equipment, observers, now)
    _export(folder)
    return outcome


def _talk(path: Path) -> FilePlayer:
    """The sound file of the whole talk: voices, as a record holds them."""
    try:
        private.make_file(path)
    except OSError as error:
        raise database.trouble(path, error) from error
    return FilePlayer(path)


def scripted(script: Iterable[DemoCall], folder: Path = FIXTURES) -> list[ScriptedCall]:
    """The recordings of a script, with the engine's noise where it runs."""
    engine = _recording(folder / "engine.flac")
    return [
        ScriptedCall(_recording(folder / call.file), engine, float(call.snr_db))
        if call.snr_db
        else ScriptedCall(_recording(folder / call.file))
        for call in script
    ]


class Caller(AudioSource):
    """Says the next call when everything that followed from the last one is done.

    Args:
        overheard: is given all sound of the caller as it goes.
    """

    def __init__(
        self, calls: list[ScriptedCall], overheard: Callable[[Samples, int], None]
    ) -> None:
        self._source = ScriptedSource(calls)
        self._overheard = overheard

    @property
    def position(self) -> int:
        """As ``AudioSource``."""
        return self._source.position

    def blocks(self) -> Iterator[Block | Notice]:
        """As ``AudioSource``. Whoever takes the next block has finished with the last one."""
        if not self._source.next_call():
            return
        for part in self._source.blocks():
            if isinstance(part, Block):
                self._overheard(part.samples, RATE)
            yield part
            if isinstance(part, CallEnded):
                self._source.next_call()

    def close(self) -> None:
        """As ``AudioSource``."""
        self._source.close()


def summary(folder: Path, tally: Tally) -> list[str]:
    """What the walk came to, and how long hearing took."""
    examined = examine(folder / RECORD)
    lines = summary_lines(summed_up(examined.entries), load_card(card_path(CARD)), tally)
    heard = tally.calls + tally.refused
    took = f"{heard} calls heard in {tally.hearing_ms / 1000:.0f} s of computing"
    return [*lines, took]


def files(folder: Path) -> list[str]:
    """What is left, and what to do with it."""
    record = folder / RECORD
    return [
        f"record: {record}",
        *(f"as {form.value}: {folder / name}" for form, name in EXPORTS.items()),
        f"the whole talk: {folder / TALK}",
        f"Verify it: voicewalk verify {record}",
        f"Show it: voicewalk show {record}",
    ]


def _recording(path: Path) -> Samples:
    samples, rate = soundfile.read(path, dtype="float32")
    if rate != RATE:
        raise RuntimeError(f"{path} has {rate} Hz: run script/make-demo-calls")
    return np.asarray(samples, np.float32)


def _export(folder: Path) -> None:
    examined = examine(folder / RECORD)
    for form, name in EXPORTS.items():
        write_new(folder / name, exported(folder / RECORD, examined, form))
