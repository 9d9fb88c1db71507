"""Which recordings of which folders are heard at which level, and on which card."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from pathlib import Path

from voicewalk.bench.clips import Recording, read_manifest
from voicewalk.bench.observe import CLEAN
from voicewalk.card.load import card_path, load_card
from voicewalk.errors import VoicewalkError
from voicewalk.language.build import phrase_graph
from voicewalk.language.near import items_in
from voicewalk.language.parse import parse
from voicewalk.language.talk import Near
from voicewalk.language.vocabulary import vocabulary_of


def levels(text: str) -> list[str]:
    """The levels of "clean,10,5": "clean" or decibels.

    Raises:
        VoicewalkError: one is neither.
    """
    found = [part.strip() for part in text.split(",")]
    for part in found:
        if part != CLEAN and not _decibels(part):
            raise VoicewalkError(
                f"'{part}' is no level of noise", "Write 'clean' or decibels, such as clean,10,0."
            )
    return found


def _decibels(text: str) -> bool:
    try:
        return isfinite(float(text))
    except ValueError:
        return False


def tasks_of(
    folders: Sequence[Path], snrs: Sequence[str], *, deal: bool
) -> list[tuple[Recording, str]]:
    """Every recording at every level, or each at one of them in turn.

    The turn shifts by one after each round: recordings often change speakers in rounds too, and
    each speaker is to be heard at every level.
    """
    recordings = [recording for folder in folders for recording in read_manifest(folder)]
    if deal:
        return [(one, snrs[(n + n // len(snrs)) % len(snrs)]) for n, one in enumerate(recordings)]
    return [(one, snr) for one in recordings for snr in snrs]


def by_card(cards: Sequence[str], folders: Sequence[Path]) -> dict[str, list[Path]]:
    """The folders by the card that has most of their calls, and of the items that near calls are
    about; the first where none has any."""
    loaded = {name: load_card(card_path(name)) for name in cards}
    graphs = {name: phrase_graph(card, vocabulary_of(card)) for name, card in loaded.items()}
    found: dict[str, list[Path]] = {name: [] for name in cards}
    for folder in folders:
        texts = [(one.text, one.near) for one in read_manifest(folder) if one.text]

        def known(name: str, texts: list[tuple[str, Near | None]] = texts) -> int:
            return sum(
                bool(items_in(loaded[name], text)) if near else len(parse(graphs[name], text)) == 1
                for text, near in texts
            )

        found[max(cards, key=known)].append(folder)
    return {name: its for name, its in found.items() if its}
