"""The words of a language that are not a card's own: results, defects, places, commands.

The data lies in ``grammars/`` as YAML; this module holds its shape and reads it. How words
sound, and whether two of them sound alike, is decided elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from voicewalk.card.checks import GENERAL
from voicewalk.card.load import vocabulary_sources
from voicewalk.card.model import Card, Item
from voicewalk.card.source import Place, Source, nearest, together
from voicewalk.card.spoken import fold, ways
from voicewalk.errors import SourceError
from voicewalk.language.meaning import OPTIONAL, Command
from voicewalk.language.scope import ENGLISH, beyond, unspeakable, unspelled, unstated
from voicewalk.language.spelling import SIGNS
from voicewalk.language.units import UNITS
from voicewalk.language.written import (
    WrittenAddition,
    WrittenFamily,
    WrittenNear,
    WrittenVocabulary,
)


@dataclass(frozen=True, slots=True)
class Term:
    """One meaning and the ways to say it; the first of ``words`` is how it is read back."""

    name: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DefectFamily:
    """Defect words that fit a kind of item ("tyre", "line", "skin").

    Attributes:
        sized: names of the defects of which a size may be said ("cut", "half an inch").
        size_units: units such a size may have.
    """

    name: str
    defects: tuple[Term, ...]
    sized: tuple[str, ...] = ()
    size_units: tuple[str, ...] = ()


@dataclass(frozen=True)
class NearCalls:
    """Words of speech that comes near a call: an opposite, or talk that states no result.

    A closed vocabulary always hears something. What has a path of its own is not heard as the
    call that it comes near to.

    Attributes:
        articles: may stand before any item's name and mean nothing ("the").
        stating: may stand between an item's name and its result and mean nothing; said of one
            thing and of several ("is", "are").
        denying: between the two, turn the good state into its opposite ("isn't", "aren't").
        denied: may follow those and mean nothing ("yet").
        opposites: by prefix, the words that it turns into their opposites ("un": "latched").
        pending: between the two, say that it is not so now ("should").
        pended: may follow those ("be").
        before: begin a question, an order, a wish or a report ("is", "make sure").
        linking: may follow those, before an item's name ("that").
        behind: take back or doubt the call before them ("no", "tomorrow").
        joining: lead from one call to the next in the same breath ("and").
    """

    articles: tuple[str, ...] = ()
    stating: tuple[Term, ...] = ()
    denying: tuple[Term, ...] = ()
    denied: tuple[str, ...] = ()
    opposites: dict[str, tuple[str, ...]] = field(default_factory=dict)
    pending: tuple[str, ...] = ()
    pended: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    linking: tuple[str, ...] = ()
    behind: tuple[str, ...] = ()
    joining: tuple[str, ...] = ()


@dataclass(frozen=True)
class Vocabulary:
    """All words besides the card's.

    Attributes:
        language: BCP 47 tag ("en").
        satisfactory, not_inspected, not_applicable: the result words.
        because: words that introduce a reason ("because").
        reasons: why an item was not inspected.
        families: defect families by name.
        places: where on the item ("outboard", "two o'clock", "leading edge").
        commands: by ``Command`` value.
        left, right: side words.
        first, second: which of two calls that were read.
        fillers: words that may open a call and mean nothing ("and", "okay").
        statuses: status words of a form, the gravest first.
        status: what is said before one of them.
        vague: words that sound like a result and state nothing ("done", "looks good").
        both: how both sides are called in one call.
        owners: who may have taken over something.
        promises: what is said after an owner ("takes it"); nothing is done by it.
        somebody: owners without a name ("he").
        mine: promises of the caller's own ("will do").
        by: what comes before the owner whose work is counted.
        acknowledged: words that say a message was received and answer nothing ("roger"): heard as
            what they are, lest they be heard as "affirm".
        spelling: how each letter and digit of an identity is said, by the sign.
        near_calls: words of speech that comes near a call.
    """

    language: str
    satisfactory: Term
    not_inspected: Term
    not_applicable: Term
    because: tuple[str, ...]
    reasons: tuple[Term, ...]
    families: dict[str, DefectFamily]
    places: tuple[Term, ...]
    commands: dict[str, Term]
    left: Term
    right: Term
    first: Term
    second: Term
    fillers: tuple[str, ...] = ()
    vague: tuple[Term, ...] = ()
    statuses: tuple[Term, ...] = ()
    status: tuple[str, ...] = ()
    both: tuple[str, ...] = ()
    owners: tuple[Term, ...] = ()
    promises: tuple[str, ...] = ()
    somebody: tuple[str, ...] = ()
    mine: tuple[str, ...] = ()
    by: tuple[str, ...] = ()
    acknowledged: tuple[Term, ...] = ()
    spelling: dict[str, Term] = field(default_factory=dict)
    near_calls: NearCalls = field(default_factory=NearCalls)


class _Spoken(NamedTuple):
    """A term with the place where it is written."""

    source: Source
    place: Place
    text: str


def vocabulary_of(card: Card) -> Vocabulary:
    """The words of a loaded card's vocabularies, none of which may clash with the card's own.

    Raises:
        SourceError: a fault of a vocabulary; a name or state of the card that has another
            meaning in it; something asked that cannot be said in its words or its language.
    """
    vocabulary = _vocabulary(*vocabulary_sources(card))
    if faults := [
        *beyond(card, vocabulary.language),
        *_clashes(card, vocabulary),
        *unstated(card, {term.name for term in vocabulary.statuses}),
        *unspelled(card, vocabulary.language, vocabulary.spelling, vocabulary.commands),
    ]:
        raise together(faults)
    return vocabulary


def load_vocabulary(path: Path, *additions: Path) -> Vocabulary:
    """Read and check a vocabulary file, and files with further families, reasons and places.

    Raises:
        SourceError: the first fault, with its place; further ones are told in its message.
    """
    return _vocabulary(Source(path), *map(Source, additions))


def _vocabulary(source: Source, *additions: Source) -> Vocabulary:
    whole = source.read(WrittenVocabulary)
    parts: list[tuple[Source, WrittenAddition]] = [(source, whole)]
    for further in additions:
        parts.append((further, further.read(WrittenAddition)))
    faults = [*_commands(parts), *_families(parts), *_signs(parts), *_words(whole, parts)]
    if faults:
        raise together(faults)
    results = whole.results
    return Vocabulary(
        language=whole.language,
        satisfactory=_term(results.satisfactory),
        not_inspected=_term(results.not_inspected),
        not_applicable=_term(results.not_applicable),
        because=tuple(whole.because),
        reasons=_terms(text for _, part in parts for text in part.reasons),
        families={
            name: DefectFamily(
                name, _terms(family.defects), tuple(family.sized), tuple(family.size_units)
            )
            for _, part in parts
            for name, family in part.families.items()
        },
        places=_terms(text for _, part in parts for text in part.places),
        commands={
            name: Term(name, ways(text))
            for _, part in parts
            for name, text in part.commands.items()
        },
        left=_term(whole.left),
        right=_term(whole.right),
        first=_term(whole.first),
        second=_term(whole.second),
        fillers=tuple(whole.fillers),
        vague=_terms(_all(parts, "vague")),
        statuses=_terms(_all(parts, "statuses")),
        status=_all(parts, "status"),
        owners=_terms(_all(parts, "owners")),
        both=_all(parts, "both"),
        promises=_all(parts, "promises"),
        somebody=_all(parts, "somebody"),
        mine=_all(parts, "mine"),
        by=_all(parts, "by"),
        acknowledged=_terms(_all(parts, "acknowledged")),
        spelling={
            sign: Term(sign, ways(text))
            for _, part in parts
            for sign, text in part.spelling.items()
        },
        near_calls=_near(whole.near_calls),
    )


def _near(written: WrittenNear) -> NearCalls:
    return NearCalls(
        articles=tuple(written.articles),
        stating=_terms(written.stating),
        denying=_terms(written.denying),
        denied=tuple(written.denied),
        opposites={prefix: tuple(words) for prefix, words in written.opposites.items()},
        pending=tuple(written.pending),
        pended=tuple(written.pended),
        before=tuple(written.before),
        linking=tuple(written.linking),
        behind=tuple(written.behind),
        joining=tuple(written.joining),
    )


def _all(parts: list[tuple[Source, WrittenAddition]], key: str) -> tuple[str, ...]:
    """The texts that all vocabularies have under ``key``."""
    return tuple(text for _, part in parts for text in getattr(part, key))


def _term(text: str) -> Term:
    words = ways(text)
    return Term(words[0], words)


def _terms(texts: Iterable[str]) -> tuple[Term, ...]:
    return tuple(map(_term, texts))


def _listed(source: Source, place: Place, texts: list[str]) -> list[_Spoken]:
    return [_Spoken(source, (*place, n), text) for n, text in enumerate(texts)]


_NEAR = (
    *("articles", "stating", "denying", "denied", "pending", "pended", "before", "linking"),
    *("behind", "joining"),
)

_OPENING = ("places", "vague", "status", "both", "owners", "somebody", "mine", "acknowledged")


def _opening(
    whole: WrittenVocabulary, parts: list[tuple[Source, WrittenAddition]]
) -> Iterator[_Spoken]:
    """Terms that can stand where an answer begins."""
    source = parts[0][0]
    for key in ("satisfactory", "not_inspected", "not_applicable"):
        yield _Spoken(source, ("results", key), getattr(whole.results, key))
    for key in ("left", "right", "first", "second"):
        yield _Spoken(source, (key,), getattr(whole, key))
    yield from _listed(source, ("fillers",), whole.fillers)
    for its, part in parts:
        for name, text in part.commands.items():
            yield _Spoken(its, ("commands", name), text)
        for key in _OPENING:
            yield from _listed(its, (key,), getattr(part, key))


def _words(
    whole: WrittenVocabulary, parts: list[tuple[Source, WrittenAddition]]
) -> Iterator[SourceError]:
    """Every word can be spoken, and no phrase has two meanings where it can be said."""
    reasons = _listed(parts[0][0], ("because",), whole.because)
    promises = [
        one
        for source, part in parts
        for one in (
            *_listed(source, ("promises",), part.promises),
            *_listed(source, ("by",), part.by),
            *_listed(source, ("statuses",), part.statuses),
        )
    ]
    for source, part in parts:
        reasons += _listed(source, ("reasons",), part.reasons)
    families = {
        name: _listed(source, ("families", name, "defects"), family.defects)
        for source, part in parts
        for name, family in part.families.items()
    }
    shared = [*_opening(whole, parts), *families.pop(GENERAL, [])]
    yield from _faults_among([], reasons, whole.language)
    yield from _faults_among([], shared, whole.language)
    yield from _faults_among([], promises, whole.language)
    signs = [
        _Spoken(source, ("spelling", sign), text)
        for source, part in parts
        for sign, text in part.spelling.items()
    ]
    yield from _faults_among(shared, signs, whole.language)
    for family in families.values():
        yield from _faults_among(shared, family, whole.language)
    yield from _near_words(parts[0][0], whole)


def _near_words(source: Source, whole: WrittenVocabulary) -> Iterator[SourceError]:
    """What may stand at one place, between an item's name and its result, is in one list only."""
    lists = {
        key: _listed(source, ("near_calls", key), getattr(whole.near_calls, key)) for key in _NEAR
    }
    middle = [one for key in ("stating", "denying", "pending") for one in lists.pop(key)]
    prefixed = [
        one
        for prefix, words in whole.near_calls.opposites.items()
        for one in _listed(source, ("near_calls", "opposites", prefix), words)
    ]
    for spoken in (middle, *lists.values()):
        yield from _faults_among([], spoken, whole.language)
    for word in prefixed:
        yield from _faults_among([], [word], whole.language)


