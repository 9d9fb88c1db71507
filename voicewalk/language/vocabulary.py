"""The words of a language that are not a card's own: results, defects, places, commands.

The data lies in ``grammars/`` as YAML; this module holds its shape. See ``load_vocabulary``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import Field

from voicewalk.card.checks import GENERAL, UNITS
from voicewalk.card.source import Place, Source, Texts, Written, nearest, together
from voicewalk.card.spoken import fold, unknown_words, ways
from voicewalk.errors import SourceError
from voicewalk.language.meaning import Command


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
        fillers: words that may open a call and mean nothing ("and", "okay").
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
    fillers: tuple[str, ...] = ()


class _Results(Written):
    satisfactory: str
    not_inspected: str
    not_applicable: str


class _Family(Written):
    defects: Texts
    sized: Texts = Field(default_factory=list)
    size_units: Texts = Field(default_factory=list)


class _File(Written):
    """A vocabulary as people write it; a term is "first / second / third"."""

    language: str
    results: _Results
    because: Texts
    reasons: Texts
    families: dict[str, _Family]
    places: Texts
    commands: dict[str, str]
    left: str
    right: str
    fillers: Texts = Field(default_factory=list)


def load_vocabulary(path: Path) -> Vocabulary:
    """Read and check a vocabulary file.

    Raises:
        SourceError: the first fault, with its place; further ones are told in its message.
    """
    source = Source(path)
    written = source.read(_File)
    faults = [*_words(written, source), *_commands(written, source), *_families(written, source)]
    if faults:
        raise together(faults)
    results = written.results
    return Vocabulary(
        language=written.language,
        satisfactory=_term(results.satisfactory),
        not_inspected=_term(results.not_inspected),
        not_applicable=_term(results.not_applicable),
        because=tuple(written.because),
        reasons=_terms(written.reasons),
        families={name: _family(name, family) for name, family in written.families.items()},
        places=_terms(written.places),
        commands={name: Term(name, ways(text)) for name, text in written.commands.items()},
        left=_term(written.left),
        right=_term(written.right),
        fillers=tuple(written.fillers),
    )


def _term(text: str) -> Term:
    words = ways(text)
    return Term(words[0], words)


def _terms(texts: Iterable[str]) -> tuple[Term, ...]:
    return tuple(map(_term, texts))


def _family(name: str, written: _Family) -> DefectFamily:
    return DefectFamily(
        name, _terms(written.defects), tuple(written.sized), tuple(written.size_units)
    )


def _listed(key: str, texts: list[str]) -> Iterator[tuple[Place, str]]:
    return (((key, n), text) for n, text in enumerate(texts))


def _opening(written: _File) -> Iterator[tuple[Place, str]]:
    """Terms that can stand where an answer begins: no two may share a word sequence."""
    for key in ("satisfactory", "not_inspected", "not_applicable"):
        yield ("results", key), getattr(written.results, key)
    yield from ((("commands", name), text) for name, text in written.commands.items())
    yield from _listed("places", written.places)
    yield from (((key,), getattr(written, key)) for key in ("left", "right"))
    yield from _listed("fillers", written.fillers)


def _words(written: _File, source: Source) -> Iterator[SourceError]:
    """Every word can be spoken, and no phrase has two meanings in one place of a call."""
    opening = list(_opening(written))
    reasons = [*_listed("reasons", written.reasons), *_listed("because", written.because)]
    yield from _group(reasons, source)
    yield from _group(opening, source)
    general = written.families.get(GENERAL, _Family(defects=[]))
    shared = [(("families", GENERAL, "defects", n), t) for n, t in enumerate(general.defects)]
    yield from _group([*opening, *shared], source, tell=len(opening))
    for name, family in written.families.items():
        if name != GENERAL:
            own = [(("families", name, "defects", n), t) for n, t in enumerate(family.defects)]
            yield from _group([*opening, *shared, *own], source, tell=len(opening) + len(shared))


def _group(
    terms: list[tuple[Place, str]], source: Source, tell: int = 0
) -> Iterator[SourceError]:
    """Faults of the terms from number ``tell`` on, among all of ``terms``."""
    owners: dict[str, str] = {}
    for n, (place, text) in enumerate(terms):
        for way in ways(text):
            other = owners.setdefault(fold(way), text)
            if n < tell:
                continue
            if bad := unknown_words(way):
                yield source.fault(
                    place,
                    f"unknown word {', '.join(map(repr, bad))}",
                    "Write it as it is spoken, in lower-case letters; a digit as a word ('two').",
                )
            if other is not text:
                yield source.fault(
                    place, f"ambiguous: '{way}' also stands in '{other}'", "Keep it in one term."
                )


def _commands(written: _File, source: Source) -> Iterator[SourceError]:
    known = {command.value for command in Command}
    for name in written.commands:
        if name not in known:
            yield source.fault(
                ("commands", name), f"unknown command '{name}'", nearest(name, known)
            )
    for name in sorted(known - set(written.commands)):
        yield source.fault(
            ("commands",), f"there are no words for the command '{name}'", f"Add '{name}: ...'."
        )


def _families(written: _File, source: Source) -> Iterator[SourceError]:
    if GENERAL not in written.families:
        yield source.fault(
            ("families",),
            f"there is no family '{GENERAL}'",
            "Add it: it holds the opposite of 'satisfactory', for every item.",
        )
    for name, family in written.families.items():
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
