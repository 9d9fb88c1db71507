"""Reading text by the phrase graph: for the typed twin and for what a free decoder wrote.

Exact, word by word; slips of the keyboard are ``language.match``'s business.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from voicewalk.language.graph import PhraseGraph, Tags
from voicewalk.language.meaning import Meaning
from voicewalk.language.tags import meaning_of

_THOUSANDS = re.compile(r"(?<![\d.,])([1-9]\d?),(?=\d{3}(?![\d,]))")

# Signs are dropped only where they cannot change what is said. Any other is a token that no
# graph holds: "1/2" is not 12, "3,5" not 35, "10-15" not 1015, "-5" and ".5" are not 5.
_TOKEN = re.compile(
    r"""[^\W\d_]+(?:'[^\W\d_]+)*
    | \d
    | (?<=\d)\W*[^\w\s]\W*(?=\d)
    | (?<!\w)[.\u2212\u2013-]\s*(?=\d)
    | [^\s.,;:!?'\u2013\u2014-]
    """,
    re.VERBOSE,
)


def tokens(text: str) -> list[str]:
    """The words of ``text`` as the graph knows them; digits one by one, no punctuation."""
    composed = unicodedata.normalize("NFC", text)  # as cards are read: one spelling, one word
    plain = _THOUSANDS.sub(r"\1", composed.lower().replace("\u2019", "'"))
    return [token.strip() for token in _TOKEN.findall(plain)]


def parse(graph: PhraseGraph, text: str, starts: Iterable[int] = (0,)) -> list[Meaning]:
    """All meanings that ``graph`` gives to exactly these words, none twice; empty for none.

    No words mean nothing, even where an item was asked for and its name alone is a call.

    Args:
        starts: states at which they may begin.
    """
    words = tokens(text)
    if not words:
        return []
    paths: dict[tuple[int, Tags], None] = {(state, ()): None for state in starts}
    for word in words:
        paths = {
            (arc.dst, tags + arc.tags): None
            for state, tags in paths
            for arc in (graph.arcs[i] for i in graph.leaving[state])
            if arc.word == word
        }
    ends = (tags + graph.finals[state] for state, tags in paths if state in graph.finals)
    return list(dict.fromkeys(m for m in map(meaning_of, ends) if m is not None))