def _faults_among(
    others: list[_Spoken], own: list[_Spoken], language: str
) -> Iterator[SourceError]:
    """Faults of ``own`` terms, which may share no way to say them with ``others``."""
    owners = {fold(way): term for term in others for way in ways(term.text)}
    for term in own:
        for way in ways(term.text):
            if bad := unspeakable(way, language):
                yield term.source.fault(
                    term.place,
                    f"unknown word {', '.join(map(repr, bad))}",
                    "Write it as it is spoken, in lower-case letters; a digit as a word ('two').",
                )
            elif (other := owners.setdefault(fold(way), term)) is not term:
                yield term.source.fault(
                    term.place,
                    f"ambiguous: '{way}' also stands in '{other.text}'",
                    "Keep it in one term.",
                )


def _commands(parts: list[tuple[Source, WrittenAddition]]) -> Iterator[SourceError]:
    known = {command.value for command in Command}
    said: set[str] = set()
    for source, part in parts:
        for name in part.commands:
            if name not in known:
                yield source.fault(
                    ("commands", name), f"unknown command '{name}'", nearest(name, known)
                )
            if name in said:
                yield source.fault(
                    ("commands", name),
                    f"the command '{name}' is in another vocabulary too",
                    "Keep its words in one of them.",
                )
            said.add(name)
    for name in sorted(known - said - {command.value for command in OPTIONAL}):
        yield parts[0][0].fault(
            ("commands",), f"there are no words for the command '{name}'", f"Add '{name}: ...'."
        )


