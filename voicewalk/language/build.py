"""The phrase graph of a card: every call that the walk can understand.

A call is an item's name followed by what is said of it, or what is said of the item just
named, or a command. Item names share their beginnings; what is said of items of the same
kind is shared too, so that a hundred items stay a few thousand words of graph.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from voicewalk.card.checks import BELOW_ZERO, GENERAL
from voicewalk.card.model import Card, Item, Kind
from voicewalk.language.graph import GraphBuilder, PhraseGraph, Tag
from voicewalk.language.meaning import Act, Command
from voicewalk.language.number_grammar import NumberGrammar, number_grammar
from voicewalk.language.opposites import denials, prefixed, rests
from voicewalk.language.units import UNITS
from voicewalk.language.vocabulary import DefectFamily, Term, Vocabulary

START = 0
MINUS = "minus"
DIGITS = "0123456789"

TALK: Tag = ("talk", "yes")
MIXED: Tag = ("mixed", "yes")

CALLER = "the caller"
"""The owner of a promise that the caller makes."""

SIDES = "left/right"
"""The entry of the phrase graph where "left" and "right" alone are said; no item's name."""

WAITING = "what is not so now"
"""The entry where "should be" and the like are said of the item asked for."""

IDENTITY = "an identity"
"""The entry where the signs of an identity are said; there is no other way to them."""


def phrase_graph(card: Card, vocabulary: Vocabulary, *, answers: bool = True) -> PhraseGraph:
    """The graph of all calls of ``card`` in the words of ``vocabulary``.

    Each item's id and group is an entry of the graph, where what is said of it begins;
    ``SIDES`` is one too, and ``IDENTITY`` where the vocabulary has words for letters and digits.

    Args:
        answers: whether what is said of any item may begin a phrase without naming it. To ears
            that is no help: where nothing was asked no answer can be a call, and a short word
            is heard in much. They enter the graph where the item asked for does.
    """
    return _CardGraph(card, vocabulary).freeze(answers)


