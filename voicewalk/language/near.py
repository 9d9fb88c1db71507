"""Speech near a call, drawn by rule from a card: what lies near a call and must never become one.

A closed vocabulary always hears something, so the nearest thing to "is the left fuel cap secure"
is the call that it is secure. Such speech is drawn to teach ears and judges to refuse it, and to
measure how well they do. Its ways are ``language.talk``'s; the items, their states, results,
readings and defects are the card's. Randomness is the caller's.

What is a call in the card's own words ("not latched") is never drawn.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from itertools import islice
from random import Random

from voicewalk.card.checks import GENERAL
from voicewalk.card.model import Card, Item, Kind, State
from voicewalk.card.spoken import fold
from voicewalk.errors import VoicewalkError
from voicewalk.language.build import phrase_graph
from voicewalk.language.draw import measured, reading
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import NO_CALL, Act, Command, Meaning
from voicewalk.language.numbers import spoken_forms
from voicewalk.language.parse import parse, tokens
from voicewalk.language.talk import CALL, GAP, ITEM, NUMBERS, Near, Talk, talk_of
from voicewalk.language.units import UNITS
from voicewalk.language.vocabulary import Vocabulary

_BARE, _WITH_ARTICLE, _NOT_GOOD, _TOGETHER = 0.05, 0.3, 0.15, 0.6
"""How often an item is named without its side, with "the" before a text, in a state that is not
good, and how often the second of two calls is of an item nearby; common practice, no source."""

_TRIES = 1000
"""So many draws that are all calls of the card: its words leave nothing near them."""

_DONE, _DOING = re.compile(r"[a-z]+ed"), re.compile(r"[a-z]+ing")


@dataclass(frozen=True, slots=True)
class NearCall:
    """Speech near a call, with what it truly means on its card.

    Attributes:
        item: id of the item that it is about; "" where it names none of the card. Of an item
            named without its side, that of the first.
        meanings: for two calls, both in their order; for an opposite, each way to enter what it
            says: the bad state, or that the item is unsatisfactory. Empty for all others, which
            may enter nothing.
    """

    kind: Near
    text: str
    item: str
    meanings: tuple[Meaning, ...] = ()

    def to_json(self) -> dict[str, object]:
        """With ``meanings`` only where it has any."""
        told: dict[str, object] = {"text": self.text, "kind": self.kind, "item": self.item}
        meanings = [meaning.to_json() for meaning in self.meanings]
        return {**told, "meanings": meanings} if meanings else told


def draw_near(
    card: Card,
    vocabulary: Vocabulary,
    random: Random,
    *,
    graph: PhraseGraph | None = None,
    kind: Near | None = None,
) -> tuple[str, str]:
    """One text near a call: its kind, any as likely as any other, and its words.

    Args:
        graph: the card's phrase graph; it is laid for each draw where none is given.
        kind: draw of this kind only.

    Raises:
        VoicewalkError: there is no talk in the card's language, or none that is no call.
    """
    talk = talk_of(vocabulary.language)
    graph = graph or phrase_graph(card, vocabulary)
    drawn = kind or random.choice(list(Near))
    for _ in range(_TRIES):
        text = _Speaker(card, vocabulary, talk, random).say(drawn)
        if text and _is_near(card, vocabulary, graph, drawn, text):
            return drawn, text
    raise VoicewalkError(
        "no speech near a call can be drawn from this card", "Give it more items and states."
    )


def near_calls(card: Card, vocabulary: Vocabulary, random: Random) -> Iterator[NearCall]:
    """Near calls without end, each with what it means."""
    graph = phrase_graph(card, vocabulary)
    while True:
        kind, text = draw_near(card, vocabulary, random, graph=graph)
        yield near_call_of(card, vocabulary, graph, Near(kind), text)


def draw_near_calls(card: Card, vocabulary: Vocabulary, count: int, seed: int) -> list[NearCall]:
    """``count`` near calls; the same card, words and seed draw the same."""
    return list(islice(near_calls(card, vocabulary, Random(seed)), count))


def near_call_of(
    card: Card, vocabulary: Vocabulary, graph: PhraseGraph, kind: Near, text: str
) -> NearCall:
    """A given text of this kind, drawn or written by somebody, with what it means on a card."""
    about = items_in(card, text)
    item = about[0].id if about else ""
    meanings: Iterable[Meaning] = ()
    if kind is Near.TWO_CALLS:
        meanings = _both(graph, talk_of(vocabulary.language), text)
    elif kind is Near.OPPOSITE:
        meanings = (m for one in about for m in _contrary(one, vocabulary, len(about) > 1))
    return NearCall(kind, text, item, tuple(dict.fromkeys(meanings)))


def items_in(card: Card, text: str) -> list[Item]:
    """The items that a text names: by the longest name in it, the first such; both sides of one
    that is named without its side. Empty for none."""
    said = f" {_heard(text)} "
    named: dict[str, list[Item]] = {}
    for item in card:
        for name in (item.name, *item.aliases, *item.bare_names):
            if f" {(found := _named(name))} " in said:
                named.setdefault(found, []).append(item)
    return (
        named[max(named, key=lambda name: (len(name), -said.index(f" {name} ")))] if named else []
    )


def _heard(text: str) -> str:
    return " ".join(tokens(text))


_named = cache(_heard)
"""The same of a name: a card's are compared with every text."""