def _families(parts: list[tuple[Source, WrittenAddition]]) -> Iterator[SourceError]:
    names: set[str] = set()
    for source, part in parts:
        for name, family in part.families.items():
            if name in names:
                yield source.fault(
                    ("families", name),
                    f"the family '{name}' is in another vocabulary too",
                    "Give it a name of its own.",
                )
            names.add(name)
            yield from _sizes(source, name, family)
            if family.sized and parts[0][1].language != ENGLISH:
                yield source.fault(
                    ("families", name, "sized"),
                    f"'{name}' has sizes, and numbers are understood in English only",
                    "Remove 'sized' and 'size_units'.",
                )
    if GENERAL not in names:
        yield parts[0][0].fault(
            ("families",),
            f"there is no family '{GENERAL}'",
            "Add it: it holds the opposite of 'satisfactory', for every item.",
        )


def _signs(parts: list[tuple[Source, WrittenAddition]]) -> Iterator[SourceError]:
    """An identity may have any letter and any digit, so all of them are spelled or none."""
    for source, part in parts:
        for sign in part.spelling:
            if sign not in SIGNS:
                yield source.fault(
                    ("spelling", sign),
                    f"'{sign}' is no letter from a to z and no digit",
                    "Write one small letter or one digit, the digit in quotes, before each colon.",
                )
        if part.spelling and (missing := sorted(SIGNS.keys() - part.spelling.keys())):
            yield source.fault(
                ("spelling",), f"there are no words for {', '.join(missing)}", "Add them."
            )