class _CardGraph:
    """Lays the graph part by part; each part is laid once for all places that lead to it.

    Attributes:
        end: where a phrase ends that says something of an item.
        over: where any other phrase ends.
        more: what may follow a whole call in the same breath and makes no call of it.
    """

    def __init__(self, card: Card, vocabulary: Vocabulary) -> None:
        self.card = card
        self.words = vocabulary
        self.near = vocabulary.near_calls
        self.graph = GraphBuilder()
        self.end = self.graph.state()
        self.graph.final(self.end)
        self.over = self.graph.state()
        self.graph.final(self.over)
        self.more = self.graph.state()
        self.graph.empty(self.end, self.more)
        self._names = self.graph.state()
        self._articles = self.graph.state()
        self.graph.empty(self._articles, self._names)
        self._numbers: dict[tuple[object, ...], set[bool]] = defaultdict(set)
        self._denials: dict[int, tuple[tuple[object, ...], dict[str, str]]] = {}
        self._families: dict[str, int] = {}
        self._denied: dict[tuple[tuple[str, str], ...], int] = {}
        self._tails: dict[tuple[object, ...], int] = {}
        self._defects: dict[tuple[str, ...], int] = {}
        self._after_defect = self._places_after()
        self._after_sized = self._sizes()
        self._reason = self._reasons()
        self._reading = self._readings()
        self._counted = self._counts()
        self._moved = self._moves()
        self._promised = self._promises()
        self._result = self._results()
        self._waits = self._waiting()

    def freeze(self, answers: bool) -> PhraseGraph:
        calls = self.graph.state() if answers else self._articles
        self.graph.empty(START, calls)
        if answers:
            self.graph.empty(calls, self._articles)
        sides = self._sides()
        if self.words.spelling:
            self.graph.entry(IDENTITY, self._identities())
        for item in self.card:
            self._named(self._names, item)
        if answers:
            self.graph.empty(calls, self._tail(tuple(self.card), named=False))
            self.graph.empty(calls, sides)
        for src, (key, denied) in self._denials.items():
            self._between(src, denied, self._numbers[key])
        self._around()
        for choice, term in (("first", self.words.first), ("second", self.words.second)):
            self._say(START, term, ("act", Act.CHOICE), ("choice", choice), to=self.over)
        for name, term in self.words.commands.items():
            self._say(START, term, ("act", Act.COMMAND), ("command", name), to=self.over)
        for term in self.words.acknowledged:
            tags = (("act", Act.ACKNOWLEDGED), ("state", term.name))
            self._say(START, term, *tags, to=self.over)
        for phrase in self.words.commands[Command.CORRECTION].words:
            self.graph.phrase(START, calls, phrase, ("corrects", "yes"))
        for filler in self.words.fillers:
            self.graph.phrase(START, START, filler)
        return self.graph.freeze()

    def _sides(self) -> int:
        sides = self.graph.state()
        self.graph.entry(SIDES, sides)
        for side, term in (("left", self.words.left), ("right", self.words.right)):
            self._say(sides, term, ("act", Act.SIDE), ("side", side), to=self.over)
        for phrase in self.words.both:
            self.graph.phrase(sides, self.over, phrase, ("act", Act.SIDE), ("side", "both"))
        return sides

    def _say(self, src: int, term: Term, *tags: Tag, to: int | None = None) -> None:
        for phrase in term.words:
            self.graph.phrase(src, self.end if to is None else to, phrase, *tags)

    def _identities(self) -> int:
        """Any letters and digits one by one; digits also as a decoder writes them."""
        signs = self.graph.state()
        self.graph.final(signs, ("act", Act.IDENTITY))
        for sign, term in self.words.spelling.items():
            self._say(signs, term, ("spelled", sign.upper()), to=signs)
            if sign in DIGITS:
                self.graph.arc(signs, signs, sign, ("spelled", sign), written=True)
        return signs

    def _named(self, calls: int, item: Item) -> None:
        tail = self._tail((item,), named=True)
        self.graph.entry(item.id, tail)
        self.graph.entry(item.group, tail)
        own = (("own_unit", item.unit),) if len(item.units) == 1 else ()
        for name in (item.name, *item.aliases):
            self.graph.phrase(calls, tail, name, ("item", item.id), *own)
            self._waiting_for(calls, name, ("item", item.id))
        if item is self.card.groups[item.group][0]:
            for name in item.bare_names:
                self.graph.phrase(calls, tail, name, ("group", item.group), *own)
                self._waiting_for(calls, name, ("group", item.group))
                for both in self.words.both:
                    of = (("group", item.group), ("side", "both"))
                    self.graph.phrase(calls, tail, f"{both} {name}", *of, *own)

    def _tail(self, items: tuple[Item, ...], *, named: bool) -> int:
        """What can be said of ``items``: of one item, or of any for a call without a name.

        Where it may be a reading, a number alone is a reading without its unit: whether it is
        a count, the item tells.
        """
        serviced = _states(item for item in items if item.kind is Kind.SERVICING)
        moves = _states(item for item in items if item.balances)
        states = _states(item for item in items if item.kind is Kind.STATE)
        read = any(i.kind is Kind.READING for i in items)
        families = tuple(dict.fromkeys(f for i in items for f in i.defects))
        counted = not read and any(i.kind is Kind.COUNT for i in items)
        said = tuple(tuple(words.items()) for words in (states, moves, serviced))
        denied = denials(items, self.near)
        unsaid = prefixed(items[0], self.near) if named else {}
        near = (tuple(denied.items()), tuple(unsaid.items()))
        key = (named, *said, *near, read, families, counted)
        self._numbers[key] |= {_is_plural(item.name) for item in items}
        if key in self._tails:
            return self._tails[key]
        src = self._tails[key] = self.graph.state()
        if named:
            self.graph.final(src, ("act", Act.ITEM))
        self.graph.empty(src, self._result)
        for name, words in states.items():
            kept = tuple(way for way in words if not self._is_denial(way, name, denied))
            kept += unsaid.get(name, ())
            self._say(src, Term(name, kept), ("act", Act.STATE), ("state", name))
        self._denials[src] = (key, denied)
        for name, words in moves.items():
            self._say(src, Term(name, words), ("state", name), to=self._moved)
        for name, words in serviced.items():
            self._say(src, Term(name, words), ("state", name), to=self._reading)
        if read:
            self.graph.empty(src, self._reading)
        if counted and not read:  # a bare number is one call, and the item says what it counts
            self.graph.empty(src, self._counted)
        if families:
            self.graph.empty(src, self._discrepancy(families))
        return src

    # --- speech near a call ------------------------------------------------------------------

    def _around(self) -> None:
        """What makes talk of a call before an item's name, and what may follow a whole call."""
        near = self.near
        for phrase in near.articles:
            self.graph.phrase(self._articles, self._names, phrase)
        if near.before:
            opened = self.graph.state()
            self.graph.empty(opened, self._articles)
            for phrase in near.before:
                self.graph.phrase(START, opened, phrase, TALK)
            for phrase in (*near.linking, *_single_words(self.card)):
                self.graph.phrase(opened, opened, phrase)
        if near.joining:
            self.graph.empty(self.more, self._articles, MIXED)
            for phrase in near.joining:
                self.graph.phrase(self.more, self._articles, phrase, MIXED)
        for phrase in near.behind:
            self.graph.phrase(self.more, self.end, phrase, MIXED)
        if near.behind:
            self._contradicted()
            for name, term in self.words.commands.items():
                if name != Command.AFFIRM:  # it takes nothing back
                    self._say(self.more, term, MIXED)

    def _contradicted(self) -> None:
        """A defect or another state behind a whole call; none is taken for the item's. Behind a
        defect no state: "cut off" is one thing."""
        src = self.graph.state()
        for state in (self.end, self._after_defect):
            self.graph.empty(state, src)
        families = dict.fromkeys(name for item in self.card for name in item.defects)
        defects = (d for name in families for d in self.words.families[name].defects)
        for way in dict.fromkeys(way for defect in defects for way in defect.words):
            self.graph.phrase(src, self._after_defect, way, MIXED)
        for name, ways in _states(self.card).items():
            self._say(self.end, Term(name, ways), MIXED, to=self.over)

    def _between(self, src: int, denied: dict[str, str], several: set[bool]) -> None:
        """What may stand between an item's name and what is said of it.

        Of one thing we say "is", of several "are": half the words, and no doubt is lost.
        """
        ends = [-1 if number else 0 for number in sorted(several)]
        for term in self.near.stating:
            for phrase in dict.fromkeys(term.words[end] for end in ends):
                self.graph.phrase(src, src, phrase)
        for term in self.near.denying:
            for phrase in dict.fromkeys(term.words[end] for end in ends):
                self.graph.phrase(src, self._denial(denied), phrase)

    def _is_denial(self, way: str, name: str, denied: dict[str, str]) -> bool:
        """Whether it is laid as a denial already: "not latched"."""
        return any(denied.get(rest) == name for rest in rests(way, self.near))

    def _denial(self, denied: dict[str, str]) -> int:
        """What is denied: a good state is its opposite, and "good" the general discrepancy."""
        key = tuple(denied.items())
        if key in self._denied:
            return self._denied[key]
        src = self._denied[key] = self.graph.state()
        for phrase in self.near.denied:
            self.graph.phrase(src, src, phrase)
        for way, name in denied.items():
            tags = (("act", Act.STATE), ("state", name)) if name else (TALK,)
            self.graph.phrase(src, self.end, way, *tags)
        self._denied_results(src, denied)
        if not denied:  # a number denied is none
            self.graph.empty(src, self._reading, TALK)
        return src

    def _denied_results(self, src: int, denied: dict[str, str]) -> None:
        for way in self.words.satisfactory.words:
            if way not in denied and (defect := self._unsatisfactory(way)):
                tags = (("act", Act.DISCREPANCY), ("defect", defect))
                self.graph.phrase(src, self._after_defect, way, *tags)
        for way in self.words.not_inspected.words:
            for rest in rests(way, self.near):
                self.graph.phrase(src, self._reason, rest, ("act", Act.NOT_INSPECTED))

    def _unsatisfactory(self, way: str) -> str:
        """The general defect that is said with a satisfactory result's word ("not good")."""
        for defect in self.words.families[GENERAL].defects:
            if any(way in rests(said, self.near) for said in defect.words):
                return defect.name
        return ""

    def _waiting(self) -> int:
        """What is said of any item that is not so now: "should be latched", "almost closed".

        It is no result of any item, so that all of them have it in common.
        """
        src, after = self.graph.state(), self.graph.state()
        self.graph.entry(WAITING, src)
        for term in self.near.stating:
            for phrase in term.words:
                self.graph.phrase(src, src, phrase)
        for phrase in self.near.pending:
            self.graph.phrase(src, after, phrase, TALK)
        for phrase in self.near.pended:
            self.graph.phrase(after, after, phrase)
        ways = [way for said in _states(self.card).values() for way in said]
        for way in dict.fromkeys((*ways, *self.words.satisfactory.words)):
            self.graph.phrase(after, self.end, way)
        self.graph.empty(after, self._reading)
        return src

    def _waiting_for(self, calls: int, name: str, of: Tag) -> None:
        if self.near.pending:
            self.graph.phrase(calls, self._waits, name, of)

    def _results(self) -> int:
        src = self.graph.state()
        self._say(src, self.words.satisfactory, ("act", Act.SATISFACTORY))
        self._say(src, self.words.not_applicable, ("act", Act.NOT_APPLICABLE))
        self._say(src, self.words.not_inspected, ("act", Act.NOT_INSPECTED), to=self._reason)
        for prefix in self.words.status:
            for term in self.words.statuses:
                for way in term.words:
                    of = (("act", Act.STATUS), ("state", term.name))
                    self.graph.phrase(src, self.over, f"{prefix} {way}", *of)
        for term in self.words.vague:
            self._say(src, term, ("act", Act.VAGUE), ("state", term.name), to=self.over)
        if self.words.owners:
            self.graph.empty(src, self._promised)
        return src

    def _moves(self) -> int:
        """[by owner] [number], after what is counted. Without a number nothing is counted: the
        walk asks how many."""
        moved, owned = self.graph.state(), self.graph.state()
        for state in (moved, owned):
            self.graph.final(state, ("act", Act.STATE))
            self.graph.empty(state, self.more)
            self.graph.empty(state, self._counted)
        for by in self.words.by:
            for owner in self.words.owners:
                for phrase in owner.words:
                    self.graph.phrase(moved, owned, f"{by} {phrase}", ("owner", owner.name))
        return moved

    def _promises(self) -> int:
        """Somebody has it or will do it; the name alone answers the question who."""
        start, after = self.graph.state(), self.graph.state()
        for owner in self.words.owners:
            self._say(start, owner, ("owner", owner.name), to=after)
        self.graph.final(after, ("act", Act.PROMISED))
        unnamed = self.graph.state()
        for phrase in self.words.somebody:
            self.graph.phrase(start, unnamed, phrase)
        for phrase in self.words.promises:
            for state in (after, unnamed):
                self.graph.phrase(state, self.over, phrase, ("act", Act.PROMISED))
        for phrase in self.words.mine:
            self.graph.phrase(start, self.over, phrase, ("act", Act.PROMISED), ("owner", CALLER))
        return start

    def _reasons(self) -> int:
        """[because] [reason], after "not inspected"."""
        reason, because = self.graph.state(), self.graph.state()
        self.graph.final(reason)
        self.graph.empty(reason, self.more)
        self.graph.empty(reason, because)
        for phrase in self.words.because:
            self.graph.phrase(reason, because, phrase)
        for term in self.words.reasons:
            self._say(because, term, ("reason", term.name))
        return reason

    def _readings(self) -> int:
        """Number and unit. Any unit of the card may follow any item: a wrong unit is heard as
        what it is and asked about, never bent into the right one. It may be left unsaid too;
        the walk then asks for it where two are possible."""
        grammar = number_grammar(
            decimals=True, fractions=True, whole_digits=_whole_digits(self.card)
        )
        start, after = self._number(grammar, "number")
        self._units(after, self._unit_words())
        cold = {p: units for p, units in self._unit_words().items() if units in BELOW_ZERO}
        if not cold:
            return start
        reading, below = self.graph.state(), self.graph.state()
        self.graph.empty(reading, start)
        self.graph.arc(reading, below, MINUS, ("sign", "-"))
        self.graph.arc(reading, below, "-", ("sign", "-"), written=True)
        number, after = self._number(grammar, "number")
        self.graph.empty(below, number)
        self._units(after, cold)
        return reading

    def _units(self, after: int, words: dict[str, str]) -> None:
        """A unit after a number, or none."""
        self.graph.final(after, ("act", Act.READING))
        self.graph.empty(after, self.more)
        for phrase, units in words.items():
            self.graph.phrase(after, self.end, phrase, ("act", Act.READING), ("unit", units))

    def _unit_words(self) -> dict[str, str]:
        """Each unit word of the card and the units it may mean: "pounds" is psi or pound."""
        words: dict[str, str] = {}
        for unit in dict.fromkeys(unit for item in self.card for unit in item.units):
            for phrase in UNITS[unit].words:
                words[phrase] = f"{words[phrase]}/{unit}" if phrase in words else unit
        return words

    def _counts(self) -> int:
        grammar = number_grammar(decimals=False, fractions=False, whole_digits=2)
        start, after = self._number(grammar, "number", point=False)
        self.graph.final(after, ("act", Act.COUNT))
        self.graph.empty(after, self.more)
        return start

    def _number(self, grammar: NumberGrammar, slot: str, *, point: bool = True) -> tuple[int, int]:
        """A spoken number, or the same as a decoder writes it; returns its two ends.

        Its last word leads to the second end by itself: what may follow a number is much, and
        would else be laid anew for each state in which one may end.
        """
        states = {grammar.start: self.graph.state()}
        after = self.graph.state()
        for arc in grammar.arcs:
            for state in (arc.src, arc.dst):
                if state not in states:
                    states[state] = self.graph.state()
            ends = (after,) if arc.dst in grammar.finals else ()
            for dst in (states[arc.dst], *ends):
                self.graph.arc(states[arc.src], dst, arc.word, (slot, arc.word))
        start = states[grammar.start]
        whole = self._digits(start, slot, after)
        if point:
            mark = self.graph.state()
            self.graph.arc(whole, mark, ".", (slot, "."), written=True)
            self._digits(mark, slot, after)
        return start, after

    def _digits(self, src: int, slot: str, after: int) -> int:
        """One or more written digits."""
        more = self.graph.state()
        for state in (src, more):
            for digit in DIGITS:
                for dst in (more, after):
                    self.graph.arc(state, dst, digit, (slot, digit), written=True)
        return more

    def _places_after(self) -> int:
        after = self.graph.state()
        self.graph.final(after)
        self.graph.empty(after, self.more)
        for term in self.words.places:
            self._say(after, term, ("place", term.name))
        return after

    def _sizes(self) -> int:
        """[size unit] [place], after a defect that can be measured."""
        sized = self.graph.state()
        self.graph.empty(sized, self._after_defect)
        grammar = number_grammar(decimals=True, fractions=True, whole_digits=2)
        start, after = self._number(grammar, "size")
        self.graph.empty(sized, start)
        units = dict.fromkeys(u for f in self.words.families.values() for u in f.size_units)
        for unit in units:
            term = Term(unit, UNITS[unit].words)
            self._say(after, term, ("size_unit", unit), to=self._after_defect)
        return sized

    def _discrepancy(self, families: tuple[str, ...]) -> int:
        """[place] defect [size unit] [place]."""
        if families not in self._defects:
            src = self._defects[families] = self.graph.state()
            placed = self.graph.state()
            for term in self.words.places:
                self._say(src, term, ("place", term.name), to=placed)
            for state in (src, placed):
                for name in families:
                    self._family(state, self.words.families[name])
        return self._defects[families]

    def _family(self, src: int, family: DefectFamily) -> None:
        """Laid once: the second words of its defects are the same for all items."""
        if family.name not in self._families:
            first = self._families[family.name] = self.graph.state()
            for defect in family.defects:
                after = self._after_sized if defect.name in family.sized else self._after_defect
                of = (("act", Act.DISCREPANCY), ("defect", defect.name))
                self._say(first, defect, *of, to=after)
        self.graph.empty(src, self._families[family.name])


