"""The words of a language that are not a card's own: results, defects, places, commands.

The data lies in ``grammars/`` as YAML; this module holds its shape. See ``load_vocabulary``.
"""

from __future__ import annotations

from dataclasses import dataclass


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
