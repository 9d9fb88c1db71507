"""Finds out how words really come out of the phoneme listener's model, from recordings of
known calls: each call is aligned by the pronunciations known so far, and what the model heard
within each word is counted. What is found is a suggestion for the lexicon; a person decides.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

from voicewalk.bench.clips import Recording, read_sound
from voicewalk.hearing.lexicon import Lexicon, Phonemes
from voicewalk.hearing.phoneme_graph import PhonemeGraph
from voicewalk.hearing.phoneme_model import PhonemeModel
from voicewalk.hearing.phoneme_search import Trellis
from voicewalk.language.graph import GraphBuilder

LEAST_SHARE = 0.08
"""Of all hearings of a word; below it a pronunciation is an accident of one recording."""

LEAST_COUNT = 3

MOST = 3
"""New pronunciations of one word: each makes the word a little easier to hear in others."""

_MARGIN, _OPENED = 300.0, 500


def heard_words(
    model: PhonemeModel, lexicon: Lexicon, recordings: Iterable[Recording]
) -> dict[str, Counter[Phonemes]]:
    """How often each word of the texts was heard as each string of phonemes."""
    symbols = {index: symbol for symbol, index in model.phonemes.items()}
    heard: dict[str, Counter[Phonemes]] = defaultdict(Counter)

    def pronounce(word: str) -> tuple[tuple[int, ...], ...]:
        ways = lexicon.pronounce(word)
        return tuple(tuple(model.phonemes[p] for p in way) for way in ways)

    for recording in recordings:
        builder = GraphBuilder()
        end = builder.state()
        builder.final(end)
        builder.phrase(0, end, recording.text)
        frames = model.log_probs(read_sound(recording.path))
        trellis = Trellis(PhonemeGraph(builder.freeze(), pronounce), frames, model.blank)
        path = next(trellis.paths(_MARGIN, _OPENED), None)
        if path is None:
            continue
        best = frames.argmax(axis=1).tolist()
        bounds = [*path.begins, len(best)]
        for word, begin, stop in zip(recording.text.split(), bounds, bounds[1:], strict=False):
            run = [
                symbols[best[t]]
                for t in range(begin, stop)
                if best[t] != model.blank and (t == 0 or best[t] != best[t - 1])
            ]
            heard[word][tuple(run)] += 1
    return heard


def suggestions(
    lexicon: Lexicon, heard: dict[str, Counter[Phonemes]]
) -> dict[str, list[tuple[Phonemes, int]]]:
    """New pronunciations worth a person's look, with how often each was heard."""
    found: dict[str, list[tuple[Phonemes, int]]] = {}
    for word, counts in sorted(heard.items()):
        known = lexicon.pronounce(word)
        usual = len(known[0])
        least = max(LEAST_COUNT, LEAST_SHARE * counts.total())
        new = [
            (way, count)
            for way, count in counts.most_common()
            if count >= least and way not in known and 0.7 * usual <= len(way) <= 1.3 * usual + 1
        ]
        if new:
            found[word] = new[:MOST]
    return found