_HARMLESS = (Act.ITEM, Act.SIDE, Act.VAGUE, Act.ACKNOWLEDGED, *NO_CALL)
_HARMLESS_COMMANDS = (
    Command.SAY_AGAIN,
    Command.STAND_BY,
    Command.GOING_ON,
    Command.NEXT,
    Command.WHERE,
    Command.WHAT_IS_OPEN,
    Command.STOP,
)


def enters(meaning: Meaning) -> bool:
    """Whether it would change what is recorded of an inspection, alone or as an answer: all but
    an item's name, a side, words that state nothing, what is understood to be no call, and
    commands that only ask or wait."""
    if meaning.act is Act.COMMAND:
        return meaning.command not in _HARMLESS_COMMANDS
    return meaning.act not in _HARMLESS


def _both(graph: PhraseGraph, talk: Talk, text: str) -> tuple[Meaning, ...]:
    """The two calls of which a text is made; empty where it is not, or could be in two ways."""
    joints = {way.replace(CALL, "").strip() for way in talk.ways[Near.TWO_CALLS]}
    words = tokens(text)
    found: set[tuple[Meaning, Meaning]] = set()
    for n in range(1, len(words)):
        first, rest = " ".join(words[:n]), " ".join(words[n:])
        for joint in joints:
            if not rest.startswith(f"{joint} ".lstrip()):
                continue
            one, other = parse(graph, first), parse(graph, rest.removeprefix(joint).strip())
            if len(one) == len(other) == 1 and all(m.item or m.group for m in (*one, *other)):
                found.add((one[0], other[0]))
    found = {pair for pair in found if all(enters(meaning) for meaning in pair)}
    return found.pop() if len(found) == 1 else ()


def _contrary(item: Item, vocabulary: Vocabulary, bare: bool) -> Iterator[Meaning]:
    """What is entered of an item that is not as the card wants it, and no more than that: its
    state "not ..." where it has one, or that it is unsatisfactory."""
    of = Meaning(Act.ITEM, group=item.group) if bare else Meaning(Act.ITEM, item=item.id)
    wanted = {fold(f"not {way}") for state in item.states if state.good for way in _ways(state)}
    bad = [state for state in item.states if not (state.good or state.stays_open)]
    plain = [state for state in bad if wanted & set(map(fold, _ways(state)))]
    if item.kind is Kind.STATE:
        for state in plain or bad:
            yield replace(of, act=Act.STATE, state=state.name)
    poor = {fold(f"not {way}") for way in vocabulary.satisfactory.words}
    for defect in vocabulary.families[GENERAL].defects:
        if poor & set(map(fold, defect.words)):
            yield replace(of, act=Act.DISCREPANCY, defect=defect.name)


def _ways(state: State) -> tuple[str, ...]:
    return (state.name, *state.words)


def _is_near(card: Card, vocabulary: Vocabulary, graph: PhraseGraph, kind: Near, text: str) -> bool:
    """Whether a drawn text is near a call and none itself, and can be told what it means."""
    near = near_call_of(card, vocabulary, graph, kind, text)
    if kind is Near.TWO_CALLS and len(near.meanings) != 2:
        return False  # or one said twice, of both sides of an item named without its side
    if any(_in_own_words(item, vocabulary, text) for item in items_in(card, text)):
        return False
    right = near.meanings if kind is Near.OPPOSITE else ()
    return all(meaning in right or not enters(meaning) for meaning in parse(graph, text))


def _in_own_words(item: Item, vocabulary: Vocabulary, text: str) -> bool:
    """Whether a text is an item's name with a state or a defect of it, in the card's words."""
    said = fold(text)
    names = (item.name, *item.aliases, *item.bare_names)
    words = {fold(way) for state in item.states for way in _ways(state)}
    words |= {fold(way) for way in _defects(item, vocabulary)}
    return any(said == f"{fold(name)} {way}" for name in names for way in words)


def _defects(item: Item, vocabulary: Vocabulary) -> list[str]:
    """Every way to say each defect of an item."""
    families = (vocabulary.families[name] for name in item.defects)
    return [way for family in families for defect in family.defects for way in defect.words]


def _fill(way: str, gaps: dict[str, str]) -> str:
    return GAP.sub(lambda found: gaps[found[0]], way)


