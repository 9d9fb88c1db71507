"""Other ways to hear a call, to be measured beside the ears on the same clips.

Each peer gets the same card, the same sound and what help its kind allows: the same grammar,
a dictionary without gaps, the better of the settings tried. They live with the benchmark only;
nothing of them is part of a walk, and their packages are developers' packages.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib.metadata import version
from typing import Protocol

from voicewalk.bench.clips import Floats
from voicewalk.bench.peer_sphinx import SphinxPeer
from voicewalk.bench.peer_transcript import TranscriptPeer, free_letters, free_words
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.card.model import Card
from voicewalk.errors import VoicewalkError
from voicewalk.hearing.lexicon import load_lexicon
from voicewalk.hearing.vosk_listener import VoskListener
from voicewalk.hearing.vosk_model import VoskModel, find_model
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.vocabulary import NearCalls, Vocabulary, vocabulary_of

FREE_WORDS, FREE_LETTERS = "free transcript", "free transcript in letters"
"""What the word listener and the letter listener write."""


class Peer(Protocol):
    """One way to hear calls of a card.

    Attributes:
        name: as it stands in a table, with the version.
    """

    @property
    def name(self) -> str:
        """As the attribute says."""

    def hear(self, samples: Floats) -> Meaning | None:
        """What a clip means; ``None`` where it is refused.

        Args:
            samples: mono, 16 kHz, -1 to 1, with some of the sound around the speech.
        """


@dataclass(frozen=True, slots=True)
class Absent:
    """A peer that is not on this machine, and why."""

    name: str
    reason: str


class VoskPeer:
    """Vosk held to the card's phrases, its best reading taken at its word.

    Raises:
        ModelError: no model for the language is found.
        SourceError: the model does not know a word of the card.
    """

    def __init__(self, card: Card, language: str, graph: PhraseGraph) -> None:
        model = VoskModel(find_model(language))
        self.name = f"Vosk {version('vosk')}"
        self._listener = VoskListener(model, card, graph)

    def hear(self, samples: Floats) -> Meaning | None:
        """As ``Peer.hear``."""
        hearing = self._listener.hear(samples, ())
        guesses = [] if hearing.foreign else hearing.guesses(1)
        return guesses[0].meaning if guesses else None


def calls_alone(card: Card, vocabulary: Vocabulary) -> PhraseGraph:
    """The graph that peers are measured with: talk that comes near a call is our judge's
    business."""
    return phrase_graph(card, replace(vocabulary, near_calls=NearCalls()))


def peers_of(card_name: str) -> tuple[list[Peer], list[Absent]]:
    """The peers for a card, by its name or file: those on this machine, and those that are not."""
    card = load_card(card_path(card_name))
    vocabulary = vocabulary_of(card)
    graph = calls_alone(card, vocabulary)
    lexicon = load_lexicon(lexicon_path(card))
    makers: dict[str, Callable[[], Peer]] = {
        FREE_WORDS: lambda: TranscriptPeer(FREE_WORDS, free_words(), graph, lexicon),
        FREE_LETTERS: lambda: TranscriptPeer(
            FREE_LETTERS, free_letters(graph, lexicon), graph, lexicon
        ),
        "PocketSphinx": lambda: SphinxPeer(graph),
        "Vosk": lambda: VoskPeer(card, vocabulary.language, graph),
    }
    found: list[Peer] = []
    absent: list[Absent] = []
    for name, make in makers.items():
        try:
            found.append(make())
        except VoicewalkError as error:
            absent.append(Absent(name, str(error.args[0]).partition(";")[0]))
    return found, absent
