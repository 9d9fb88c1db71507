"""Reading text by the phrase graph: for the typed twin and for what a free decoder wrote.

Exact, word by word; slips of the keyboard are ``language.match``'s business.
"""

from __future__ import annotations

import re

from voicewalk.language.graph import PhraseGraph, Tags
from voicewalk.language.meaning import Meaning
from voicewalk.language.tags import meaning_of

_TOKEN = re.compile(r"\d|(?<=\d)\.(?=\d)|[a-z]+(?:'[a-z]+)*")


def tokens(text: str) -> list[str]:
    """The words of ``text`` as the graph knows them; digits one by one, no punctuation."""
    return _TOKEN.findall(text.lower().replace("’", "'"))


def parse(graph: PhraseGraph, text: str) -> list[Meaning]:
    """All meanings that ``graph`` gives to exactly these words, none twice; empty for none."""
    paths: dict[tuple[int, Tags], None] = {(0, ()): None}
    for word in tokens(text):
        paths = {
            (arc.dst, tags + arc.tags): None
            for state, tags in paths
            for arc in (graph.arcs[i] for i in graph.leaving[state])
            if arc.word == word
        }
    ends = (tags + graph.finals[state] for state, tags in paths if state in graph.finals)
    return list(dict.fromkeys(m for m in map(meaning_of, ends) if m is not None))
