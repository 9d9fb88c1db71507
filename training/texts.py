"""Texts to be spoken for training: calls, near calls, invented trades, plain sentences.

    python -m training.texts OUT.tsv --words WORDLIST --sentences MANIFEST

Two cards are never used, as the measure of what a new card gets: ``vehicle-daily`` and
``fixtures/bench/pump-house.yaml``.
"""

from __future__ import annotations

import argparse
import csv
import re
import tomllib
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path
from random import Random

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Item, Kind
from voicewalk.language.draw import draw_call
from voicewalk.language.spelling import SIGNS
from voicewalk.language.vocabulary import vocabulary_of

CARDS = {"jet-trainer": 16_000, "light-turboprop": 8_000, "two-person-check": 2_500}
SHARES: dict[str, int] = {
    "trade": 26_000,
    "reading": 14_000,
    "odd": 26_000,
    "near": 26_000,
    "short": 8_000,
    "word": 9_000,
}
SENTENCES = 9_000

WORDS = {
    name: value.split("|")
    for name, value in tomllib.loads(
        Path(__file__).with_name("words.toml").read_text(encoding="utf-8")
    ).items()
}

ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TEENS = [
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
TENS = ["-", "-", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
RADIO = {"three": "tree", "four": "fower", "five": "fife", "nine": "niner"}


def number(random: Random) -> str:
    """A number in one of its spoken forms: digits, words, groups, decimals, fractions."""
    pick = random.choice
    n = pick(
        [
            random.randint(0, 99),
            random.randint(100, 999),
            random.randint(100, 999),
            random.randint(1000, 5000),
            random.randint(10, 19) * pick([1, 10, 100]),
            random.randint(2, 9) * pick([1, 10, 11, 100, 111, 110, 101]),
        ]
    )
    form = random.random()
    text = _digits(n, random) if form < 0.42 else _words(n) if form < 0.72 else _group(n)
    more = random.random()
    if more < 0.2:
        digits = (_digits(random.randint(0, 9), random) for _ in range(pick([1, 1, 2])))
        return f"{text} {pick(['decimal', 'point'])} {' '.join(digits)}"
    if more < 0.28:
        fractions = ["a half", "a quarter", "three quarters", "one eighth", "three eighths"]
        return f"{text} and {pick(fractions)}"
    return text


def _digits(n: int, random: Random) -> str:
    words = [ONES[int(digit)] for digit in str(n)]
    return " ".join(RADIO.get(w, w) if random.random() < 0.15 else w for w in words)


def _words(n: int) -> str:
    if n < 10:
        return ONES[n]
    if n < 20:
        return TEENS[n - 10]
    if n < 100:
        return TENS[n // 10] + (f" {ONES[n % 10]}" if n % 10 else "")
    if n < 1000:
        return f"{ONES[n // 100]} hundred" + (f" {_words(n % 100)}" if n % 100 else "")
    return f"{_words(n // 1000)} thousand" + (f" {_words(n % 1000)}" if n % 1000 else "")


def _group(n: int) -> str:
    text = str(n)
    if len(text) == 3:
        rest = int(text[1:])
        return f"{ONES[int(text[0])]} {_words(rest) if rest >= 10 else 'oh ' + ONES[rest]}"
    if len(text) == 4 and int(text[2:]) >= 10:
        return f"{_words(int(text[:2]))} {_words(int(text[2:]))}"
    return _words(n)


def name(random: Random) -> str:
    """An invented item."""
    parts = [
        random.choice(WORDS["modifiers"]) for _ in range(random.choices([0, 1, 2], [15, 55, 30])[0])
    ]
    parts += [random.choice(WORDS["nouns"]) for _ in range(random.choices([1, 2], [6, 4])[0])]
    return " ".join(parts)


def trade(random: Random) -> str:
    """A call of some other trade."""
    pick, kind = random.choice, random.random()
    if kind < 0.36:
        return f"{name(random)} {pick(WORDS['states'])}"
    if kind < 0.6:
        return f"{name(random)} {number(random)} {pick(WORDS['units'])}"
    if kind < 0.8:
        text = f"{name(random)} {pick(WORDS['defects'])}"
        if random.random() < 0.5:
            text += f" {pick(WORDS['places'])}"
        if random.random() < 0.4:
            text += f" {number(random)} {pick(WORDS['units'])}"
        return text
    if kind < 0.9:
        opening = pick(["correction", "and", "okay", "the", "disregard"])
        return f"{opening} {name(random)} {pick(WORDS['states'])}"
    return f"{name(random)} {pick(['is', 'are', 'has been', 'looks'])} {pick(WORDS['states'])}"


def reading(items: list[Item], random: Random) -> str:
    """A thing and a number: of all calls the hardest to hear, and the only one where one wrong
    syllable is another call."""
    thing = random.choice(items).name if random.random() < 0.5 else name(random)
    unit = random.choice([*WORDS["units"], "", ""])
    return f"{thing} {number(random)} {unit}".strip()


def short(random: Random) -> str:
    """What is said alone: commands, answers, numbers, spelt identities."""
    pick, kind = random.choice, random.random()
    if kind < 0.35:
        return pick(WORDS["talk"])
    if kind < 0.6:
        return number(random) + pick(["", f" {pick(WORDS['units'])}"])
    if kind < 0.75:
        return pick(WORDS["states"])
    signs = [word.replace("-", " ") for word in SIGNS.values()]
    return " ".join(pick(signs) for _ in range(random.randint(1, 6)))


def odd(known: list[str], random: Random) -> str:
    """Words of a dictionary where a call has its own, so that a word nobody foresaw is heard as
    it sounds and not bent into one of the trade."""
    pick, kind = random.choice, random.random()
    words = " ".join(pick(known) for _ in range(pick([1, 1, 2, 2, 3])))
    side = pick(["", "", "left ", "right ", "the ", f"{pick(WORDS['modifiers'])} "])
    if kind < 0.3:
        return f"{side}{words} {pick(WORDS['states'])}"
    if kind < 0.45:
        return f"{side}{words} {pick(WORDS['defects'])} {pick(['', pick(WORDS['places'])])}"
    if kind < 0.6:
        return f"{side}{words} {number(random)} {pick(WORDS['units'])}"
    if kind < 0.8:
        parts = [pick(known), pick([*WORDS["nouns"], *WORDS["modifiers"]])]
        random.shuffle(parts)
        return f"{side}{' '.join(parts)} {pick([*WORDS['states'], *WORDS['defects']])}"
    return " ".join(pick(known) for _ in range(random.randint(2, 6)))


def said_of(item: Item) -> list[str]:
    """Words for results of an item."""
    if item.kind is Kind.STATE:
        return [word for state in item.states for word in (state.name, *state.words)]
    return ["satisfactory", "good", "serviceable", "no defects", "no fault"]


def near(items: list[Item], random: Random) -> str:
    """Speech near a call: questions, orders, opposites, futures, words behind and inside, two
    calls in a breath."""
    pick = random.choice

    def call() -> tuple[str, str]:
        if random.random() < 0.5:
            return name(random), pick(WORDS["good"])
        item = pick(items)
        if item.kind is Kind.READING and random.random() < 0.7:
            return item.name, f"{number(random)} {pick(WORDS['units'])}"
        return pick((item.name, *item.aliases)), pick(said_of(item))

    thing, state = call()
    kind = random.random()
    if kind < 0.3:
        link = pick(WORDS["links"])
        return f"{pick(WORDS['openings'])} {thing} {link} {state}"
    if kind < 0.58:
        return f"{thing} {pick(WORDS['not_yet'])} {state}"
    if kind < 0.66:
        return f"{thing} {pick(['un', 'dis', 'in', 'non ', 'mis'])}{state}"
    if kind < 0.82:
        return f"{thing} {state} {pick(WORDS['behind'])}"
    if kind < 0.9:
        return f"{thing} {pick(WORDS['inside'])} {state}"
    other, its = call()
    return f"{thing} {state} {other} {its}"


def sentences(manifest: Path) -> list[str]:
    """Sentences of the recordings whose texts may be spoken anew."""
    with manifest.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)
        texts = [row["text"] for row in rows if row["source"] in ("Common Voice", "LibriSpeech")]
    return [text for text in dict.fromkeys(texts) if 3 <= len(text.split()) <= 12]


def calls(card_name: str, count: int, random: Random) -> Iterator[str]:
    """Calls of a card, mostly unlike."""
    card = load_card(card_path(card_name))
    vocabulary = vocabulary_of(card)
    seen: set[str] = set()
    for _ in range(3 * count):
        text = draw_call(card, vocabulary, random)[1]
        if text not in seen or random.random() < 0.2:
            seen.add(text)
            yield text


def plain(text: str) -> str:
    """Lower case, letters and apostrophes only."""
    return " ".join(re.sub(r"[^a-z' ]", " ", text.lower().replace("’", "'")).split())


def words_of(path: Path) -> list[str]:
    """The words of a list, one at the beginning of each line."""
    first = (line.split() for line in path.read_text(encoding="utf-8").splitlines())
    return [words[0] for words in first if words and re.fullmatch(r"[a-z]{3,11}", words[0])]


def every(known: list[str], spoken: list[str], random: Random) -> Iterator[tuple[str, str]]:
    """All texts with their kind."""
    items = [item for card in CARDS for item in load_card(card_path(card))]
    for card, count in CARDS.items():
        for text in islice(calls(card, count, random), count):
            yield card, text
    makers: dict[str, Callable[[], str]] = {
        "trade": lambda: trade(random),
        "reading": lambda: reading(items, random),
        "odd": lambda: odd(known, random),
        "near": lambda: near(items, random),
        "short": lambda: short(random),
        "word": lambda: random.choice(known),
    }
    for kind, count in SHARES.items():
        for _ in range(count):
            yield kind, makers[kind]()
    for text in random.sample(spoken, min(SENTENCES, len(spoken))):
        yield "sentence", text


def main() -> None:
    """Write the texts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument(
        "--words", type=Path, required=True, nargs="+", help="word lists, each drawn from as often"
    )
    parser.add_argument("--sentences", type=Path, required=True, help="a manifest.tsv with texts")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    random = Random(chosen.seed)
    lists = [words_of(path) for path in chosen.words]
    most = max(len(words) for words in lists)
    known = [word for words in lists for word in random.choices(words, k=most)]
    rows = list(every(known, sentences(chosen.sentences), random))
    random.shuffle(rows)
    text = "".join(f"{kind}\t{plain(said)}\n" for kind, said in rows if plain(said))
    chosen.out.write_text(text, encoding="utf-8")
    print(len(rows), "texts")


if __name__ == "__main__":
    main()
