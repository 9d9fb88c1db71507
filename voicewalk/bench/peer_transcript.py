"""Peers: a listener's free transcript, matched to the card's phrases by rapidfuzz.

What somebody would build who has a good transcriber and a string matcher: nothing holds the
transcriber, and what it writes is read by the graph where it fits exactly; else the nearest
phrase counts, if it is near enough. Numbers are taken out before matching and put back after:
a wrong digit is another number, however alike the texts.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from importlib.metadata import version

from rapidfuzz import fuzz, process

from voicewalk.bench.clips import Floats
from voicewalk.hearing import word_search
from voicewalk.hearing.letter_listener import LetterListener
from voicewalk.hearing.letter_model import LetterModel
from voicewalk.hearing.lexicon import Lexicon
from voicewalk.hearing.tokens import text_of
from voicewalk.hearing.word_model import WordModel
from voicewalk.language.graph import Arc, PhraseGraph
from voicewalk.language.meaning import Meaning
from voicewalk.language.parse import parse, tokens
from voicewalk.language.runs import number_runs

CUT = 80.0
"""Least likeness, of 100, to count as a phrase. Of 78 calls, half of them clean and half at 10 dB,
24 are right and 3 wrong with it; with 75 it is 28 and 6, with 85 it is 19 and 1. Likeness with
the words sorted, by rapidfuzz's weighted mixture, or by ``language.match`` gave fewer right and
more wrong."""

NAMES = 15
"""Item names that are tried with all that can be said of them."""

NUMBER = "#"
_NUMBER_SLOTS = frozenset(("number", "size"))


Transcribe = Callable[[Floats], str]
"""Writes what it hears, held by nothing; the sound as for ``Peer.hear``."""


def free_words() -> Transcribe:
    """What the word listener's model writes.

    Raises:
        ModelError: a file of it is missing or altered.
    """
    model = WordModel()
    return lambda samples: text_of(model.tokens, word_search.free(model.hear(samples)).tokens)


def free_letters(graph: PhraseGraph, lexicon: Lexicon) -> Transcribe:
    """What the letter listener writes: it was trained for such calls.

    Raises:
        ModelError: its file is missing or altered, or a word has a letter that it does not know.
    """
    listener = LetterListener(LetterModel(), lexicon, graph)
    return lambda samples: listener.hear(samples).text


class TranscriptPeer:
    """Free transcript and string matching for one graph.

    Args:
        of: what the transcript is called in a table.
    """

    def __init__(
        self, of: str, transcribe: Transcribe, graph: PhraseGraph, lexicon: Lexicon
    ) -> None:
        self.name = f"{of}, rapidfuzz {version('rapidfuzz')}"
        self._transcribe = transcribe
        self._matcher = Matcher(graph, lexicon.spell)

    def hear(self, samples: Floats) -> Meaning | None:
        """As ``Peer.hear``."""
        return self._matcher(self._transcribe(samples))


class Matcher:
    """Reads transcripts by the phrases of a graph of calls alone (``peers.calls_alone``); ``spell``
    gives a word's ways of writing."""

    def __init__(self, graph: PhraseGraph, spell: Callable[[str], Iterable[str]]) -> None:
        self._graph = graph
        self._spelt = {way: word for word in graph.words for way in spell(word) if way != word}
        self._phrases = Skeletons(graph)

    def __call__(self, text: str) -> Meaning | None:
        """What a transcript means; ``None`` where no phrase is near."""
        words = [self._spelt.get(word, word) for word in tokens(text)]
        if len(exact := parse(self._graph, " ".join(words))) == 1:
            return exact[0]
        skeleton, numbers = without_numbers(words)
        found = (self._phrases.nearest(skeleton) or "").split()
        if found.count(NUMBER) != len(numbers):
            return None
        left = iter(numbers)
        whole = " ".join(next(left) if word == NUMBER else word for word in found)
        meanings = parse(self._graph, whole)
        return meanings[0] if len(meanings) == 1 else None