def _sizes(source: Source, name: str, family: WrittenFamily) -> Iterator[SourceError]:
    place: Place = ("families", name)
    known = [ways(text)[0] for text in family.defects]
    for n, sized in enumerate(family.sized):
        if sized not in known:
            yield source.fault(
                (*place, "sized", n), f"'{sized}' is no defect here", nearest(sized, known)
            )
    for n, unit in enumerate(family.size_units):
        if unit not in UNITS:
            yield source.fault(
                (*place, "size_units", n), f"unknown unit '{unit}'", nearest(unit, UNITS)
            )
    if bool(family.sized) is not bool(family.size_units):
        yield source.fault(
            place,
            f"'{name}' has only one of 'sized' and 'size_units'",
            "Write both: which defects have a size, and in which units it may be said.",
        )


def _clashes(card: Card, words: Vocabulary) -> Iterator[SourceError]:
    """Names that are commands, and states that are results or defects of the same item."""
    calls = [*words.commands.values(), words.left, words.right, words.first, words.second]
    calls += words.acknowledged
    results = [words.satisfactory, words.not_inspected, words.not_applicable]
    for item in card:
        yield from _clash(card, item, (item.name, *item.aliases, *item.bare_names), calls)
        defects = [defect for name in item.defects for defect in words.families[name].defects]
        states = tuple(way for state in item.states for way in (state.name, *state.words))
        yield from _clash(card, item, states, [*calls, *results, *defects])


def _clash(
    card: Card, item: Item, ways_to_say: tuple[str, ...], terms: list[Term]
) -> Iterator[SourceError]:
    taken = {fold(word) for term in terms for word in term.words}
    for way in ways_to_say:
        if fold(way) in taken:
            yield SourceError(
                f"{card.path}:{item.line}:1",
                f"'{way}' of '{item.name}' has another meaning in the vocabulary",
                "Choose another word.",
            )
