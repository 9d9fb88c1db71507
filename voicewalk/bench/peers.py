"""Other ways to hear a call, to be measured beside the ears on the same clips.

Each peer gets the same card, the same sound and what help its kind allows: the same grammar,
a dictionary without gaps, the better of the settings tried. They live with the benchmark only;
nothing of them is part of a walk, and their packages are developers' packages.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from voicewalk.bench.clips import Floats
from voicewalk.bench.peer_sphinx import SphinxPeer
from voicewalk.bench.peer_transcript import TranscriptPeer
from voicewalk.card.load import card_path, lexicon_path, load_card
from voicewalk.errors import ModelError
from voicewalk.hearing.lexicon import Lexicon, load_entries
from voicewalk.hearing.phoneme_model import PhonemeModel
from voicewalk.language.build import phrase_graph
from voicewalk.language.meaning import Meaning
from voicewalk.language.vocabulary import vocabulary_of


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


def peers_of(card_name: str) -> tuple[list[Peer], list[Absent]]:
    """The peers for a card, by its name or file: those on this machine, and those that are not."""
    card = load_card(card_path(card_name))
    graph = phrase_graph(card, vocabulary_of(card))
    lexicon = Lexicon(load_entries(lexicon_path(card)), PhonemeModel().spell)
    found: list[Peer] = [TranscriptPeer(graph, lexicon)]
    absent: list[Absent] = []
    try:
        found.append(SphinxPeer(graph))
    except ModelError as error:
        absent.append(Absent("PocketSphinx", error.args[0]))
    return found, absent
