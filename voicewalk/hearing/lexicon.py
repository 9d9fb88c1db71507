"""How words are spelt, where they are not, or not only, spelt as the vocabulary has them.

The data is a tab-separated file beside the vocabulary: a word and its spellings. Both listeners
write what they hear, so one list serves both. A spelling with hyphens is spelt out: ``p-s-i`` is
said letter by letter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from voicewalk.errors import SourceError

SPELT_OUT = "-"


@dataclass(frozen=True)
class Lexicon:
    """Spellings by word."""

    spellings: Mapping[str, tuple[str, ...]]

    def spell(self, word: str) -> tuple[str, ...]:
        """Every way the word is written, lower case, the usual one first."""
        return self.spellings.get(word, (word,))


def load_lexicon(path: Path) -> Lexicon:
    """Read a lexicon file: ``word<TAB>spellings``, parted by blanks; ``#`` begins a comment.

    Raises:
        SourceError: the file cannot be read; a line of another form; a word that stands twice.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SourceError(
            str(path), f"cannot be read: {error}", "Put the lexicon, as UTF-8, by its vocabulary."
        ) from error
    spellings: dict[str, tuple[str, ...]] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        columns = line.split("\t")
        where = f"{path}:{number}"
        if len(columns) != 2 or not all(column.strip() for column in columns):
            raise SourceError(where, "not two columns", "Write a word and its spellings.")
        word, ways = columns[0].strip(), columns[1].split()
        if len(word.split()) != 1:
            raise SourceError(where, f"{word!r} is not one word", "Write one word a line.")
        if line != line.lower():
            raise SourceError(where, f"{line!r} has capital letters", "Write small letters.")
        if word in spellings:
            raise SourceError(where, f"{word!r} stands twice", "Join the two lines.")
        spellings[word] = tuple(dict.fromkeys(ways))
    return Lexicon(spellings)
