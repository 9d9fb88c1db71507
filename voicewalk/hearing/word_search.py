"""Decoding of the word model held to the phrase graph, and exact scoring of given texts.

Every score is a log-probability of a token string with its end, given the sound. The model is
quantised, so scores move with what else is in the batch (``BATCH_NOISE``); the same clip, graph
and versions always give the same batches and so the same scores.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voicewalk.hearing.letter_graph import LetterGraph
from voicewalk.hearing.tokens import TokenTrie
from voicewalk.hearing.word_model import END, Decoding, Floats

LONGEST = 48
"""Tokens in the longest call. The longest phrases of the cards have under 30."""

BATCH_NOISE = 1.5
"""How far the score of one text was seen to move with its batch: commonly 0.3, at most 1.2 in 28
calls of eight texts each."""

_LETTERS, _MARK, _POINT = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Written:
    """A text that the model might have written.

    Attributes:
        letters: what it spells in the letter graph; "" for a free text.
    """

    tokens: tuple[int, ...]
    score: float
    letters: str = ""


@dataclass(frozen=True, slots=True)
class _Hypothesis:
    """A beginning of a text: where it stands in the graph and what kind of token came last."""

    tokens: tuple[int, ...]
    score: float
    letters: str
    places: int
    last: int


def search(
    decoding: Decoding, trie: TokenTrie, graph: LetterGraph, start: int, width: int
) -> list[Written]:
    """The best texts within the graph, from a set of its places, by beam search, best first."""
    strings = decoding.begun
    beam = [_Hypothesis((), 0.0, "", start, _MARK)]
    ended: list[Written] = []
    for _ in range(LONGEST):
        offers: list[tuple[_Hypothesis, int]] = []
        for row, hypothesis in enumerate(beam):
            if graph.can_end(hypothesis.places):
                score = hypothesis.score + float(strings.rows[row, END])
                ended.append(Written(hypothesis.tokens, score, hypothesis.letters))
            for onward in _onward(hypothesis, strings.rows[row], trie, graph, width):
                offers.append((onward, row))
        ended = sorted(ended, key=lambda w: -w.score)[: 2 * width]
        floor = ended[width - 1].score if len(ended) >= width else -np.inf
        offers.sort(key=lambda offer: (-offer[0].score, offer[0].tokens))
        offers = [offer for offer in offers[:width] if offer[0].score > floor]
        if not offers:
            break
        beam = [hypothesis for hypothesis, _ in offers]
        parents = [row for _, row in offers]
        strings = decoding.onward(strings, parents, [h.tokens[-1] for h in beam])
    return ended


def _onward(
    hypothesis: _Hypothesis, row: Floats, trie: TokenTrie, graph: LetterGraph, width: int
) -> list[_Hypothesis]:
    """The ``width`` best continuations of one hypothesis by one token."""
    following = graph.following(hypothesis.places)
    scores = row[following.tokens]
    if hypothesis.last == _POINT:
        # A full stop that is no decimal point is not followed by a digit: "3.5" is never 35.
        scores = np.where(trie.digit[following.tokens], -np.inf, scores)
    onward = [
        _Hypothesis(
            (*hypothesis.tokens, token := int(following.tokens[i])),
            hypothesis.score + float(scores[i]),
            hypothesis.letters + trie.letters[token],
            int(following.sets[i]),
            _LETTERS,
        )
        for i in np.argsort(-scores, kind="stable")[:width]
        if np.isfinite(scores[i])
    ]
    if hypothesis.last == _LETTERS:
        onward += [
            _Hypothesis(
                (*hypothesis.tokens, mark),
                hypothesis.score + float(row[mark]),
                hypothesis.letters,
                hypothesis.places,
                _POINT if mark in trie.points else _MARK,
            )
            for mark in trie.marks
        ]
    return onward


def free(decoding: Decoding) -> Written:
    """What the model writes when nothing holds it: the greedy text."""
    strings, score = decoding.begun, 0.0
    tokens: list[int] = []
    while len(tokens) < LONGEST:
        token = int(strings.rows[0].argmax())
        score += float(strings.rows[0, token])
        if token == END:
            break
        tokens.append(token)
        strings = decoding.onward(strings, [0], [token])
    return Written(tuple(tokens), score)


def score(decoding: Decoding, texts: Sequence[tuple[int, ...]]) -> list[float]:
    """The log-probability of each token string with its end.

    Strings that begin alike are scored together up to where they part.
    """
    scores = dict.fromkeys(texts, 0.0)
    strings = decoding.begun
    row_of: dict[tuple[int, ...], int] = {(): 0}
    for depth in range(1, max(map(len, scores), default=0) + 2):
        longer: dict[tuple[int, ...], None] = {}
        for text in scores:
            if len(text) == depth - 1:
                scores[text] += float(strings.rows[row_of[text], END])
            elif len(text) >= depth:
                row = row_of[text[: depth - 1]]
                scores[text] += float(strings.rows[row, text[depth - 1]])
                longer[text[:depth]] = None
        prefixes = list(longer)
        if prefixes:
            parents = [row_of[prefix[:-1]] for prefix in prefixes]
            strings = decoding.onward(strings, parents, [prefix[-1] for prefix in prefixes])
            row_of = {prefix: row for row, prefix in enumerate(prefixes)}
    return [scores[text] for text in texts]