def _whole_digits(card: Card) -> int:
    """Digits before the point of the largest reading the card knows, and no fewer than three:
    a gauge far off must still be heard."""
    limits = [one for item in card for one in (item.limit, *item.other_limits) if one]
    ends = [n for limit in limits for n in (limit.low, limit.high)]
    ends += [least for item in card if item.chart for _, least in item.chart.points]
    return max([3, *(len(str(abs(int(end)))) for end in ends if end is not None)])


def _states(items: Iterable[Item]) -> dict[str, tuple[str, ...]]:
    return _ways((state.name, state.words) for item in items for state in item.states)


def _is_plural(name: str) -> bool:
    """Whether a name is of several things, by its last word: "wheel chocks", not "glass"."""
    return name.endswith("s") and not name.endswith(("ss", "us", "is"))


def _single_words(card: Card) -> tuple[str, ...]:
    """The states of one word: "who removed the left plug"."""
    ways = (way for said in _states(card).values() for way in said)
    return tuple(dict.fromkeys(way for way in ways if " " not in way))


def _ways(pairs: Iterable[tuple[str, tuple[str, ...]]]) -> dict[str, tuple[str, ...]]:
    """Every way to say each name: the name itself first, doubles dropped."""
    ways: dict[str, tuple[str, ...]] = {}
    for name, words in pairs:
        ways[name] = tuple(dict.fromkeys((*ways.get(name, (name,)), *words)))
    return ways
