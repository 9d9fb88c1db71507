"""How words sound and how they are written: checked entries first, then the model's own rule.

The data is a tab-separated file beside the vocabulary: word, pronunciations, spellings. The
pronunciations are in the phonemes that the acoustic model emits, quirks included ("one" comes
out as ``o n``), not in those of a dictionary.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from voicewalk.errors import SourceError

Phonemes = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """One word. ``says`` and ``spellings`` may be empty: then the rule alone decides."""

    says: tuple[Phonemes, ...]
    spellings: tuple[str, ...]
    also: bool


class Lexicon:
    """Pronunciations and spellings of words.

    Args:
        entries: checked words.
        rule: letter-to-sound for all others, and for entries that begin with ``+``.
    """

    def __init__(self, entries: dict[str, Entry], rule: Callable[[str], Phonemes]) -> None:
        self._entries = entries
        self._rule = rule

    def pronounce(self, word: str) -> tuple[Phonemes, ...]:
        """Every pronunciation of a word, none twice; at least one."""
        entry = self._entries.get(word)
        if entry is None:
            return (self._rule(word),)
        own = (self._rule(word),) if entry.also or not entry.says else ()
        return tuple(dict.fromkeys((*entry.says, *own)))

    def spell(self, word: str) -> tuple[str, ...]:
        """Every way the word is written, lower case, the usual one first."""
        entry = self._entries.get(word)
        return entry.spellings if entry is not None and entry.spellings else (word,)


def load_entries(path: Path) -> dict[str, Entry]:
    """Read a lexicon file: ``word<TAB>says<TAB>spellings``, ``#`` begins a comment.

    ``says``: phonemes parted by blanks, alternatives by ``/``; a leading ``+`` adds them to
    the rule's own instead of taking its place. ``spellings``: words parted by blanks.

    Raises:
        SourceError: the file cannot be read; a line of another form; a word that stands twice.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SourceError(
            str(path), f"cannot be read: {error}", "Put the lexicon, as UTF-8, by its vocabulary."
        ) from error
    entries: dict[str, Entry] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        columns = line.split("\t")
        where = f"{path}:{number}"
        if len(columns) != 3 or not columns[0].strip():
            raise SourceError(where, "not three columns", "Write word, says and spellings.")
        word, says, spellings = (column.strip() for column in columns)
        if len(word.split()) != 1 or word != word.lower():
            raise SourceError(where, f"{word!r} is not one word", "Write it in small letters.")
        if word in entries:
            raise SourceError(where, f"{word!r} stands twice", "Join the two lines.")
        also = says.startswith("+")
        ways = tuple(tuple(way.split()) for way in says.lstrip("+").split("/") if way.strip())
        entries[word] = Entry(ways, tuple(spellings.split()), also)
    return entries