class _Speaker:
    """Fills the gaps of one text: its words are of one item, and two calls of two."""

    def __init__(self, card: Card, vocabulary: Vocabulary, talk: Talk, random: Random) -> None:
        self.card = card
        self.words = vocabulary
        self.talk = talk
        self.random = random
        self.item = random.choice(list(card))
        self.name = self._name()
        self.plural = talk.is_plural(self.name)

    def say(self, kind: Near) -> str:
        """A text of this kind; "" where what was drawn has a gap that the item cannot fill."""
        if kind is Near.TWO_CALLS:
            return self._two_calls()
        good = kind is Near.OPPOSITE or self.random.random() >= _NOT_GOOD
        # Else each gap that few items fill would make its ways rare.
        ways = list(self.talk.ways[kind])
        self.random.shuffle(ways)
        for way in ways:
            gaps = {gap: self._filling(gap, good) for gap in GAP.findall(way)}
            if all(gaps.values()):
                article = way.startswith((ITEM, CALL)) and self.random.random() < _WITH_ARTICLE
                text = _fill(f"the {way}" if article else way, gaps)
                return text.replace("the all ", "all ")  # "all pins" is a name too
        return ""

    def _name(self) -> str:
        if self.item.bare_names and self.random.random() < _BARE:
            return self.random.choice(self.item.bare_names)
        return self.random.choice((self.item.name, self.item.name, *self.item.aliases))

    def _filling(self, gap: str, good: bool) -> str:
        """What fills a gap; "" where nothing of this item does."""
        if gap in NUMBERS:
            return NUMBERS[gap] if self.plural else gap.lower()
        match gap:
            case "ITEM":
                return self.name
            case "CALL":
                said = self._result(good)
                return f"{self.name} {said}" if said else ""
            case "SUBJECT":
                return self.card.subject
            case "READING":
                return self._number() if not self._counted else ""
            case "DEFECT":
                return self.random.choice(_defects(self.item, self.words))
        fitting = self.talk.lists.get(gap) or self._fitting(gap, self._states(good))
        return self.random.choice(fitting) if fitting else ""

    def _fitting(self, gap: str, states: list[str]) -> list[str]:
        """The states that fit a gap; for OPPOSITE, what is contrary to them."""
        match gap:
            case "DONE":
                return [state for state in states if _DONE.fullmatch(state)]
            case "DOING":
                return [state for state in states if _DOING.fullmatch(state)]
            case "PUT":
                return [state for state in states if state in self.talk.positions]
            case "OPPOSITE":
                return [way for state in states for way in self.talk.opposites.get(state, ())]
        return states

    def _states(self, good: bool) -> list[str]:
        """How the item may be, in words that can follow "is": not "no defects"."""
        if self.item.kind is Kind.CONDITION:
            ways = list(self.words.satisfactory.words)
        elif self.item.kind is Kind.STATE:
            ways = [way for state in self.item.states if state.good is good for way in _ways(state)]
        else:
            ways = []
        return [way for way in ways if not way.startswith(("not ", "no "))]

    def _result(self, good: bool) -> str:
        """What a whole call says of the item, in plain words."""
        if self.item.kind is Kind.CONDITION:
            return self.random.choice(self.words.satisfactory.words)
        if self.item.kind is Kind.STATE:
            states = self._states(good)
            return self.random.choice(states) if states else ""
        if self.item.states:
            state = self.random.choice(self.item.states)
            return f"{self.random.choice(_ways(state))} {self._number()}"
        return self._number()

    @property
    def _counted(self) -> bool:
        """Whether a number alone says nothing of it: it is one before or after, in or out."""
        return bool(self.item.states)

    def _number(self) -> str:
        if self.item.kind is Kind.COUNT:
            off = self.random.choice((0, 0, 0, -1, 1))
            count = Decimal(max(0, (self.item.expected or 0) + off))
            return " ".join(self.random.choice(spoken_forms(count)))
        if self.item.unit:
            return measured(reading(self.item, self.random), UNITS[self.item.unit], self.random)
        return ""

    def _two_calls(self) -> str:
        """A call of this item and one of another, often one nearby: so they run together."""
        first = self._result(good=True)
        way = self.random.choice(self.talk.ways[Near.TWO_CALLS])
        calls = [f"{self.name} {first}"]
        items = list(self.card)
        here = items.index(self.item)
        near = [item for item in items[max(0, here - 2) : here + 3] if item is not self.item]
        if not near or self.random.random() >= _TOGETHER:
            near = [item for item in items if item is not self.item] or items
        self.item = self.random.choice(near)
        self.name = self._name()
        calls.append(f"{self.name} {self._result(good=True)}")
        return GAP.sub(lambda _: calls.pop(0), way)
