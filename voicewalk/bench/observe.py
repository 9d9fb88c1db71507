"""Plays recordings to the listeners through voice activity detection, at a chosen noise, and
keeps what the judge would see.

The mixing is seeded by the recording's name and the level: the same data give the same trials,
in whatever order and in however many processes they are heard.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache, partial
from multiprocessing import get_context
from pathlib import Path
from random import Random

import numpy as np

from voicewalk.audio.frames import RATE
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.audio.segment import Segment, segment
from voicewalk.bench.clips import Floats, Recording, read_noises, read_sound
from voicewalk.bench.peers import Peer, peers_of
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.card.model import Card
from voicewalk.hearing.ears import Listeners, starts_of
from voicewalk.hearing.evidence import Sound
from voicewalk.hearing.pool import Pooled
from voicewalk.language.build import phrase_graph
from voicewalk.language.draw import asked
from voicewalk.language.meaning import NO_CALL, Expectation, Meaning
from voicewalk.language.near import NearCall, near_call_of
from voicewalk.language.parse import parse
from voicewalk.language.vocabulary import vocabulary_of

CLEAN = "clean"


@dataclass(frozen=True, slots=True)
class Piece:
    """One stretch of speech found in a recording.

    Attributes:
        pooled: the meanings pooled.
        took: seconds of each stage, from the end of the stretch to the pooled meanings.
        peers: what each other recogniser took it for, by name.
    """

    pooled: tuple[Pooled, ...]
    sound: Sound
    took: Mapping[str, float] = field(default_factory=dict)
    peers: tuple[tuple[str, Meaning | None], ...] = ()

    @property
    def busy(self) -> float:
        """Seconds of all stages together."""
        return sum(self.took.values())


@dataclass(frozen=True, slots=True)
class Trial:
    """One recording at one level of noise.

    Attributes:
        snr: "clean", or the decibels at which noise was mixed in.
        truth: what was called; ``None`` for speech that must be refused, or that is near a call.
        expectation: what a walk must have asked for the call to be one.
        pieces: what was found in it: none where no speech was, several where a call fell apart.
        near: speech near a call, with what it may enter; ``None`` for all other.
        said: what the text means by itself on this card, of speech that is no call here.
    """

    recording: Recording
    snr: str
    truth: Meaning | None
    expectation: Expectation
    pieces: tuple[Piece, ...]
    near: NearCall | None = None
    said: tuple[Meaning, ...] = ()


@dataclass(frozen=True, slots=True)
class Setting:
    """What every trial of a run has in common: a card's name or file, where the noises lie, the
    seed of the mixing, and whether the peers hear the same sound."""

    card: str
    noise: Path
    seed: int = 1
    peers: bool = False


class Room:
    """The listeners of a setting with its noises: what hears one recording after another."""

    def __init__(self, setting: Setting) -> None:
        self.card: Card = load_card(card_path(setting.card))
        self.noises = read_noises(setting.noise)
        vocabulary = self._vocabulary = vocabulary_of(self.card)
        self._written = phrase_graph(self.card, vocabulary)
        self.listeners = Listeners(self.card, vocabulary, lexicon_path(self.card))
        self.peers: list[Peer] = peers_of(setting.card)[0] if setting.peers else []
        self._seed = setting.seed

    def truth(self, recording: Recording) -> tuple[Meaning | None, Expectation]:
        """What a recording means on this card, if anything, and what must be asked for it."""
        meanings = parse(self._written, recording.text) if recording.text else []
        if len(meanings) != 1 or meanings[0].act in NO_CALL:
            return None, Expectation()
        expectation = asked(self.card, self._written, recording.text, meanings[0])
        return self._heard_as(recording.text, expectation), expectation

    def _heard_as(self, text: str, expectation: Expectation) -> Meaning | None:
        """What a text means where so much is asked for: "three" may answer how many."""
        graph = self.listeners.graph
        heard = parse(graph, text, starts_of(graph, expectation)) if text else []
        return heard[0] if len(heard) == 1 and heard[0].act not in NO_CALL else None

    def hear(self, recording: Recording, snr: str) -> Trial:
        """One recording at one level."""
        random = Random(f"{self._seed} {recording.path.name} {recording.text} {snr}")
        pieces = segments_of(read_sound(recording.path), snr, self.noises, random)
        if recording.near is not None:
            near = near_call_of(
                self.card, self._vocabulary, self._written, recording.near, recording.text
            )
            expectation = around(near, random)
            heard = tuple(self._piece(piece, expectation) for piece in pieces)
            return Trial(recording, snr, None, expectation, heard, near)
        truth, expectation = self.truth(recording)
        said: tuple[Meaning, ...] = ()
        if truth is None:
            # Speech for somebody else falls into the middle of a walk, where an item is due and
            # its answers, so much shorter than a call, are open to be misheard.
            item = random.choice(list(self.card))
            expectation = Expectation(item=item.id, question=random.random() < 0.5)
            truth = self._heard_as(recording.text, expectation)
            if truth is None and recording.text:
                said = tuple(parse(self._written, recording.text))
        heard = tuple(self._piece(piece, expectation) for piece in pieces)
        return Trial(recording, snr, truth, expectation, heard, said=said)

    def _piece(self, piece: Segment, expectation: Expectation) -> Piece:
        sound = Sound(len(piece.samples) / RATE, piece.snr_db, piece.faint)
        listened = self.listeners.listen(piece.samples, sound, expectation)
        peers = tuple((peer.name, peer.hear(piece.samples)) for peer in self.peers)
        return Piece(tuple(listened.pooled), listened.sound, listened.took, peers)


def around(near: NearCall, random: Random) -> Expectation:
    """What a walk expects where speech near a call falls: half of it where its item is asked for,
    and the answers to that are open to be misheard; else where nothing is."""
    asked_for = bool(near.item) and random.random() < 0.5
    return Expectation(item=near.item) if asked_for else Expectation()


def segments_of(
    samples: Floats, snr: str, noises: Mapping[str, Floats], random: Random
) -> list[Segment]:
    """The pieces of speech found in a recording with a random noise mixed in."""
    if snr == CLEAN:
        call = ScriptedCall(samples)
    else:
        noise = noises[random.choice(sorted(noises))]
        start = random.randrange(len(noise))
        call = ScriptedCall(samples, np.roll(noise, -start), float(snr))
    source = ScriptedSource([call])
    source.next_call()
    return [piece for piece in segment(source) if isinstance(piece, Segment)]


def observe(
    setting: Setting, tasks: Sequence[tuple[Recording, str]], jobs: int = 1
) -> Iterator[Trial]:
    """Every recording at its level, in the order of ``tasks``, heard in ``jobs`` processes."""
    if jobs == 1:
        room = Room(setting)
        yield from (room.hear(*task) for task in tasks)
        return
    # Not forked: a process that has listened holds threads that no fork of it would have.
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as workers:
        yield from workers.map(partial(_hear, setting), tasks, chunksize=4)


@cache
def _room(setting: Setting) -> Room:
    """The room of this process, where it is one of several. It is made with the first recording,
    for an error in it must be told, and in the beginning of a process it could not be."""
    return Room(setting)


def _hear(setting: Setting, task: tuple[Recording, str]) -> Trial:
    return _room(setting).hear(*task)
