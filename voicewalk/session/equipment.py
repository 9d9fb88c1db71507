"""How the calls come in and the answers go out: keyboard, sound file, or microphone and headset."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from voicewalk.audio import devices
from voicewalk.audio.driver import call
from voicewalk.audio.frames import RATE, AudioSource
from voicewalk.audio.microphone import MicrophoneSource
from voicewalk.audio.playback import DevicePlayer
from voicewalk.audio.segment import detector_file
from voicewalk.audio.source import Channels, FileSource
from voicewalk.card.load import lexicon_path
from voicewalk.card.model import Card
from voicewalk.clock import Instant
from voicewalk.errors import AudioError, VoicewalkError
from voicewalk.language.build import phrase_graph
from voicewalk.language.scope import ENGLISH
from voicewalk.language.vocabulary import Vocabulary, vocabulary_of
from voicewalk.session.keyboard import Lines, type_calls
from voicewalk.session.loop import Loop
from voicewalk.session.paper import Paper, type_paper
from voicewalk.session.sounds import Hears, listen
from voicewalk.session.speaking import Speaker
from voicewalk.settings import AudioSettings
from voicewalk.voice.synthesis import EspeakVoice
from voicewalk.voice.wording import Wording


@dataclass(frozen=True)
class Calls:
    """Where the calls come from: typed, else a sound file, else the microphone.

    Attributes:
        lines: where typed calls come from; ``None`` for sound.
        channels: of the sound file; "stereo", of the microphone too, is for two people: the
            inspector on the left, the second person on the right.
        device: part of the name, or the number, of the microphone; "" is the default one.
        voice: prompts are spoken, where there is a microphone; else they are only shown.
        paper: what is typed was written on paper before; ``None`` for no paper.
    """

    lines: Lines | None = None
    audio: Path | None = None
    channels: Channels = "mix"
    device: str = ""
    voice: bool = True
    paper: Paper | None = None

    @property
    def stereo(self) -> bool:
        """Whether two people are heard."""
        return self.channels == "stereo"


@dataclass(frozen=True)
class Equipment:
    """What a session works with.

    Attributes:
        take: feeds calls into a loop until there are no more.
        wording: what is said, in the language of the card.
        seconds: the clock of the walk's timers. With a sound file it is the file's own, so
            that nothing waits; with a paper card it stands still.
        device, rate: name of the microphone, and Hz at which it is open; "" and 0 for none.
    """

    take: Callable[[Loop], None]
    speaker: Speaker
    wording: Wording
    seconds: Callable[[], float]
    device: str = ""
    rate: int = 0


@contextlib.contextmanager
def equip(card: Card, calls: Calls, now: Callable[[], Instant]) -> Iterator[Equipment]:
    """What ``calls`` needs, given back at the end.

    Raises:
        VoicewalkError: the vocabulary has a fault, or there is no wording in its language; a
            device, file or model cannot be used.
    """
    vocabulary = vocabulary_of(card)
    wording = Wording(vocabulary.language)
    if calls.lines is None and calls.stereo is not bool(card.second):
        raise _misfit(card)
    if calls.lines is not None:
        graph, lines = phrase_graph(card, vocabulary), calls.lines
        if calls.paper is None:
            take = partial(type_calls, graph=graph, lines=lines)
            yield Equipment(take, Speaker(), wording, _monotonic(now))
        else:
            # The walk is over: a pause while it is typed in is no silence of the caller's.
            take = partial(type_paper, graph=graph, lines=lines, paper=calls.paper)
            yield Equipment(take, Speaker(), wording, lambda: 0.0)
    elif calls.audio is not None:
        source = FileSource(calls.audio, calls.channels)
        ears = open_ears(card, vocabulary)
        with contextlib.closing(source):
            yield heard_from(source, ears, Speaker(), wording, stereo=calls.stereo)
    else:
        seconds = _monotonic(now)
        with headset(card, vocabulary, calls, seconds) as (microphone, ears, speaker):
            take = partial(listen, source=microphone, ears=ears, stereo=calls.stereo, live=True)
            device = microphone.device, microphone.rate
            yield Equipment(take, speaker, wording, seconds, *device)


def _misfit(card: Card) -> VoicewalkError:
    if card.second:
        return VoicewalkError(
            f"{card.path}: a second person confirms items, and one channel holds one voice",
            "Use --channel stereo: the inspector on the left, the second person on the right.",
        )
    return VoicewalkError(
        f"{card.path}: nothing on it is confirmed by a second person, whom stereo sound is for",
        "Use another --channel.",
    )


def heard_from(
    source: AudioSource, ears: Hears, speaker: Speaker, wording: Wording, *, stereo: bool = False
) -> Equipment:
    """Equipment whose time is that of a recorded source."""
    take = partial(listen, source=source, ears=ears, stereo=stereo)
    return Equipment(take, speaker, wording, lambda: source.position / RATE)


def open_ears(card: Card, vocabulary: Vocabulary, width: int = 1) -> Hears:
    """Load the listeners, which takes some seconds: for English all that know it, else Vosk alone.

    Args:
        width: how wide they search; Vosk always searches everything.

    Raises:
        ModelError: a model is missing or altered.
        SourceError: the only listener's model does not know a word.
    """
    detector_file()  # what cuts the sound opens it later, when the walk has begun
    if vocabulary.language == ENGLISH:
        from voicewalk.hearing.ears import Ears  # heavy: only where something is heard

        return Ears(card, vocabulary, lexicon_path(card), width)
    from voicewalk.hearing.single import SingleEars  # heavy too
    from voicewalk.hearing.vosk_model import VoskModel, find_model

    return SingleEars(card, vocabulary, VoskModel(find_model(vocabulary.language)))


def device_lines() -> list[str]:
    """The sound devices, one a line.

    Raises:
        AudioError: PortAudio is missing.
    """
    return [
        f"{device.index:3}  {device.name}  ({device.inputs} in, {device.outputs} out)"
        for device in call(devices.list_devices, AudioSettings().open_seconds, "the sound system")
    ]


@contextlib.contextmanager
def headset(
    card: Card,
    vocabulary: Vocabulary,
    calls: Calls,
    seconds: Callable[[], float] = time.monotonic,
) -> Iterator[tuple[MicrophoneSource, Hears, Speaker]]:
    """Microphone, ears, and what speaks into the headset; given back at the end.

    Args:
        seconds: a clock that never runs back.

    Raises:
        VoicewalkError: a device or model cannot be used.
    """
    # Before the listeners are loaded, which takes longer.
    find = partial(devices.find_input, calls.device)
    call(find, AudioSettings().open_seconds, "the sound system")
    player = _player(calls.device) if calls.voice else None
    ears = open_ears(card, vocabulary)
    with contextlib.ExitStack() as undo:
        spoken = contextlib.closing(EspeakVoice(vocabulary.language))
        voice = undo.enter_context(spoken) if player else None
        microphone = MicrophoneSource(calls.device, stereo=calls.stereo, seconds=seconds)
        source = undo.enter_context(contextlib.closing(microphone))
        speaker = Speaker(voice, player, position=lambda: source.position, live=True)
        undo.enter_context(contextlib.closing(speaker))
        yield source, ears, speaker


def _player(device: str) -> DevicePlayer:
    """The headset's own ear piece, or the default output where it has another name."""
    if device:
        with contextlib.suppress(AudioError):
            return DevicePlayer(device)
    return DevicePlayer()


def _monotonic(now: Callable[[], Instant]) -> Callable[[], float]:
    return lambda: now().monotonic_ms / 1000