def without_numbers(words: Sequence[str]) -> tuple[str, list[str]]:
    """The words with each number as one ``NUMBER``, and the numbers."""
    runs = number_runs(words)
    kept: list[str] = []
    last = 0
    for begin, end in runs:
        kept += [*words[last:begin], NUMBER]
        last = end
    kept += words[last:]
    return " ".join(kept), [" ".join(words[begin:end]) for begin, end in runs]


class Skeletons:
    """The phrases of a graph without fillers and with each number as one word: names of items,
    what can be said of each, and what can be said alone. No part is said twice in one phrase
    (a second place, a correction): with those there would be tens of millions."""

    def __init__(self, graph: PhraseGraph) -> None:
        self._graph = graph
        self._names: dict[str, set[int]] = defaultdict(set)
        for arc, words in self._openings(0, ()):
            self._names[" ".join(words)].add(arc.dst)
        self._alone = self._tails(0)

    def nearest(self, skeleton: str) -> str | None:
        """The phrase most like ``skeleton``, if it is at least ``CUT`` like it."""
        names = process.extract(
            skeleton, list(self._names), scorer=fuzz.partial_ratio, limit=NAMES, score_cutoff=CUT
        )
        phrases = [
            f"{name} {tail}"
            for name, _, _ in names
            for state in sorted(self._names[name])
            for tail in self._tails(state)
        ]
        found = process.extractOne(
            skeleton, [*phrases, *self._alone], scorer=fuzz.ratio, score_cutoff=CUT
        )
        return None if found is None else str(found[0])

    def _openings(
        self, state: int, words: tuple[str, ...]
    ) -> Iterator[tuple[Arc, tuple[str, ...]]]:
        """Ways from the start to an item's name, its words included."""
        for arc in self._leaving((state,)):
            slots = {slot for slot, _ in arc.tags}
            if slots & {"item", "group"}:
                yield arc, (*words, arc.word)
            elif not slots and arc.dst and not arc.written:
                yield from self._openings(arc.dst, (*words, arc.word))

    def _tails(self, state: int) -> tuple[str, ...]:
        """All that can be said from a state on, without naming an item."""
        naming = frozenset(("item", "group", "corrects"))
        return self._from(frozenset((state,)), False, naming)

    @cache  # noqa: B019 - one object lives as long as the peer
    def _from(self, states: frozenset[int], counted: bool, used: frozenset[str]) -> tuple[str, ...]:
        """All ways on; ``counted`` after a number, ``used`` holds the slots that are filled."""
        ways: dict[str, None] = {}
        for (word, slots), reached in self._steps(states, counted).items():
            if not slots & used:
                if reached & self._graph.finals.keys():
                    ways[word] = None
                following = self._from(frozenset(reached), word == NUMBER, used | slots)
                ways |= {f"{word} {way}": None for way in following}
        return tuple(ways)

    def _steps(
        self, states: frozenset[int], counted: bool
    ) -> dict[tuple[str, frozenset[str]], set[int]]:
        """The words that may follow, each with its slots and where it leads. After a number
        come no further words of it."""
        steps: dict[tuple[str, frozenset[str]], set[int]] = defaultdict(set)
        for arc in self._leaving(states):
            slots = frozenset(slot for slot, _ in arc.tags)
            if not slots & _NUMBER_SLOTS:
                if arc.dst:  # fillers lead back to the start
                    steps[arc.word, slots].add(arc.dst)
            elif not counted:
                steps[NUMBER, slots & _NUMBER_SLOTS] |= self._through_number(arc.dst)
        return steps

    def _through_number(self, state: int) -> set[int]:
        """Where a number that has come to ``state`` may end, among other places in it."""
        seen, todo = {state}, [state]
        while todo:
            for arc in self._leaving({todo.pop()}):
                if arc.dst not in seen and any(slot in _NUMBER_SLOTS for slot, _ in arc.tags):
                    seen.add(arc.dst)
                    todo.append(arc.dst)
        return seen

    def _leaving(self, states: Iterable[int]) -> Iterator[Arc]:
        return (
            self._graph.arcs[index]
            for state in sorted(states)
            for index in self._graph.leaving[state]
        )
